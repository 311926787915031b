"""Which rates need a finer mesh, and what neighbouring rates say of a rate's uncertainty."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from .at_rate import FIGURES, with_figures, within
from .regime import REFINED_TO, unit_factor
from .result import DropSlope, FlowAtRate
from .uncertainty import ENERGY_LIMIT, FLOOR_SHARE, widened

#: Where a bore's flow turns turbulent, no finer mesh is made for a smaller numerical uncertainty of
#: the pressure drop than this share of it, nor for an energy that balances better than the second
#: share of the loss: the model's own error is some ten per cent and more.
BESIDE_MODEL_ERROR, ENERGY_BESIDE_MODEL_ERROR = 0.05, 0.02


def wants_refinement(rate: FlowAtRate) -> bool:
    """Whether a rate needs a finer mesh: no solution, not to the tolerance, energy not balanced."""
    if not rate.converged or rate.throat_reynolds is None or rate.energy_balance is None:
        return True
    if abs(rate.energy_balance) > energy_limit(rate):
        return True
    if rate.transition_position_mm is not None:
        return not within(rate.pressure_drop, BESIDE_MODEL_ERROR)
    return rate.throat_reynolds <= REFINED_TO and rate.tolerance_reached is False


def energy_limit(rate: FlowAtRate) -> float:
    """Share of the loss by which the energy's balance may be open.

    What is open counts in the pressure drop's uncertainty in any case.
    """
    return ENERGY_LIMIT if rate.transition_position_mm is None else ENERGY_BESIDE_MODEL_ERROR


def with_floors(rates: Sequence[FlowAtRate], tolerance: float) -> tuple[FlowAtRate, ...]:
    """Widen the uncertainty of a rate at which two meshes agree better than beside it.

    Where the difference between them changes its sign from rate to rate it passes through zero,
    which says nothing of either: no rate is taken as surer than half of what its neighbours are,
    unless its dual-weighted residual estimate is consistent with what the meshes say.  Derivatives
    of the slope have a floor of their own (`with_slope_floors`).
    """
    floored = list(rates)

    def factor(rate: FlowAtRate, unit: str) -> float:
        return unit_factor(unit, rate.dynamic_pressure_Pa or 1.0, rate.flow_rate_L_per_s)

    for name, unit in FIGURES.items():
        known = [
            (index, figure.uncertainty / factor(rate, unit))
            for index, rate in enumerate(rates)
            if (figure := getattr(rate, name)) is not None and figure.uncertainty is not None
        ]
        for place, (index, _) in enumerate(known):
            if rates[index].error_estimator_consistent:
                continue
            beside = [share for _, share in (*known[max(place - 1, 0) : place],
                                             *known[place + 1 : place + 2])]  # fmt: skip
            least = FLOOR_SHARE * max(beside, default=0.0) * factor(rates[index], unit)
            wider = widened(getattr(rates[index], name), least)
            floored[index] = with_figures(floored[index], {name: wider})
    return tuple(
        replace(rate, tolerance_reached=within(rate.pressure_drop, tolerance))
        for rate in with_slope_floors(floored)
    )


def with_slope_floors(rates: Sequence[FlowAtRate]) -> tuple[FlowAtRate, ...]:
    """Hold what a dimension does to the slope against what it does to the drop beside it.

    Where the flow turns turbulent inside the bore, the slope's derivative by a dimension is of
    second order in the place of transition, of which each mesh has a say of its own: two meshes may
    agree in it and both be wrong.  It is also the derivative by flow rate of what the dimension
    does to the pressure drop, which is of first order in that place, and known at every rate that
    was solved.  No such derivative is taken as surer than it agrees with the differences of those
    between neighbouring rates (at the first and the last rate those to the one beside it), though
    these are coarse themselves.  Of one rate alone no more than the order of size is known.

    Parameters
    ----------
    rates : sequence of FlowAtRate
        A bore's rates, all different, in any order, solved or not.

    Returns
    -------
    tuple of FlowAtRate
        The same with uncertainties at least as large; rates that stay laminar to the shank end are
        unchanged.
    """
    widths: list[dict[str, DropSlope]] = [dict(rate.by_dimension) for rate in rates]
    for key in {key for found in widths for key in found}:
        known = {
            rate.flow_rate_L_per_s: (index, drop.value)
            for index, rate in enumerate(rates)
            if key in rate.by_dimension
            and (drop := rate.by_dimension[key].pressure_drop) is not None
        }
        at = sorted(known)
        drops = [known[rate][1] for rate in at]
        # Pa per L/s are 1e-3 kPa s/L; alone, as if nothing were known of its sign
        other = 1e-3 * np.gradient(drops, at) if len(at) > 1 else np.zeros(len(at))
        for rate_L_per_s, difference in zip(at, other, strict=True):
            index, _ = known[rate_L_per_s]
            found = rates[index].by_dimension[key]
            slope = found.differential_resistance
            if slope is None or rates[index].transition_position_mm is None:
                continue
            wider = widened(slope, abs(slope.value - float(difference)))
            widths[index][key] = replace(found, differential_resistance=wider)
    return tuple(
        replace(rate, by_dimension=found) for rate, found in zip(rates, widths, strict=True)
    )
