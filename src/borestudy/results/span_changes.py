"""What changes between two cases' flow, where the answer is a span and not a figure.

In laminar flow the computed solution is the answer.  Where a rate is solved both ways, the change
is computed from each solution by itself: each is off by much the same in both cases, so that their
changes are better known than either total.  A word is given where both have the same one, and
nothing is claimed beyond it.

In all other cases every end of either span rests on a basis: one of the solutions, the handbooks,
or one of them up to the throat's end and another in the backbore.  The change is computed on each
basis that both bores have, and from each solution that lies within both spans, the same one for
both: a bore's handbook figure is never divided by the other's solution, nor one handbook's by
another's, which would put the difference of two models into that of two bores.  A word is
given where all of these changes have the same one.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from itertools import product

from borestudy.quantity import Quantity
from borestudy.results.case import CaseResults
from borestudy.results.changes import HIGHER, LOWER, NO_RESULT, UNKNOWN, Change, flow_change
from borestudy.results.merged_flow import SOLUTIONS, MergedRate
from borestudy.results.spans import AND, HALVES, HANDBOOK, LAMINAR, TO_THROAT_END, WHOLE

ENDS_DISAGREE = "not known: the two ends of the span disagree"
SOLUTIONS_DISAGREE = "not known: the two solutions disagree"
ONE_MISSING = "not known: one of the two solutions is missing"


@dataclass(frozen=True)
class SpanChange:
    """Change of a pressure drop as computed and at both ends of its span, all in percent.

    ``computed`` is of the solution that the figures of both cases are from, ``low`` and ``high``
    are the lesser and the greater of both solutions' changes, which are in ``solutions``.  Where a
    rate is not judged by both, they are the least and the greatest of the changes on each basis
    that the ends of both spans rest on and from each solution within both.  The verdict holds
    whatever is true between the ends.
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
    case: CaseResults, first: CaseResults, rate: int, quantity: str = WHOLE
) -> SpanChange:
    """Change at one rate, by its index, with what the span of both cases leaves open."""
    computed = flow_change(case, first, rate, quantity)
    each = {word: flow_change(case, first, rate, quantity, word) for word in SOLUTIONS}
    ours, theirs = case.rate(rate), first.rate(rate)
    if case is first or ours is None or theirs is None:
        return SpanChange(computed, computed, computed, computed.verdict, each)
    if ours.is_judged_by_both and theirs.is_judged_by_both:
        return SpanChange(computed, *_ends(each.values()), _agreed(each), each, True)
    if not computed.is_known or ours.regime == theirs.regime == LAMINAR:
        return SpanChange(computed, computed, computed, computed.verdict, each)
    found = [
        change
        for basis in _bases(ours, theirs, quantity)
        for change in _basis_changes(ours, theirs, quantity, basis, each)
        if change.value is not None
    ]
    verdicts = {change.verdict for change in found} or {NO_RESULT}
    word = verdicts.pop() if len(verdicts) == 1 else ENDS_DISAGREE
    return SpanChange(computed, *_ends(found), word, each)


def _ends(changes: Iterable[Change]) -> tuple[Change, Change]:
    """The least and the greatest of those changes that have a value."""
    known = [change for change in changes if change.value is not None]
    known.sort(key=lambda change: change.value or 0.0)
    return (known[0], known[-1]) if known else (UNKNOWN, UNKNOWN)


def _agreed(changes: Mapping[str, Change]) -> str:
    """The word that all solutions have for a change, or that there is none."""
    words = {change.verdict for change in changes.values()}
    known = [change.is_known for change in changes.values()]
    if all(known):
        return words.pop() if len(words) == 1 else SOLUTIONS_DISAGREE
    return ONE_MISSING if any(known) else NO_RESULT


def solutions_apart(row: MergedRate, drop: str = TO_THROAT_END) -> Quantity | None:
    """How far both solutions are apart in a pressure drop, of their mean [%]; None without both."""
    laminar, turbulent = (row.quantity(drop, word) for word in SOLUTIONS)
    if laminar is None or turbulent is None:
        return None
    mean = 0.5 * abs(laminar.value + turbulent.value)
    error = math.hypot(laminar.uncertainty or 0.0, turbulent.uncertainty or 0.0)
    apart = abs(laminar.value - turbulent.value)
    return Quantity(100 * apart / mean, 100 * error / mean, "percent") if mean else None


def handbook_changes(ours: MergedRate, theirs: MergedRate) -> list[Change]:
    """Change of the whole pressure drop by each handbook that both bores have."""
    return _basis_changes(ours, theirs, WHOLE, (HANDBOOK,), {})


def _bases(ours: MergedRate, theirs: MergedRate, drop: str) -> dict[tuple[str, ...], None]:
    """What the ends of both spans rest on, each once: a source for the whole or for each half.

    So is a solution that lies within both spans: it may be true of both bores.
    """
    spans = [row.spans[drop] for row in (ours, theirs) if drop in row.spans]
    named = [source for span in spans for source in (span.low_from, span.high_from)]
    held = [word for word in SOLUTIONS if all(_holds(row, drop, word) for row in (ours, theirs))]
    return dict.fromkeys(tuple(words.split(AND)) for words in [*named, *held])


def _holds(row: MergedRate, drop: str, solution: str) -> bool:
    """Whether a solution lies within the span of its own bore."""
    found, span = row.quantity(drop, solution), row.spans.get(drop)
    return found is not None and span is not None and span.low <= found.value <= span.high


def _basis_changes(
    ours: MergedRate,
    theirs: MergedRate,
    drop: str,
    words: tuple[str, ...],
    solved: Mapping[str, Change],
) -> list[Change]:
    """Changes of a pressure drop on one basis, as many as it has handbooks; none without it."""
    if len(words) == 1 and words[0] in solved:
        return [solved[words[0]]]
    parts: tuple[str, ...] = (drop,)
    if drop == WHOLE:
        parts, words = HALVES, (words[0], words[-1])
    models = []
    for part, word in zip(parts, words, strict=True):
        own, other = _figures(ours, part, word), _figures(theirs, part, word)
        models.append([(own[name], other[name]) for name in own if name in other])
    found: list[Change] = []
    for pairs in product(*models):
        (value, error), (reference, other_error) = (
            (sum(each.value for each in side), math.hypot(*(e.uncertainty or 0.0 for e in side)))
            for side in zip(*pairs, strict=True)
        )
        if reference > 0:
            ratio = value / reference
            apart = 100 * math.hypot(error / reference, ratio * other_error / reference)
            found.append(Change(100 * (ratio - 1), apart))
    return found


def _figures(row: MergedRate, part: str, source: str) -> dict[str, Quantity]:
    """A pressure drop or a half of it by each model of a source [Pa]."""
    if source == HANDBOOK:
        by_name = {} if row.handbook is None else row.handbook.by_name.get(part, {})
        return {name: Quantity(value, None, "Pa") for name, value in by_name.items()}
    found = row.quantity(part, source)
    return {} if found is None else {source: found}
