"""Tables of a study of many cases: distributions, extremes, trends, verdicts and failures."""

from collections import Counter
from collections.abc import Mapping, Sequence

import numpy as np

from borestudy.report.captions import text
from borestudy.report.figures.positions import column_of
from borestudy.report.labels import label_of, plain
from borestudy.report.large.failures import NAMED, REASONS, Failure
from borestudy.report.large.summary import (
    WORDS,
    ManyBores,
    distribution,
    extremes,
    figures_of,
    trends,
    within,
)
from borestudy.report.sources import Source
from borestudy.report.tables.layout import PRINTED, Cell, Table
from borestudy.rounding import NO_VALUE, significant, with_uncertainty

OF_COMPARISON = Source(("comparison.csv",), "how-uncertainty", "checks")
OF_CHECKS = Source(("verification.csv",))
OF_FLOW = Source(("flow.csv",), "how-flow", "checks")
SPREAD_HEADS = ("Least", "2.5 %", "16 %", "Median", "84 %", "97.5 %", "Greatest")
#: What a verdict of a change begins with, where it is known.
VERDICTS = ("lower", "higher", "no difference")


def printed_spread(study: ManyBores) -> Table | None:
    """The distribution of each figure and of its change; None without any."""
    pairs = figures_of(study.comparison, study.topic)
    rows = []
    for name in [one for pair in pairs.items() for one in pair if one in study.comparison]:
        values = column_of(study.comparison, name)
        factor = printed_factor(name)
        ends = [significant(factor * end, 4) for end in distribution(values)]
        known = Cell(f"{np.isfinite(values).sum():,}", "number")
        label = printed_label(study, name)
        rows.append(
            [Cell(f"{label[:1].upper()}{label[1:]}"), known, *(Cell(end, "number") for end in ends)]
        )
    head = [Cell("Figure"), Cell("Bores", "number"), *(Cell(one, "number") for one in SPREAD_HEADS)]
    return _table("many_spread", head, rows, OF_COMPARISON)


def printed_extremes(study: ManyBores, labels: Sequence[str]) -> Table | None:
    """The bores with the least and the greatest value of each figure, by their words."""
    rows = []
    for one in extremes(study.comparison, study.topic):
        for word, row in (("lowest", one.lowest), ("highest", one.highest)):
            value, error = (
                printed_factor(one.column) * column_of(study.comparison, f"{one.column}{end}")[row]
                for end in ("", "_uncertainty")
            )
            label = printed_label(study, one.column)
            rows.append(
                [
                    Cell(f"{word[:1].upper()}{word[1:]} {within(label)}"),
                    Cell(with_uncertainty(value, error), "number"),
                    Cell(labels[row]),
                ]
            )
    head = [Cell("Extreme"), Cell("Value ± numerical", "number"), Cell("Bore")]
    return _table("many_extremes", head, rows, OF_COMPARISON)


def printed_trends(study: ManyBores) -> Table | None:
    """What share of each figure's variance goes with each dimension, and its ends' medians."""
    pairs = {
        name: change
        for name, change in figures_of(study.comparison, study.topic).items()
        if change in study.comparison
    }
    rows: list[list[Cell]] = []
    if not pairs:
        return None
    for line in trends(study.comparison, study.varied, list(pairs.values())):
        ends = line[0].words or [plain(float(value)) for value in line[0].x]
        cells = [Cell(label_of(line[0].dimension)), Cell(f"{ends[0]} to {ends[-1]}")]
        for one in line:
            medians = one.percentiles[2]
            step = medians[-1] - medians[0]
            cells += [
                Cell(_share(one.share), "number"),
                Cell(significant(step, 3) if np.isfinite(step) else NO_VALUE, "number"),
            ]
        rows.append(cells)
    head = [Cell("Dimension"), Cell("From and to")]
    groups = [("", 2)]
    for name, change in pairs.items():
        unit = "cents" if change.endswith("_cents") else "%"
        head += [Cell("Share, %", "number"), Cell(f"Change, {unit}", "number")]
        groups.append((WORDS[name][:1].upper() + WORDS[name][1:], 2))
    found = _table("many_trends", head, rows, OF_COMPARISON)
    return found and Table(found.caption, found.columns, found.rows, "", groups, found.source)


def _share(share: float) -> str:
    return NO_VALUE if not np.isfinite(share) else f"{100 * share:.0f}"


def printed_verdicts(study: ManyBores) -> Table | None:
    """How many bores are lower, higher, not certainly different, or without a number."""
    rows = []
    for name, change in figures_of(study.comparison, study.topic).items():
        column = f"{change.removesuffix('_cents').removesuffix('_percent')}_verdict"
        if column not in study.comparison:
            continue
        counts = Counter(_verdict(str(word)) for word in study.comparison[column].iloc[1:])
        cells = [Cell(f"{counts[word]:,}", "number") for word in (*VERDICTS, "")]
        rows.append([Cell(f"{WORDS[name][:1].upper()}{WORDS[name][1:]}"), *cells])
    head = [Cell("Figure"), Cell("Lower", "number"), Cell("Higher", "number"),
            Cell("No certain difference", "number"), Cell("Not known", "number")]  # fmt: skip
    return _table("many_verdicts", head, rows, OF_COMPARISON)


def _verdict(word: str) -> str:
    return next((begin for begin in VERDICTS if word.startswith(begin)), "")


def printed_failures(failures: Sequence[Failure], labels: Mapping[str, str]) -> Table | None:
    """What bores have no mesh or result for, and why; None where they have all."""
    rows = [
        [
            Cell(f"{one.count:,}", "number bad"),
            Cell(one.what),
            Cell(one.reason, "bad"),
            Cell(named(one, labels)),
        ]
        for one in failures[:REASONS]
    ]
    head = [Cell("Bores", "number"), Cell("Without"), Cell("Reason"), Cell("Such as")]
    found = _table("many_failures", head, rows, OF_CHECKS)
    if found is None or len(failures) <= REASONS:
        return found
    note = f"The {REASONS} most frequent of {len(failures)} reasons; all are in verification.csv."
    return Table(found.caption, found.columns, found.rows, note, (), found.source)


def printed_rates(lost: Mapping[float, Failure], labels: Mapping[str, str]) -> Table | None:
    """At which flow rates how many bores have no steady solution; None where all have."""
    rows = [
        [
            Cell(f"{rate:g}", "number"),
            Cell(f"{one.count:,}", "number bad"),
            Cell(named(one, labels)),
        ]
        for rate, one in lost.items()
    ]
    head = [Cell("Flow rate, L/s", "number"), Cell("Bores", "number"), Cell("Such as")]
    return _table("many_rates", head, rows, OF_FLOW)


def named(failure: Failure, labels: Mapping[str, str]) -> str:
    """The first of a failure's bores, and how many there are besides."""
    names = "; ".join(labels.get(name, name) for name in failure.names)
    return f"{names} and {failure.count - NAMED:,} more" if failure.count > NAMED else names


def _table(
    name: str, head: Sequence[Cell], rows: Sequence[Sequence[Cell]], source: Source
) -> Table | None:
    return Table(text("tables", name), head, rows, source=source) if rows else None


def printed_label(study: ManyBores, name: str) -> str:
    """A figure with its unit as it is printed."""
    unit, _ = PRINTED.get(_unit(name), (_unit(name), 1.0))
    words = study.label(name)
    return words.replace(f", {_unit(name)}", f", {unit}") if _unit(name) else words


def _unit(name: str) -> str:
    _, separator, unit = label_of(name).rpartition(", ")
    return unit if separator else ""


def printed_factor(name: str) -> float:
    """What a figure is multiplied by for the unit that it is printed in."""
    return PRINTED.get(_unit(name), ("", 1.0))[1]
