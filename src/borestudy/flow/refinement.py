"""Which rates need a finer mesh, and what neighbouring rates say of a rate's uncertainty."""

from collections.abc import Sequence
from dataclasses import replace

from .at_rate import FIGURES, with_figures, within
from .regime import REFINED_TO, unit_factor
from .result import FlowAtRate
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
    unless its dual-weighted residual estimate is consistent with what the meshes say.
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
        replace(rate, tolerance_reached=within(rate.pressure_drop, tolerance)) for rate in floored
    )
