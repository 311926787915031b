r"""What the truth of a claimed quantity is believed to be: the computed value with its errors.

Of a figure of the flow the numerical uncertainty and the model error count, as the root of the sum
of their squares.  Those without a model error of their own take it from the pressure drop that they
are made of: the loss coefficient :math:`K` from the whole drop's, over the dynamic pressure; the
discharge coefficient :math:`C \propto \Delta p^{-1/2}` half of the share that the drop to the
throat's end has; friction in the throat, a part of that drop, all of it; the slope against the flow
rate the same share of itself as the whole drop.  Of a measured bore the errors of its stations
count as well (`borestudy.claims.stations`).
"""

from dataclasses import dataclass, replace
from math import hypot

from borestudy.claim import Claim
from borestudy.claims.bench import Bench, split_peak
from borestudy.claims.stations import stations_error
from borestudy.quantity import Quantity
from borestudy.results.changes import Change, flow_change, resonance_change
from borestudy.results.error_sizes import Sides
from borestudy.results.estimate import TO_THROAT_END, WHOLE, EstimatedRate
from borestudy.results.reported import NOT_COMPUTED, OF_FLOW, RESISTANCE, reported, unreported

#: Figures that follow from the rate and the throat alone, by the field that holds them.
SCALES = {
    "throat Reynolds number": "throat_reynolds",
    "throat velocity": "throat_velocity_m_per_s",
    "dynamic pressure": "dynamic_pressure_Pa",
}


@dataclass(frozen=True)
class Believed:
    """A computed value, the ends of what it may be, and its numerical uncertainty alone."""

    value: float
    low: float
    high: float
    numerical: float = 0.0


def believed(claim: Claim, bench: Bench) -> Believed | str:
    """What is believed of a claimed quantity, in the unit of results; in words why nothing is."""
    found = _computed(claim, bench)
    if isinstance(found, str) or claim.is_change:
        return found
    error = stations_error(claim, bench, found.value)
    below, above = (
        hypot(side, error) for side in (found.value - found.low, found.high - found.value)
    )
    return replace(found, low=found.value - below, high=found.value + above)


def _computed(claim: Claim, bench: Bench) -> Believed | str:
    """What is believed of a quantity of the bore exactly as it was computed."""
    if claim.is_change:
        return _of_change(_change(claim, bench))
    if claim.rate_L_per_s is None:
        return _plain(claim.quantity, bench)
    rate = bench.rate(claim.rate_L_per_s)
    if rate is None:
        return NOT_COMPUTED
    if claim.figure in SCALES:
        return _sided(Quantity(getattr(rate, SCALES[claim.figure]), 0.0), 0.0, 0.0)
    found = computed_at_rate(claim.figure, rate)
    if found is None:
        return rate.note or NOT_COMPUTED
    sides = _model_error(claim.figure, found, rate)
    return _sided(found, sides.low, sides.high)


def computed_at_rate(figure: str, rate: EstimatedRate) -> Quantity | None:
    """A figure of the flow at one rate, in the unit of results; None without a solution."""
    if figure == "friction in the throat":
        budget = None if rate.figures is None else rate.figures.budget
        parts = None if budget is None else budget.dissipation_by_part
        return None if parts is None else parts.get("throat")
    found = rate.quantity(OF_FLOW.get(figure, figure.replace(" ", "_")))
    if figure == RESISTANCE and found is not None:
        per_rate = 1e-3 / rate.flow_rate_L_per_s
        error = None if found.uncertainty is None else per_rate * found.uncertainty
        return Quantity(per_rate * found.value, error)
    return found


def _plain(name: str, bench: Bench) -> Believed | str:
    found = reported(bench.case, bench.first).get(name)
    if found is None:
        return unreported(bench.case, bench.first).get(name, NOT_COMPUTED)
    return _sided(found.value, 0.0, 0.0)


def _sided(found: Quantity, below: float, above: float) -> Believed:
    numerical = found.uncertainty or 0.0
    low, high = found.value - hypot(numerical, below), found.value + hypot(numerical, above)
    return Believed(found.value, low, high, numerical)


def _model_error(figure: str, found: Quantity, rate: EstimatedRate) -> Sides:
    """Model error of a figure below and above it, in its unit."""
    drops = {} if rate.model_error is None else rate.model_error.drops
    name = OF_FLOW.get(figure, WHOLE)
    if figure in ("discharge coefficient", "friction in the throat"):
        name = TO_THROAT_END
    if figure == "slope of pressure drop":
        name = WHOLE
    sides, drop = drops.get(name), rate.quantity(name)
    if sides is None or drop is None or drop.value == 0:
        return Sides(0.0, 0.0)
    match figure:
        case "loss coefficient":
            per = 1 / rate.dynamic_pressure_Pa
        case "discharge coefficient":
            # A greater drop is a smaller coefficient.
            half = 0.5 * abs(found.value / drop.value)
            return Sides(half * sides.high, half * sides.low)
        case "slope of pressure drop":
            per = abs(found.value / drop.value)
        case "flow resistance":
            per = 1e-3 / rate.flow_rate_L_per_s
        case _:
            per = 1.0
    return Sides(per * sides.low, per * sides.high)


def _change(claim: Claim, bench: Bench) -> Change:
    """The change of a claimed quantity against the study's first case."""
    case, first = bench.case, bench.first
    if claim.rate_L_per_s is None:
        peak, field = split_peak(claim.figure)
        if field is None:
            return _change_of_volume(claim, bench)
        place = 0 if peak == "resonance" else int(peak.split()[1]) - 1
        return resonance_change(case, first, place, field)
    rate = bench.rate(claim.rate_L_per_s)
    if rate is None:
        return Change()
    return flow_change(case, first, list(case.rates).index(rate), OF_FLOW[claim.figure])


def _change_of_volume(claim: Claim, bench: Bench) -> Change:
    found = [reported(one).get(claim.figure) for one in (bench.first, bench.case)]
    if found[0] is None or found[1] is None:
        return Change()
    return Change(found[0].change(found[0].value, found[1].value), 0.0)


def _of_change(found: Change) -> Believed | str:
    if found.value is None or found.uncertainty is None:
        return found.verdict
    error = found.uncertainty
    return Believed(found.value, found.value - error, found.value + error, found.numerical or 0.0)
