"""Parts of sentences about results: a change, where it holds, what a case is."""

from collections.abc import Sequence

from borestudy.drawing.style import evenly_spaced
from borestudy.flow.result import FlowAtRate
from borestudy.quantity import Quantity
from borestudy.results.case import CaseResults, split_column, varied_columns
from borestudy.results.changes import (
    NO_DIFFERENCE,
    Change,
    flow_change,
    peak_shift,
    resonance_change,
)
from borestudy.results.estimate import WHOLE, EstimatedRate
from borestudy.rounding import NO_VALUE, is_missing, significant, with_both_errors, with_uncertainty

PLAYED_PEAKS = range(2, 13)
#: Impedance peaks by where players use them (common practice).
REGISTERS = {"low": range(2, 5), "middle": range(5, 8), "high": range(8, 13)}
#: What stands behind a pressure drop, said once in a sentence.
BOTH_ERRORS = "± numerical ± model error"
#: At more flow rates than these a sentence says nothing.
RATES_TOLD = 5


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
    parts = [
        case.words.get(at) or f"{split_column(name)[0]} {case_value(case, at)}"
        for at, name in names.items()
    ]
    return ", ".join(parts) or "the bore"


def called(case: CaseResults, cases: Sequence[CaseResults]) -> str:
    """``with throat entry square ``: what tells a case from the others, nothing of a single one."""
    return f"with {case_text(case, varied_columns(cases))} " if len(cases) > 1 else ""


def where(case: CaseResults, rate: int, brief: bool = False) -> str:
    """The flow rate of an answer and, if not brief, the throat Reynolds number."""
    row = case.rate(rate)
    if row is None:
        return "at a flow rate that was not computed"
    if brief:
        return f"at {rate_text(row)}"
    number = significant(row.throat_reynolds, 3)
    return f"at {rate_text(row)} (throat Reynolds number {number})"


def rate_text(row: EstimatedRate) -> str:
    """A flow rate with its unit."""
    return f"{significant(row.flow_rate_L_per_s)} L/s"


def transition_text(case: CaseResults, figures: FlowAtRate) -> str:
    """Where along the bore the estimate's flow turns turbulent, counted in throat diameters."""
    if figures.transition_position_mm is None:
        return "laminar to the shank end"
    return f"turbulent from {place_text(case, figures.transition_position_mm)} on"


def place_text(case: CaseResults, position: float) -> str:
    """A place [mm from the rim plane] counted from the throat in throat diameters.

    From the rim plane in millimetres where the bore has no part named throat.
    """
    parts = {} if case.geometry is None else case.geometry.parts
    if case.geometry is None or "throat" not in parts:
        return f"{significant(position, 3)} mm behind the rim plane"
    start, end = parts["throat"]
    reference = end if position >= end else start
    size = significant(abs(position - reference) / case.geometry.throat_diameter_mm, 2)
    side = "behind" if position >= end else "into" if position >= start else "before"
    return f"{size} throat diameters {side} the throat"


def told_rates(case: CaseResults, reference: int) -> list[int]:
    """Indices of the flow rates that a sentence goes through, the reference rate among them."""
    shown = evenly_spaced(len(case.rates), RATES_TOLD)
    if reference < len(case.rates) and reference not in shown:
        shown[min(range(len(shown)), key=lambda place: abs(shown[place] - reference))] = reference
    return shown


def change_text(change: Change, unit: str = "%") -> str:
    """``4.9 ± 0.3 % lower``, or that there is no difference, or that nothing is known."""
    if change.value is None:
        return change.verdict
    if not change.is_known:
        return f"changed by {significant(change.value, 2)} {unit}, uncertainty unknown"
    if not change.is_beyond:
        computed = with_uncertainty(change.value, change.uncertainty)
        beyond = "numerical uncertainty" if change.verdict == NO_DIFFERENCE else "uncertainty"
        return f"not different beyond the {beyond} ({computed} {unit})"
    size = with_uncertainty(abs(change.value), change.uncertainty)
    return f"{size} {unit} {change.verdict}"


def resistance_at(case: CaseResults, first: CaseResults, rate: int, brief: bool = False) -> str:
    """How the flow resistance differs at one rate."""
    change, place = flow_change(case, first, rate), where(case, rate, brief)
    if change.value is None:
        return f"not known {place}, since a solution is missing"
    return f"{change_text(change)} {place}"


def resistance_changes(case: CaseResults, first: CaseResults, reference: int) -> str:
    """How the flow resistance differs at each flow rate: one number and one verdict a rate."""
    rates = told_rates(first, reference) or [reference]
    return listed([resistance_at(case, first, rate, brief=True) for rate in rates])


def drops_instead(case: CaseResults, first: CaseResults, reference: int) -> str:
    """A sentence with both pressure drops at the reference and at the greatest rate."""
    rates = sorted({reference, *([len(first.rates) - 1] if first.rates else [])})
    found = [
        f"{drop_text(case, rate)} instead of {drop_text(first, rate)} {where(case, rate)}"
        for rate in rates
        if case.converged(rate) and first.converged(rate)
    ]
    return f"The pressure drop is {listed(found)}, each {BOTH_ERRORS}." if found else ""


def figure_text(case: CaseResults, rate: int) -> str:
    """A case's flow resistance at a rate ± numerical ± model error."""
    row = case.rate(rate)
    if row is None or not row.converged:
        return "none, since the solution did not converge"
    return f"{_with_errors(row, WHOLE, 1e-3 / row.flow_rate_L_per_s)} kPa·s/L"


def drop_text(case: CaseResults, rate: int, drop: str = WHOLE, sign: int = 1) -> str:
    """A case's pressure drop at a rate ± numerical ± model error, with its unit."""
    row = case.rate(rate)
    if row is None or row.quantity(drop) is None:
        return "none, since the solution did not converge"
    return f"{_with_errors(row, drop, sign)} Pa"


def _with_errors(row: EstimatedRate, drop: str, factor: float) -> str:
    """A pressure drop times a factor, ± numerical ± model error."""
    found = row.quantity(drop)
    sides = None if row.model_error is None else row.model_error.drops.get(drop)
    if found is None:
        return NO_VALUE
    below, above = (None, None) if sides is None else (sides.low, sides.high)
    if factor < 0:
        below, above = above, below
    sizes = (found.uncertainty, below, above)
    return with_both_errors(
        factor * found.value, *(None if size is None else abs(factor) * size for size in sizes)
    )


def listed(parts: Sequence[str]) -> str:
    """``a``, ``a and b``, ``a, b and c``; semicolons where a part has a comma itself."""
    if any("," in part for part in parts):
        return "; ".join(parts)
    return " and ".join([", ".join(parts[:-1]), parts[-1]] if len(parts) > 1 else parts)


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
    if change.value is None or not change.is_beyond:
        return f"the first resonance is {moved}"
    peaks = first.resonances[0], case.resonances[0]
    numbers = [quantity_text(peak.frequency) for peak in peaks]
    return f"the first resonance is {moved} ({numbers[1]} instead of {numbers[0]} Hz)"


def register_moves(case: CaseResults, first: CaseResults) -> dict[str, Change]:
    """How far each register moves [cents]: the mean of its peaks, lowest register first.

    Their uncertainties are averaged as well, since they come from the same meshes and cannot be
    hoped to cancel.
    """
    moves = _peak_moves(case, first)
    known = {
        name: [moves[number] for number in peaks if number in moves]
        for name, peaks in REGISTERS.items()
    }
    return {
        name: Change(*(sum(each) / len(found) for each in zip(*found, strict=True)))
        for name, found in known.items()
        if found
    }


def _peaks_text(case: CaseResults, first: CaseResults) -> str:
    """What each register does, and the peak that moves most."""
    moves = _peak_moves(case, first)
    if not moves:
        return "how far the peaks of the instrument move is not known"
    parts = []
    for name, move in register_moves(case, first).items():
        found = [number for number in REGISTERS[name] if number in moves]
        numbers = " to ".join(f"{number}" for number in dict.fromkeys([min(found), max(found)]))
        parts.append(f"{change_text(move, 'cents')} in the {name} register (peaks {numbers})")
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
