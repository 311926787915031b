"""The report: one HTML file with everything in it, which opens without a network and prints."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import pandas as pd
from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup, escape

from borestudy.drawing.style import FigureRecord
from borestudy.files import replacing
from borestudy.report.figures.case import reference_rate
from borestudy.report.methods import method_numbers
from borestudy.report.svg import inline_svg
from borestudy.report.tables.cells import SIZES, Table, rows_table, unbroken
from borestudy.report.tables.flow import (
    flow_change_table,
    flow_parts_table,
    flow_table,
    separation_table,
)
from borestudy.report.tables.numbers import label_of, plain
from borestudy.report.tables.study import (
    comparison_tables,
    energy_table,
    failed_checks,
    stream_table,
    unmeshed_cases,
    verification_table,
)
from borestudy.report.topic import FLOW, Topic


def write_report(
    path: Path,
    *,
    title: str,
    question: str,
    answers: Sequence[str],
    topic: Topic = FLOW,
    labels: Mapping[str, str] | None = None,
    comparison: pd.DataFrame,
    flow: pd.DataFrame,
    verification: pd.DataFrame,
    figures: Sequence[FigureRecord],
    stream: pd.DataFrame | None = None,
    energy: pd.DataFrame | None = None,
    separations: pd.DataFrame | None = None,
    tolerances: Sequence[Mapping[str, Any]] = (),
    budget: Sequence[Mapping[str, Any]] = (),
    benchmarks: Sequence[Mapping[str, Any]] = (),
    validity: Sequence[str] = (),
    methods: Sequence[tuple[str, str]] = (),
    settings: Mapping[str, Any] | None = None,
    air: Mapping[str, Any] | None = None,
    provenance: Mapping[str, Any] | None = None,
) -> None:
    """Write the report.

    The file holds no time stamp and no path: the same results give the same bytes.

    Parameters
    ----------
    path : Path
        The file to write.
    title, question : str
        From the study.
    answers : sequence of str
        The answer in one or two sentences, each with its uncertainty and where it holds.
    topic : {"resonance", "flow"}
        Which tables of the comparison come first.
    labels : mapping, optional
        The words for each case, by its name in the tables; the name itself by default.
    comparison, flow, verification : DataFrame
        The tables of the same names.
    figures : sequence of FigureRecord
        In the order they are to appear; their SVG files are read.
    stream, energy, separations : DataFrame, optional
        The tables of the same names.
    tolerances : sequence of mapping
        Rows: what a machining tolerance does.
    budget : sequence of mapping
        Rows of the uncertainty budget.
    benchmarks : sequence of mapping
        Rows: rule, case, seconds, peak memory.
    validity : sequence of str
        What limits the answers, one sentence each.
    methods : sequence of (str, str)
        Further paragraphs of the methods section, each with its heading.
    settings : mapping
        The resolved study, nested as in its file.
    air : mapping
        Properties of the air; keys may carry units.
    provenance : mapping
        Versions and hashes.
    """
    environment = Environment(
        loader=PackageLoader("borestudy.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters["breakable"] = breakable
    comparison, flow, stream, energy, separations = (
        _labelled(table, labels or {}) for table in (comparison, flow, stream, energy, separations)
    )
    tables: dict[str, Table | None] = {
        "flow": flow_table(flow) if len(flow) else None,
        "flow_parts": flow_parts_table(flow) if len(flow) else None,
        "flow_changes": flow_change_table(flow) if len(flow) else None,
        "energy": energy_table(energy, reference_rate(comparison, flow))
        if energy is not None and len(energy)
        else None,
        "separations": separation_table(separations)
        if separations is not None and len(separations)
        else None,
        "stream": stream_table(stream) if stream is not None and len(stream) else None,
        "verification": verification_table(verification) if len(verification) else None,
        "tolerances": rows_table(
            tolerances, "What a change of one machining tolerance does to the first case."
        ),
        "names": rows_table(
            [{"case": label, "name_in_the_files": name} for name, label in (labels or {}).items()],
            "What each case is called in the files, and its folder.",
        ),
        "budget": rows_table(budget, "Where the uncertainty comes from."),
        "benchmarks": rows_table(benchmarks, "Wall time and peak memory of the jobs."),
    }
    pictures = [
        (record, Markup(inline_svg(_text(record.svg_path), record.name, record.alt)))
        for record in figures
    ]
    page = environment.get_template("report.html.j2").render(
        title=title,
        question=question,
        answers=list(answers),
        failed=failed_checks(verification),
        unmeshed=unmeshed_cases(verification),
        unverified=len(verification) == 0,
        comparisons=comparison_tables(comparison, flow, topic) if len(comparison) else [],
        tables=tables,
        pictures=pictures,
        validity=list(validity),
        methods=list(methods),
        numbers=method_numbers(),
        settings=flatten(settings or {}),
        air=[(label_of(str(name)), plain(value, 5)) for name, value in (air or {}).items()],
        provenance=flatten(provenance or {}),
        sizes=SIZES,
    )
    with replacing(path) as unfinished:
        unfinished.write_text(page, encoding="utf-8")


def _labelled(table: Any, labels: Mapping[str, str]) -> Any:
    """A table whose cases are named in words; None stays None."""
    if table is None or "case" not in table:
        return table
    return table.copy().assign(case=[labels.get(name, name) for name in table["case"]])


def breakable(text: str) -> Markup:
    """A cell's text that breaks into lines where it may: never within a number and its unit."""
    return Markup(str(escape(unbroken(text))).replace("_", "_<wbr>"))


def _text(path: Path) -> str:
    return path.read_text(encoding="utf-8")


def flatten(nested: Mapping[str, Any], prefix: str = "") -> list[tuple[str, str]]:
    """Write a nested mapping as (dotted key, text) pairs, in its own order."""
    pairs: list[tuple[str, str]] = []
    for name, value in nested.items():
        if isinstance(value, Mapping):
            pairs += flatten(value, f"{prefix}{name}.")
        else:
            pairs.append((f"{prefix}{name}", plain(value, 6)))
    return pairs
