"""What changes between two cases' flow, where the answer is a span and not a figure.

In laminar flow the computed solution is the answer.  Where a rate is solved both ways, the change
is computed from each solution by itself: each is off by much the same in both cases, so that their
changes are better known than either total.  A word is given where both have the same one, and
nothing is claimed beyond it.

In all other cases every end of either span rests on a basis: one of the solutions, the handbooks,
or one of them up to the throat's end and another behind it.  The change is computed on each basis
that both bores have, and from each solution that lies within both spans, the same one for both: a
bore's handbook figure is never divided by the other's solution, nor one handbook's by another's,
which would put the difference of two models into that of two bores.  A word is given where all of
these changes have the same one.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import product

from borestudy.results.case import CaseResults
from borestudy.results.changes import (
    HIGHER,
    LOWER,
    NO_RESULT,
    UNKNOWN,
    Change,
    Row,
    flow_change,
    verdict,
)
from borestudy.results.merged_flow import (
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
        the least and the greatest of the changes on each basis that the ends of both spans rest on
        and from each solution within both.
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
    found = [
        change
        for basis in _bases(ours, theirs, quantity)
        for change in _basis_changes(ours, theirs, quantity, basis, each)
    ]
    changes = sorted(
        (change for change in found if change.value is not None),
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


def handbook_changes(ours: Row, theirs: Row) -> list[Change]:
    """Change of the whole pressure drop by each handbook that both bores have."""
    return _basis_changes(ours, theirs, DROPS[0], (HANDBOOK,), {})


def _bases(ours: Row, theirs: Row, quantity: str) -> dict[tuple[str, ...], None]:
    """What the ends of both spans rest on, each once: a source for the whole or for each half.

    So is a solution that lies within both spans: it may be true of both bores.
    """
    named = [
        str(row.get(f"{quantity}_{end}_from", LAMINAR))
        for row in (ours, theirs)
        for end in ("low", "high")
    ]
    held = [
        word for word in SOLUTIONS if all(_holds(row, quantity, word) for row in (ours, theirs))
    ]
    return dict.fromkeys(tuple(words.split(AND)) for words in [*named, *held])


def _holds(row: Row, quantity: str, solution: str) -> bool:
    """Whether a solution lies within the span of its own bore."""
    value = solution_row(row, solution).get(f"{quantity}_Pa")
    low, high = (row.get(f"{quantity}_{end}_Pa") for end in ("low", "high"))
    if value is None or low is None or high is None:
        return False
    return bool(low <= value <= high)


def _basis_changes(
    ours: Row, theirs: Row, quantity: str, words: tuple[str, ...], solved: Mapping[str, Change]
) -> list[Change]:
    """Changes of a pressure drop on one basis, as many as it has handbooks; none without it."""
    if len(words) == 1 and words[0] in solved:
        return [solved[words[0]]]
    parts: tuple[str, ...] = (quantity,)
    if quantity == DROPS[0]:
        parts, words = HALVES, (words[0], words[-1])
    found: list[Change] = []
    models = [
        (_figures(ours, part, word), _figures(theirs, part, word))
        for part, word in zip(parts, words, strict=True)
    ]
    common = [[name for name in own if name in other] for own, other in models]
    for names in product(*common):
        sums = [
            [figures[side][name] for name, figures in zip(names, models, strict=True)]
            for side in (0, 1)
        ]
        (value, error), (reference, other) = (
            (sum(value for value, _ in side), math.hypot(*(error for _, error in side)))
            for side in sums
        )
        if reference > 0:
            ratio = value / reference
            apart = math.hypot(error / reference, ratio * other / reference)
            change, uncertainty = 100 * (ratio - 1), 100 * apart
            found.append(Change(change, uncertainty, verdict(change, uncertainty)))
    return found


def _figures(row: Row, part: str, source: str) -> dict[str, tuple[float, float]]:
    """A pressure drop or a half of it by each model of a source, and its numerical uncertainty."""
    if source == HANDBOOK:
        by_name = row.get("handbook", {}).get(f"{part}_by_handbook_Pa", {})
        return {name: (float(value), 0.0) for name, value in by_name.items()}
    figures = solution_row(row, source)
    value = figures.get(f"{part}_Pa")
    if value is None:
        return {}
    return {source: (float(value), float(figures.get(f"{part}_Pa_uncertainty") or 0.0))}
