"""The report: one HTML file with everything in it, which opens without a network and prints."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path

import pandas as pd

from borestudy.files import replacing
from borestudy.report import labels, sources
from borestudy.report.captions import text
from borestudy.report.content import MadeFrom, ResultTables, StudyReport
from borestudy.report.figures.case import reference_rate
from borestudy.report.interactive.parts import Interactive, interactive
from borestudy.report.listening import Player, player_of
from borestudy.report.methods import lips_numbers, method_numbers
from borestudy.report.pictures import headline_of, pictures_by_layer
from borestudy.report.scripts import policy_of
from borestudy.report.sentences.dimensions import dimension_sentences
from borestudy.report.tables import by_hand, flow, onset
from borestudy.report.tables.by_hand import printed_by_hand
from borestudy.report.tables.comparison import printed_comparisons
from borestudy.report.tables.comparison_errors import (
    printed_comparison_errors,
    printed_every_comparison,
)
from borestudy.report.tables.dimensions import printed_dimensions
from borestudy.report.tables.layout import SIZES, Table, build_table
from borestudy.report.tables.tolerances import printed_tolerances
from borestudy.report.tables.verification import (
    failed_rows,
    not_passed,
    printed_failed,
    printed_summary,
    printed_verification,
    told_checks,
)
from borestudy.report.tables.wish import wish_section
from borestudy.report.templating import template
from borestudy.report.topic import FLOW, RESONANCE, Topic

__all__ = ["MadeFrom", "ResultTables", "StudyReport", "flatten", "write_report"]


def layers_of(topic: Topic) -> list[str]:
    """The layers of the page that hold figures, in their order."""
    subjects = ["resonance", "flow"] if topic == RESONANCE else ["flow", "resonance"]
    return [
        "wish",
        "overview",
        "comparison",
        *subjects,
        "playing",
        "dimensions",
        "stations",
        "measurements",
        "methods",
        "costs",
    ]


def write_report(path: Path, report: StudyReport) -> None:
    """Write a report as HTML without time stamps and paths: the same results, the same bytes."""
    tables, made_from = report.tables.with_labels(report.labels), report.provenance
    failed, unmeshed = not_passed(tables.verification)
    unsolved = flow.unsolved_words(tables.flow)
    if report.overview is not None:
        unmeshed, unsolved = [*report.overview.unmeshed], report.overview.unsolved
    rate = _rate(tables)
    charts = None if report.charts is None else interactive(report.charts)
    player = player_of(report.sounds)
    headline, layers = headline_of(report.figures, report.topic), layers_of(report.topic)
    page = template("report.html.j2").render(
        report=report,
        failed=failed,
        unmeshed=unmeshed,
        unverified=tables.verification.empty,
        unsolved=unsolved,
        headline=headline,
        subjects=[layer for layer in layers if layer in (FLOW, RESONANCE)],
        pictures=pictures_by_layer(report.figures, headline, layers),
        comparisons=printed_comparisons(tables.comparison, tables.flow, report.topic),
        tables=printed_tables(tables, report.labels, rate),
        by_hand={
            layer: printed_by_hand(tables.hand_formulas, layer, rate) for layer in by_hand.LAYERS
        },
        checks=told_checks(tables.verification),
        dimensions=dimension_sentences(tables.sensitivities, rate),
        wish=None if report.wish is None else wish_section(report.wish),
        numbers=method_numbers(),
        lips=None if tables.onset.empty else lips_numbers(),
        settings=flatten(made_from.settings),
        air=[(labels.label_of(name), labels.plain(it, 5)) for name, it in made_from.air.items()],
        provenance=flatten(made_from.sources),
        sizes=SIZES,
        sources=sources,
        interactive=charts,
        player=player,
        policy=_policy(charts, player),
    )
    with replacing(path) as unfinished:
        unfinished.write_text(page, encoding="utf-8")


def _policy(charts: Interactive | None, player: Player | None) -> str:
    """The page's Content Security Policy: nothing is fetched, and only scripts of the page run."""
    allowed = ["default-src 'none'", "style-src 'unsafe-inline'", "img-src data:"]
    allowed += ["media-src data:"] if player else []
    hashes = [*(charts.hashes if charts else ()), *([player.hash] if player else ())]
    return "; ".join([*allowed, *([policy_of(hashes)] if hashes else ())])


def _rate(tables: ResultTables) -> float | None:
    """The flow rate [L/s] that the comparison is about; None where no flow was computed."""
    return None if tables.flow.empty else reference_rate(tables.comparison, tables.flow)


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
        "onset": (tables.onset, onset.printed_onset),
        "onset_changes": (tables.onset_changes, onset.printed_changes),
        "tone": (tables.tone, onset.printed_tone),
        "tone_changes": (tables.tone_changes, onset.printed_tone_changes),
        "tolerances": (tables.tolerances, printed_tolerances),
        "checks": (tables.verification, printed_summary),
        "failed": (failed_rows(tables.verification), printed_failed),
        "verification": (tables.verification, printed_verification),
        "comparison_errors": (tables.comparison_errors, printed_comparison_errors),
        "all_comparison_errors": (tables.comparison_errors, printed_every_comparison),
    }
    whole = {
        "names": pd.DataFrame({"case": words.values(), "name_in_the_files": words.keys()}),
        "lips": tables.lips,
        "budget": tables.budget,
        "benchmarks": tables.benchmarks,
    }
    found = {name: make(table) if len(table) else None for name, (table, make) in made.items()} | {
        name: build_table(table, text("tables", name)) if len(table) else None
        for name, table in whole.items()
    }
    return {
        name: table and replace(table, source=sources.OF_TABLES.get(name))
        for name, table in found.items()
    }


def flatten(nested: Mapping[str, object], prefix: str = "") -> list[tuple[str, str]]:
    """Write a nested mapping as (dotted key, text) pairs, in its own order."""
    pairs: list[tuple[str, str]] = []
    for name, value in nested.items():
        if isinstance(value, Mapping):
            pairs += flatten(value, f"{prefix}{name}.")
        else:
            pairs.append((f"{prefix}{name}", labels.plain(value, 6)))
    return pairs
