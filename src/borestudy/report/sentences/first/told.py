"""One sentence with one number: what changes, by how much, and from which table it is."""

from dataclasses import asdict, dataclass
from typing import Any

from borestudy.results.case import CaseResults
from borestudy.results.changes import Change, flow_change, resonance_change
from borestudy.rounding import with_uncertainty

RESONANCE, RESISTANCE = "first resonance", "flow resistance"
#: What stands behind the ± of a pressure, said where it is first used.
BOTH_ERRORS = "the ± holds both errors, that of computing and that of the equations"
#: The same of a bore that was measured.
WITH_READINGS = "the ± holds the errors of computing, of the equations and of the readings"


@dataclass(frozen=True, kw_only=True)
class FirstSentence:
    """A sentence and the number in it.

    Attributes
    ----------
    text : str
    quantity : str
        What the number is of, in plain words.
    value, numerical, model, measurement : float or None
        The number with its numerical uncertainty, its model error and what the errors of measured
        stations make of it, in `unit`; without a value the sentence says that it is not known.
    unit : str
    file, column : str
        The table that holds the number, or from which it follows, and its column there.
    case, against : str
        Names of the case, and of the one that it is compared with; that is empty of no change.
    flow_rate_L_per_s : float or None
        Of a quantity of the flow.
    """

    text: str
    quantity: str
    value: float | None = None
    numerical: float | None = None
    model: float | None = None
    measurement: float | None = None
    unit: str = ""
    file: str = ""
    column: str = ""
    case: str = ""
    against: str = ""
    flow_rate_L_per_s: float | None = None

    def source(self) -> dict[str, Any]:
        """All but the text, for a file."""
        return {key: value for key, value in asdict(self).items() if key != "text"}


def at_rate(case: CaseResults, rate: int) -> str:
    """The flow rate, and which of those computed it is."""
    flow = [row.flow_rate_L_per_s for row in case.rates]
    words = f"at {flow[rate]:g} L/s"
    if len(flow) == 1:
        return words
    if rate == len(flow) // 2:
        return f"{words} (the middle of the rates computed)"
    return f"{words} (of {flow[0]:g} to {flow[-1]:g} L/s computed)"


def changed(quantity: str, change: Change, unit: str) -> str:
    """``the flow resistance falls by 23 ± 3 %``, or that no change can be told."""
    if change.value is None or change.uncertainty is None:
        return f"what the {quantity} does is not known"
    if not change.is_beyond:
        size = with_uncertainty(change.value, change.uncertainty)
        return f"the {quantity} shows no change beyond the uncertainty: {size} {unit}"
    size = with_uncertainty(abs(change.value), change.uncertainty)
    return f"the {quantity} {'rises' if change.value > 0 else 'falls'} by {size} {unit}"


def errors_of(measurement: float | None) -> str:
    """What the ± of a pressure holds."""
    return BOTH_ERRORS if measurement is None else WITH_READINGS


def sound_sentence(lead: str, case: CaseResults, base: CaseResults) -> FirstSentence:
    """What a bore does to the first resonance of another."""
    change = resonance_change(case, base)
    return FirstSentence(
        text=f"{lead} {changed(RESONANCE, change, 'cents')}.",
        quantity=RESONANCE,
        value=change.value,
        numerical=change.numerical,
        model=0.0,
        measurement=change.measurement,
        unit="cents",
        file="comparison.csv",
        column="resonance_change_cents",
        case=case.name,
        against=base.name,
    )


def flow_sentence(
    lead: str, case: CaseResults, base: CaseResults, rate: int, *, errors: bool = True
) -> FirstSentence:
    """What a bore does to the flow resistance of another at a rate.

    Parameters
    ----------
    lead : str
        Begin of the sentence, up to the quantity.
    case, base : CaseResults
        The bore, and what it is compared with.
    rate : int
        Index of the flow rate.
    errors : bool
        Whether to say what the ± holds.
    """
    change = flow_change(case, base, rate)
    known = change.value is not None and change.uncertainty is not None
    behind = f"; {errors_of(change.measurement)}" if errors and known else ""
    place = f" {at_rate(base, rate)}" if rate < len(base.rates) else ""
    return FirstSentence(
        text=f"{lead} {changed(RESISTANCE, change, '%')}{place}{behind}.",
        quantity=RESISTANCE,
        value=change.value,
        numerical=change.numerical,
        model=change.model,
        measurement=change.measurement,
        unit="%",
        file="flow.csv",
        column="pressure_drop_change_percent",
        case=case.name,
        against=base.name,
        flow_rate_L_per_s=base.rates[rate].flow_rate_L_per_s if place else None,
    )
