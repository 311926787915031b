"""What the page of a study of many cases says of all of them, before it shows a few."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from borestudy.report.captions import text
from borestudy.report.figures.positions import column_of
from borestudy.report.labels import name_of, split_unit
from borestudy.report.large import tables
from borestudy.report.large.failures import unsolved_count, unsolved_rates, without_mesh
from borestudy.report.large.summary import (
    WORDS,
    ManyBores,
    distribution,
    figures_of,
    trends,
)
from borestudy.report.large.tables import named
from borestudy.report.tables.layout import Table
from borestudy.rounding import significant

#: As many reasons for missing results stand at the head of the page.
ALERTS = 5
#: As many sentences of a list are shown on the page; answers.json has all.
SENTENCES = 30


@dataclass(frozen=True, kw_only=True)
class Overview:
    """What is said of all cases.

    Attributes
    ----------
    count : int
        How many cases the study has.
    sentences : sequence of str
    tables : sequence of Table
        Verdicts, distributions, extremes, trends, and what is missing.
    unmeshed : sequence of str
        Results that are missing, a line a reason, the most frequent first.
    unsolved : str
        How many flow rates have no solution; empty where all have.
    """

    count: int
    sentences: Sequence[str]
    tables: Sequence[Table]
    unmeshed: Sequence[str] = ()
    unsolved: str = ""


def overview_of(
    study: ManyBores,
    flow: pd.DataFrame,
    verification: pd.DataFrame,
    labels: Mapping[str, str],
    shown: int,
) -> Overview:
    """Sum up all cases of a study.

    Parameters
    ----------
    study : ManyBores
        The cases.
    flow, verification : DataFrame
        Their rows of ``flow.csv``, of which the columns that say whether there is a solution are
        needed, and ``verification.csv``.
    labels : mapping of str to str
        The words of every case by its name.
    shown : int
        How many of them are shown one by one.
    """
    names = study.comparison["case"]
    words = [labels.get(str(name), str(name)) for name in names]
    failures, rates = without_mesh(verification), unsolved_rates(flow)
    made = (
        tables.printed_verdicts(study),
        tables.printed_spread(study),
        tables.printed_extremes(study, words),
        tables.printed_trends(study),
        tables.printed_failures(failures, labels),
        tables.printed_rates(rates, labels),
    )
    lost, count = unsolved_count(flow), len(names)
    more = [] if len(failures) <= ALERTS else [f"{len(failures) - ALERTS} further reasons"]
    alerts = [
        f"{one.count:,} without {one.what}: {one.reason} ({named(one, labels)})"
        for one in failures[:ALERTS]
    ]
    return Overview(
        count=count,
        sentences=[*_ranges(study), *_leaders(study), _shown(shown, count)],
        tables=[one for one in made if one is not None],
        unmeshed=[*alerts, *more],
        unsolved=text("tables", "unsolved", lost=f"{lost:,}", count=f"{len(flow):,}")
        if lost
        else "",
    )


def _shown(shown: int, count: int) -> str:
    return text("tables", "many_shown", shown=shown, count=f"{count:,}")


def _ranges(study: ManyBores) -> list[str]:
    """Between which values each figure lies in most bores."""
    found = []
    for name in figures_of(study.comparison, study.topic):
        values = column_of(study.comparison, name)
        ends = distribution(values)
        if not np.isfinite(ends).any() or name not in WORDS:
            continue
        stem, unit = split_unit(name)
        low, middle, high = (significant(ends[at], 4) for at in (1, 3, 5))
        rate = study.rate_in_words if stem == "flow_resistance" else ""
        count = int(np.isfinite(values).sum())
        found.append(
            f"The {WORDS[name]}{rate} of 95 % of the {count:,} bores that have one lies from "
            f"{low} to {high} {unit}".rstrip()
            + f", half of them below {middle}."
        )
    return found


def _leaders(study: ManyBores) -> list[str]:
    """Which dimension decides most of each figure."""
    found = []
    for name, change in figures_of(study.comparison, study.topic).items():
        lines = [row[0] for row in trends(study.comparison, study.varied, [change])]
        known = [one for one in lines if np.isfinite(one.share)]
        if len(lines) < 2 or not known:
            continue
        best = max(known, key=lambda one: one.share)
        found.append(
            f"{name_of(best.dimension)} goes with {100 * best.share:.0f} % of the variance of the "
            f"{WORDS[name]} over all bores, more than any other dimension."
        )
    return found


def bounded(sentences: Sequence[str], limit: int = SENTENCES) -> list[str]:
    """The first of some sentences, and how many more there are."""
    if len(sentences) <= limit:
        return list(sentences)
    more = f"{len(sentences) - limit:,} more sentences are in answers.json."
    return [*sentences[:limit], more]
