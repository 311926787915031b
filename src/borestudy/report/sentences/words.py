"""Parts of sentences about results: a change, where it holds, what a case is."""

from collections.abc import Sequence

from borestudy.quantity import Quantity
from borestudy.results.case import CaseResults, split_column, varied_columns
from borestudy.results.changes import NO_DIFFERENCE, Change, peak_shift, resonance_change
from borestudy.results.merged_flow import MergedRate
from borestudy.results.span_changes import ENDS_DISAGREE, SpanChange, span_change
from borestudy.results.spans import LAMINAR, WHOLE
from borestudy.rounding import is_missing, significant, with_uncertainty

PLAYED_PEAKS = range(2, 13)
#: Impedance peaks by where players use them (common practice).
REGISTERS = {"low": range(2, 5), "middle": range(5, 8), "high": range(8, 13)}


def value_text(column: str, value: float | str | None) -> str:
    """One value of a varied dimension with its unit."""
    if is_missing(value):
        return "none"
    if isinstance(value, str):
        return value
    unit = split_column(column)[1]
    number = significant(float(value or 0.0))
    return f"{number} {unit}" if unit else number


def case_value(case: CaseResults, column: str) -> str:
    """What a varied dimension is in a case, a throat entry in its own words."""
    words = case.varied.get("entry") if column == "entry_radius_mm" else None
    return str(words or value_text(column, case.varied.get(column)))


def case_text(case: CaseResults, columns: Sequence[str]) -> str:
    """A case in words: ``throat diameter 3.658 mm, throat entry square``."""
    names = {
        column: "entry" if column == "entry_radius_mm" and case.varied.get("entry") else column
        for column in columns
    }
    parts = [f"{split_column(name)[0]} {case_value(case, at)}" for at, name in names.items()]
    return ", ".join(parts) or "the bore"


def called(case: CaseResults, cases: Sequence[CaseResults]) -> str:
    """``with throat entry square ``: what tells a case from the others, nothing of a single one."""
    return f"with {case_text(case, varied_columns(cases))} " if len(cases) > 1 else ""


def where(case: CaseResults, rate: int, brief: bool = False) -> str:
    """The flow rate, the regime and, if not brief, the throat Reynolds number of an answer."""
    row = case.rate(rate)
    if row is None:
        return "at a flow rate that was not computed"
    number = f", throat Reynolds number {significant(row.throat_reynolds, 3)}"
    return f"at {rate_text(row)} ({row.regime}{'' if brief else number})"


def rate_text(row: MergedRate) -> str:
    """A flow rate with its unit."""
    return f"{significant(row.flow_rate_L_per_s)} L/s"


def change_text(change: Change, unit: str = "%") -> str:
    """``4.9 ± 0.3 % lower``, or that there is no difference, or that nothing is known."""
    if change.value is None:
        return change.verdict
    if not change.is_known:
        return f"changed by {significant(change.value, 2)} {unit}, uncertainty unknown"
    if change.verdict == NO_DIFFERENCE:
        computed = with_uncertainty(change.value, change.uncertainty)
        return f"not different beyond the numerical uncertainty ({computed} {unit})"
    size = with_uncertainty(abs(change.value), change.uncertainty)
    return f"{size} {unit} {change.verdict}"


def resistance_at(case: CaseResults, first: CaseResults, rate: int, brief: bool = False) -> str:
    """How the flow resistance differs at one rate, with what the regime leaves open."""
    change = span_change(case, first, rate)
    place, row, base = where(case, rate, brief), case.rate(rate), first.rate(rate)
    if change.judged_by_both:
        return _by_both(change, place)
    if not change.computed.is_known or row is None or base is None:
        return f"not known {place}, since a solution is missing"
    if row.regime == base.regime == LAMINAR:
        return f"{change_text(change.computed)} {place}"
    if change.low.value is None or change.high.value is None:
        return f"not known {place}, since the span has no end to compare"
    low, high = change.low.value, change.high.value
    if change.verdict == ENDS_DISAGREE:
        return (
            f"not known {place}: {short_text(change.computed)} in the {row.solution} solution; by "
            f"what the ends of the span rest on, from {short_text(change.low)} to "
            f"{short_text(change.high)}"
        )
    if change.verdict == NO_DIFFERENCE:
        return f"not different beyond the numerical uncertainty {place}, at either end of the span"
    sizes = [significant(size, 2) for size in sorted((abs(low), abs(high)))]
    size = sizes[0] if sizes[0] == sizes[1] else f"{sizes[0]} to {sizes[1]}"
    return f"{size} % {change.verdict} {place}, from end to end of the span"


def _by_both(change: SpanChange, place: str) -> str:
    """What both solutions say of a difference, and whether they agree."""
    found = change.solutions.items()
    if change.verdict == NO_DIFFERENCE:
        return f"not different beyond the numerical uncertainty {place}, in both solutions"
    if change.is_beyond:
        sizes = ", ".join(
            f"{with_uncertainty(abs(each.value or 0.0), each.uncertainty)} % ({word})"
            for word, each in found
        )
        return f"{change.verdict} in both solutions {place}: {sizes}"
    told = [f"the {word} solution says {short_text(each)}" for word, each in found if each.is_known]
    lost = [f"the {word} one is missing" for word, each in found if not each.is_known]
    return f"not known {place}: {', '.join([*told, *lost])}"


def short_text(change: Change) -> str:
    """A change in few words, without its uncertainty."""
    if not change.is_beyond:
        return "no clear difference"
    return f"{significant(abs(change.value or 0.0), 2)} % {change.verdict}"


def figure_text(case: CaseResults, rate: int) -> str:
    """A case's flow resistance at a rate, with its uncertainty; its span beyond laminar flow."""
    row = case.rate(rate)
    drop = None if row is None else row.quantity(WHOLE)
    if row is None or drop is None:
        return "none, since the solution did not converge"
    scale = 1e-3 / row.flow_rate_L_per_s
    if row.regime != LAMINAR:
        ends = (row.spans[WHOLE].low, row.spans[WHOLE].high)
        return f"{' to '.join(significant(scale * end, 3) for end in ends)} kPa·s/L"
    return f"{quantity_text(drop, scale)} kPa·s/L"


def quantity_text(found: Quantity | None, factor: float = 1.0) -> str:
    """A figure with its uncertainty, without its unit, times a factor."""
    if found is None:
        return "unknown"
    error = None if found.uncertainty is None else abs(factor) * found.uncertainty
    return with_uncertainty(factor * found.value, error)


def resonance_text(case: CaseResults, first: CaseResults) -> str:
    """How far the resonances move: the first one, or an air column's peaks from end to end."""
    if case.has_air_column:
        return _peaks_text(case, first)
    change = resonance_change(case, first)
    moved = change_text(change, "cents")
    if change.value is None or change.verdict == NO_DIFFERENCE:
        return f"the first resonance is {moved}"
    peaks = first.resonances[0], case.resonances[0]
    numbers = [quantity_text(peak.frequency) for peak in peaks]
    return f"the first resonance is {moved} ({numbers[1]} instead of {numbers[0]} Hz)"


def _peaks_text(case: CaseResults, first: CaseResults) -> str:
    """What each register does, and the peak that moves most.

    A register's move is the mean of its peaks'; their uncertainties are averaged as well, since
    they come from the same meshes and cannot be hoped to cancel.
    """
    moves = _peak_moves(case, first)
    if not moves:
        return "how far the peaks of the instrument move is not known"
    parts = []
    for name, peaks in REGISTERS.items():
        found = {number: moves[number] for number in peaks if number in moves}
        if found:
            value, error = (sum(each) / len(found) for each in zip(*found.values(), strict=True))
            numbers = " to ".join(f"{number}" for number in dict.fromkeys([min(found), max(found)]))
            parts.append(f"{_moved(value, error)} in the {name} register (peaks {numbers})")
    most = max(moves, key=lambda number: abs(moves[number][0]))
    shifted = "; one peak has left the range" if peak_shift(first, case) else ""
    return (
        f"the pitch is {', '.join(parts)} on average, most at peak {most} "
        f"({_moved(*moves[most])}){shifted}"
    )


def _peak_moves(case: CaseResults, first: CaseResults) -> dict[int, tuple[float, float]]:
    """How far each played peak moves, with its uncertainty [cents]."""
    changes = {number: resonance_change(case, first, number - 1) for number in PLAYED_PEAKS}
    return {
        number: (change.value, change.uncertainty)
        for number, change in changes.items()
        if change.value is not None and change.uncertainty is not None
    }


def mean_move(case: CaseResults, first: CaseResults) -> float | None:
    """How far the pitch moves: the mean of the played peaks, or the first resonance [cents]."""
    if not case.has_air_column:
        return resonance_change(case, first).value
    moves = [value for value, _ in _peak_moves(case, first).values()]
    return sum(moves) / len(moves) if moves else None


def _moved(value: float, error: float) -> str:
    """``6.2 ± 0.1 cents higher``, or that there is no difference."""
    return change_text(Change(value, error), "cents")


def capital(text: str) -> str:
    """The text with its first letter large."""
    return text[:1].upper() + text[1:]
