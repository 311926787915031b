"""The report: one HTML file with everything in it, which opens without a network and prints."""

import html
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from pathlib import Path

import pandas as pd
from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup, escape

from borestudy.drawing.style import FigureRecord
from borestudy.files import replacing
from borestudy.report import labels
from borestudy.report.captions import text
from borestudy.report.figures.case import reference_rate
from borestudy.report.figures.comparison_errors import COMPARISON_ERRORS
from borestudy.report.figures.sensitivities import RANKED
from borestudy.report.figures.sensitivities_along import ALONG
from borestudy.report.figures.wish import WISH
from borestudy.report.interactive.panels import StudyCharts
from borestudy.report.interactive.parts import interactive
from borestudy.report.methods import method_numbers
from borestudy.report.sentences.dimensions import dimension_sentences
from borestudy.report.tables import flow
from borestudy.report.tables.comparison import printed_comparisons
from borestudy.report.tables.comparison_errors import (
    printed_comparison_errors,
    printed_every_comparison,
)
from borestudy.report.tables.dimensions import printed_dimensions
from borestudy.report.tables.layout import SIZES, Table, build_table, unbroken
from borestudy.report.tables.tolerances import printed_tolerances
from borestudy.report.tables.verification import not_passed, printed_verification
from borestudy.report.tables.wish import wish_section
from borestudy.report.topic import FLOW, Topic
from borestudy.results.wishes import WishResult


@dataclass(frozen=True, kw_only=True)
class ResultTables:
    """The tables of a study under the names of their files; one without a row is left out.

    `benchmarks` has one row a rule: jobs, wall time, peak memory; `comparison_errors`, of no study
    but of the program, one a comparison of the best estimate with a measurement.
    """

    comparison: pd.DataFrame = field(default_factory=pd.DataFrame)
    flow: pd.DataFrame = field(default_factory=pd.DataFrame)
    verification: pd.DataFrame = field(default_factory=pd.DataFrame)
    stream: pd.DataFrame = field(default_factory=pd.DataFrame)
    energy: pd.DataFrame = field(default_factory=pd.DataFrame)
    separations: pd.DataFrame = field(default_factory=pd.DataFrame)
    sensitivities: pd.DataFrame = field(default_factory=pd.DataFrame)
    tolerances: pd.DataFrame = field(default_factory=pd.DataFrame)
    budget: pd.DataFrame = field(default_factory=pd.DataFrame)
    benchmarks: pd.DataFrame = field(default_factory=pd.DataFrame)
    comparison_errors: pd.DataFrame = field(default_factory=pd.DataFrame)

    def with_labels(self, words: Mapping[str, str]) -> "ResultTables":
        """The same with each case called by its words."""
        tables = {part.name: getattr(self, part.name) for part in fields(self)}
        named = {name: table for name, table in tables.items() if "case" in table}
        called = {name: one.assign(case=one["case"].replace(words)) for name, one in named.items()}
        return replace(self, **called)


@dataclass(frozen=True, kw_only=True)
class MadeFrom:
    """What the results were computed from, each nested as in its file.

    `settings` is the study with every default, `air` its properties by names with units, `sources`
    holds versions and hashes.
    """

    settings: Mapping[str, object] = field(default_factory=dict)
    air: Mapping[str, float] = field(default_factory=dict)
    sources: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class StudyReport:
    """All that the report of a study shows.

    The answer is in one or two sentences, then more; `validity` says what limits it, one sentence
    each.  The topic decides which tables of the comparison come first.  Figures are in the order
    they are to appear, and their SVG files are read; `wish` is what became of the study's, if it
    has one.  `labels` are the words for each case, by its
    name in the tables; the name itself by default.  With `charts` a browser that runs scripts shows
    these in place of the figures of their names, and sorts the tables.
    """

    title: str
    question: str
    answers: Sequence[str]
    tables: ResultTables
    validity: Sequence[str] = ()
    topic: Topic = FLOW
    figures: Sequence[FigureRecord] = ()
    wish: WishResult | None = None
    labels: Mapping[str, str] = field(default_factory=dict)
    provenance: MadeFrom = MadeFrom()
    charts: StudyCharts | None = None


def write_report(path: Path, report: StudyReport) -> None:
    """Write a report as HTML without time stamps and paths: the same results, the same bytes."""
    environment = Environment(
        loader=PackageLoader("borestudy.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters |= {"breakable": breakable, "unbroken": unbroken}
    tables, made_from = report.tables.with_labels(report.labels), report.provenance
    failed, unmeshed = not_passed(tables.verification)
    rate = _rate(tables)
    of_dimensions, measured = (RANKED, ALONG), (COMPARISON_ERRORS,)
    pictures = numbered(report.figures, ((WISH,), of_dimensions, None, measured))
    page = environment.get_template("report.html.j2").render(
        report=report,
        failed=failed,
        unmeshed=unmeshed,
        unverified=tables.verification.empty,
        comparisons=printed_comparisons(tables.comparison, tables.flow, report.topic),
        tables=printed_tables(tables, report.labels, rate),
        dimensions=dimension_sentences(tables.sensitivities, rate),
        wish=None if report.wish is None else wish_section(report.wish),
        pictures_of_wish=pictures[0],
        pictures_of_dimensions=pictures[1],
        pictures=pictures[2],
        measured=pictures[3],
        numbers=method_numbers(),
        settings=flatten(made_from.settings),
        air=[(labels.label_of(name), labels.plain(it, 5)) for name, it in made_from.air.items()],
        provenance=flatten(made_from.sources),
        sizes=SIZES,
        interactive=None if report.charts is None else interactive(report.charts),
    )
    with replacing(path) as unfinished:
        unfinished.write_text(page, encoding="utf-8")


def _rate(tables: ResultTables) -> float | None:
    """The flow rate [L/s] that the comparison is about; None where no flow was computed."""
    return None if tables.flow.empty else reference_rate(tables.comparison, tables.flow)


def numbered(
    figures: Sequence[FigureRecord], sections: Sequence[Sequence[str] | None]
) -> list[list[tuple[int, FigureRecord, Markup]]]:
    """Number figures as they come on the page, section by section, and read their drawings.

    A section has the figures of its names; that of None has those of no other.
    """
    of_others = {name for names in sections for name in names or ()}
    count, found = 0, []
    for names in sections:
        mine = [one for one in figures if (one.name in (names or of_others)) != (names is None)]
        drawings = [inline_svg(one.svg_path.read_text("utf-8"), one.name, one.alt) for one in mine]
        numbers = range(count + 1, count + 1 + len(mine))
        found.append([*zip(numbers, mine, map(Markup, drawings), strict=True)])
        count += len(mine)
    return found


def printed_tables(
    tables: ResultTables, words: Mapping[str, str], rate: float | None
) -> dict[str, Table | None]:
    """The tables by the names that the template has for them; None where there is no row."""
    made: dict[str, tuple[pd.DataFrame, Callable[[pd.DataFrame], Table | None]]] = {
        "flow": (tables.flow, flow.printed_flow),
        "flow_parts": (tables.flow, flow.printed_flow_parts),
        "flow_changes": (tables.flow, flow.printed_flow_changes),
        "extremes": (tables.flow, flow.printed_extremes),
        "energy": (tables.energy, lambda table: flow.printed_energy(table, rate or 0.0)),
        "dimensions": (tables.sensitivities, lambda table: printed_dimensions(table, rate)),
        "separations": (tables.separations, flow.printed_separations),
        "stream": (tables.stream, flow.printed_stream),
        "tolerances": (tables.tolerances, printed_tolerances),
        "verification": (tables.verification, printed_verification),
        "comparison_errors": (tables.comparison_errors, printed_comparison_errors),
        "all_comparison_errors": (tables.comparison_errors, printed_every_comparison),
    }
    whole = {
        "names": pd.DataFrame({"case": words.values(), "name_in_the_files": words.keys()}),
        "budget": tables.budget,
        "benchmarks": tables.benchmarks,
    }
    return {name: make(table) if len(table) else None for name, (table, make) in made.items()} | {
        name: build_table(table, text("tables", name)) if len(table) else None
        for name, table in whole.items()
    }


def breakable(cell: str) -> Markup:
    """A cell's text that breaks into lines where it may: never within a number and its unit."""
    return Markup(str(escape(unbroken(cell))).replace("_", "_<wbr>"))


def inline_svg(svg: str, name: str, alt: str) -> str:
    """A whole SVG file as matplotlib writes it, made fit to stand inside a page beside others.

    Declarations, metadata and addresses are left out; the name, unique on the page, is put before
    every identifier; `alt` says what the picture shows to readers who do not see it.
    """
    body = svg[svg.index("<svg") :]
    body = re.sub(r"<metadata>.*?</metadata>", "", body, flags=re.DOTALL)
    body = re.sub(r'\sxmlns(?::\w+)?="[^"]*"', "", body)
    body = re.sub(r'(\sid="|url\(#|href="#)', rf"\g<1>{name}-", body)
    # matplotlib's style sheet is meant for the file alone, not for the page around it.
    body = body.replace("*{stroke", f"#{name} *{{stroke")
    opening = body[: body.index(">")]
    size = re.sub(r'\s(?:width|height|version)="[^"]*"', "", opening)
    label = html.escape(alt, quote=True)
    return f'{size} id="{name}" role="img" aria-label="{label}"{body[len(opening) :]}'.strip()


def flatten(nested: Mapping[str, object], prefix: str = "") -> list[tuple[str, str]]:
    """Write a nested mapping as (dotted key, text) pairs, in its own order."""
    pairs: list[tuple[str, str]] = []
    for name, value in nested.items():
        if isinstance(value, Mapping):
            pairs += flatten(value, f"{prefix}{name}.")
        else:
            pairs.append((f"{prefix}{name}", labels.plain(value, 6)))
    return pairs
