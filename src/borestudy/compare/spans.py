"""What changes between two cases' flow, where the answer is a span and not a figure.

In laminar flow the computed solution is the answer.  Where a rate is solved both ways, the change
is computed from each solution by itself: each is off by much the same in both cases, so that their
changes are better known than either total.  A word is given where both have the same one, and
nothing is claimed beyond it.  In all other cases the low ends of both spans are compared and so are
the high ends: each rests on one assumption for both bores.
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
    HANDBOOK,
    LAMINAR,
    SOLUTIONS,
    TURBULENT,
    is_judged_by_both,
)

ENDS_DISAGREE = "not known: the two ends of the span disagree"
SOLUTIONS_DISAGREE = "not known: the two solutions disagree"
ONE_MISSING = "not known: one of the two solutions is missing"
TO_THROAT_END = "pressure_drop_to_throat_end"


@dataclass(frozen=True)
class SpanChange:
    """Change of a pressure drop as computed and at both ends of its span, all in percent.

    Attributes
    ----------
    computed : Change
        From the solution that the figures of both cases are from.
    low, high : Change
        The lesser and the greater of both solutions' changes; where a rate is not judged by both,
        the changes of the spans' low ends and of their high ends.
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
    low, high = (_end_change(ours, theirs, quantity, end) for end in ("low", "high"))
    word = low.verdict if low.verdict == high.verdict else ENDS_DISAGREE
    return SpanChange(computed, low, high, word, each)


def agreed(changes: Mapping[str, Change]) -> str:
    """The word that all solutions have for a change, or that there is none."""
    words = {change.verdict for change in changes.values()}
    known = [change.is_known for change in changes.values()]
    if all(known):
        return words.pop() if len(words) == 1 else SOLUTIONS_DISAGREE
    return ONE_MISSING if any(known) else NO_RESULT


def _end_change(ours: Row, theirs: Row, quantity: str, end: str) -> Change:
    value, reference = ours.get(f"{quantity}_{end}_Pa"), theirs.get(f"{quantity}_{end}_Pa")
    if value is None or reference is None or reference <= 0:
        return UNKNOWN
    ratio = value / reference
    apart = np.hypot(_end_error(ours, quantity, end), _end_error(theirs, quantity, end))
    change, error = float(100 * (ratio - 1)), float(100 * abs(ratio) * apart)
    return Change(change, error, verdict(change, error))


def _end_error(row: Row, quantity: str, end: str) -> float:
    """Relative numerical error of one end of a span: none where it is the handbooks' alone."""
    source = row.get(f"{quantity}_{end}_from", LAMINAR)
    if source == HANDBOOK:
        return 0.0
    figures = row.get(TURBULENT, row) if source == TURBULENT else row
    # where only the part up to the throat's end is computed, only its error counts
    part = TO_THROAT_END if HANDBOOK in source else quantity
    error = figures.get(f"{part}_Pa_uncertainty", figures.get(f"{quantity}_Pa_uncertainty"))
    return float(error or 0.0) / abs(row[f"{quantity}_{end}_Pa"])
