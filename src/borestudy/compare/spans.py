"""What changes between two cases' flow, where the answer is a span and not a figure.

In laminar flow the computed solution is the answer.  Where a rate is solved both ways, the change
is computed from each solution by itself: each is off by much the same in both cases, so that their
changes are better known than either total.  A word is given where both have the same one, and
nothing is claimed beyond it.

In all other cases every end of either span rests on a basis: one of the solutions, the handbooks,
or one of them up to the throat's end and another behind it.  The change is computed on each basis
that both bores have, the same one for both: a bore's handbook figure is never divided by the
other's solution, which would put the difference of two models into that of two bores.  A word is
given where all of these changes have the same one.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from borestudy.compare.changes import (
    HIGHER,
    LOWER,
    NO_RESULT,
    UNKNOWN,
    Change,
    Row,
    flow_change,
    verdict,
)
from borestudy.compare.results import CaseResults
from borestudy.compare.solutions import (
    AND,
    DROPS,
    HANDBOOK,
    LAMINAR,
    SOLUTIONS,
    is_judged_by_both,
    solution_row,
)

ENDS_DISAGREE = "not known: the two ends of the span disagree"
SOLUTIONS_DISAGREE = "not known: the two solutions disagree"
ONE_MISSING = "not known: one of the two solutions is missing"
TO_THROAT_END = "pressure_drop_to_throat_end"
HALVES = DROPS[1:]


@dataclass(frozen=True)
class SpanChange:
    """Change of a pressure drop as computed and at both ends of its span, all in percent.

    Attributes
    ----------
    computed : Change
        From the solution that the figures of both cases are from.
    low, high : Change
        The lesser and the greater of both solutions' changes; where a rate is not judged by both,
        the least and the greatest of the changes on each basis that the ends of both spans rest on.
    verdict : str
        What holds whatever is true between the ends.
    solutions : mapping of str to Change
        From each solution by itself.
    judged_by_both : bool
        Whether the verdict is what both solutions agree on.
    """

    computed: Change
    low: Change
    high: Change
    verdict: str
    solutions: Mapping[str, Change] = field(default_factory=dict)
    judged_by_both: bool = False

    @property
    def is_beyond(self) -> bool:
        """Whether there is a difference, and in one direction, whatever is true."""
        return self.verdict in (LOWER, HIGHER)


def span_change(
    case: CaseResults, first: CaseResults, rate: float, quantity: str = "pressure_drop"
) -> SpanChange:
    """Change at one rate [L/s] with what the span of both cases leaves open."""
    key = f"{quantity}_Pa"
    computed = flow_change(case, first, rate, key)
    each = {word: flow_change(case, first, rate, key, word) for word in SOLUTIONS}
    ours, theirs = case.rate(rate), first.rate(rate)
    if case is first:
        return SpanChange(computed, computed, computed, computed.verdict, each)
    if is_judged_by_both(ours) and is_judged_by_both(theirs):
        known = sorted(
            (change for change in each.values() if change.value is not None),
            key=lambda change: change.value or 0.0,
        )
        ends = (known[0], known[-1]) if known else (UNKNOWN, UNKNOWN)
        return SpanChange(computed, *ends, agreed(each), each, True)
    laminar = not computed.is_known or ours["regime"] == theirs["regime"] == LAMINAR
    if laminar:
        return SpanChange(computed, computed, computed, computed.verdict, each)
    found = {
        basis: _basis_change(ours, theirs, quantity, basis)
        for basis in _bases(ours, theirs, quantity)
    }
    found |= {basis: each[basis.words[0]] for basis in found if basis.is_a_solution}
    changes = sorted(
        (change for change in found.values() if change.value is not None),
        key=lambda change: change.value or 0.0,
    )
    if not changes:
        return SpanChange(computed, UNKNOWN, UNKNOWN, NO_RESULT, each)
    verdicts = {change.verdict for change in changes}
    word = verdicts.pop() if len(verdicts) == 1 else ENDS_DISAGREE
    return SpanChange(computed, changes[0], changes[-1], word, each)


def agreed(changes: Mapping[str, Change]) -> str:
    """The word that all solutions have for a change, or that there is none."""
    words = {change.verdict for change in changes.values()}
    known = [change.is_known for change in changes.values()]
    if all(known):
        return words.pop() if len(words) == 1 else SOLUTIONS_DISAGREE
    return ONE_MISSING if any(known) else NO_RESULT


@dataclass(frozen=True)
class Basis:
    """What an end of a span rests on: a source for each half of the bore, or one for the whole."""

    words: tuple[str, ...]
    end: str

    @property
    def is_a_solution(self) -> bool:
        """Whether it is one solution from rim plane to shank end, whose own change is known."""
        return len(self.words) == 1 and self.words[0] in SOLUTIONS


def _bases(ours: Row, theirs: Row, quantity: str) -> dict[Basis, None]:
    """Every basis of an end of either span, each once."""
    named = [
        (str(row.get(f"{quantity}_{end}_from", LAMINAR)), end)
        for row in (ours, theirs)
        for end in ("low", "high")
    ]
    return dict.fromkeys(Basis(tuple(words.split(AND)), end) for words, end in named)


def _basis_change(ours: Row, theirs: Row, quantity: str, basis: Basis) -> Change:
    """Change of a pressure drop on one basis; unknown where one of both bores has it not."""
    parts = HALVES if len(basis.words) > 1 else (quantity,)
    sums = []
    for row in (ours, theirs):
        figures = [
            _figure(row, part, word, basis.end)
            for part, word in zip(parts, basis.words, strict=True)
        ]
        known = [figure for figure in figures if figure is not None]
        if len(known) < len(figures):
            return UNKNOWN
        values, errors = zip(*known, strict=True)
        sums.append((sum(values), float(np.hypot.reduce(errors))))
    (value, error), (reference, other) = sums
    if reference <= 0:
        return UNKNOWN
    ratio = value / reference
    apart = np.hypot(error / reference, ratio * other / reference)
    change, uncertainty = float(100 * (ratio - 1)), float(100 * apart)
    return Change(change, uncertainty, verdict(change, uncertainty))


def _figure(row: Row, part: str, source: str, end: str) -> tuple[float, float] | None:
    """A pressure drop or a half of it from one source, and its numerical uncertainty."""
    if source == HANDBOOK:
        value = row.get("handbook", {}).get(f"{part}_{end}_Pa")
        return None if value is None else (float(value), 0.0)
    figures = solution_row(row, source)
    value = figures.get(f"{part}_Pa")
    if value is None:
        return None
    return float(value), float(figures.get(f"{part}_Pa_uncertainty") or 0.0)
