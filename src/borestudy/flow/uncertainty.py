"""How sure a figure of one flow rate is, from its ladder of meshes and the weighted residual."""

from collections.abc import Mapping, MutableMapping, Sequence
from dataclasses import replace

import numpy as np

from borestudy.fem import Floats
from borestudy.fem.uncertainty import CAUTIOUS_FACTOR, TRUSTED_FACTOR, grid_uncertainty
from borestudy.quantity import Quantity

#: Order assumed of a figure from two meshes.  Entries that are square and rounded by 0.25 mm,
#: solved at Reynolds numbers from 1100 to 6700 on four levels: what the second still lacked of the
#: fourth was 0.9 of the step before it at most, where this order with its cautious safety factor
#: says 2.4 and with the trusted one 1.0.  In the turbulent solution the third mesh's step was 0.2
#: to 0.4 of the second's.
ORDER = 2.0
#: Share of a figure by which meshes scatter where they agree: that of the drop to the throat's end
#: on the same four levels.
SCATTER = 5e-4
#: The dual-weighted residual estimate is consistent with a step from mesh to mesh if it predicted
#: the step within this factor.
CONSISTENT_WITHIN = 3.0
#: With Δp = ρU² p(Re) the slope is 2 Δp/Q and a term with dp/dRe: twice the drop's error over the
#: flow rate is in it.  Two meshes agreed in it by chance to a tenth of its error.
SLOPE_PER_DROP = 2.0
#: Share of the neighbouring rates' uncertainty that is the floor of a rate's own.
FLOOR_SHARE = 0.5
#: What a solution's mechanical energy may be off by, as a share of what is dissipated.
ENERGY_LIMIT = 0.01
WHOLE, LOSS, SLOPE = "pressure_drop", "loss_coefficient", "differential_resistance"
HALVES = ("pressure_drop_to_throat_end", "backbore_pressure_drop")


def ladder_uncertainty(ladder: Floats, ratio: float) -> float:
    """Numerical uncertainty of the finest of two or more figures."""
    by_grids = grid_uncertainty(ladder, ratio, order=ORDER)
    return max(float(by_grids), SCATTER * abs(float(ladder[-1])))


def from_ladder(
    values: Sequence[float | None], ratio: float, unit: str = "", factor: float = 1.0
) -> Quantity | None:
    """A quantity from its values on neighbouring meshes, coarsest first, each times a factor.

    None where the finest mesh has none; known to nothing better than None where another has none.
    """
    if values[-1] is None:
        return None
    levels = tuple(None if value is None else factor * value for value in values)
    known = [value for value in levels if value is not None]
    error = None
    if 2 <= len(known) == len(levels):
        error = ladder_uncertainty(np.array(known), ratio)
    return Quantity(known[-1], error, unit, levels)


def estimator_consistent(ladder: Sequence[float], estimates: Sequence[float]) -> bool:
    """Whether the weighted residual predicted the last step, and estimates a lesser rest.

    `ladder` has the pressure drop on each mesh, coarsest first, `estimates` the dual-weighted
    residual estimate of each one's error: the exact drop less the computed.
    """
    if len(ladder) < 2:
        return False
    step, expected = ladder[-1] - ladder[-2], estimates[-2] - estimates[-1]
    within = 1 / CONSISTENT_WITHIN <= expected / step <= CONSISTENT_WITHIN if step else False
    return within and abs(estimates[-1]) <= abs(step)


def widened(figure: Quantity, least: float) -> Quantity:
    """The same with an uncertainty of at least so much; one that is not known stays unknown."""
    if figure.uncertainty is None:
        return figure
    return replace(figure, uncertainty=max(figure.uncertainty, least))


def judge_pressure_drop(
    figures: MutableMapping[str, Quantity],
    estimates: Sequence[float] | None,
    energy: float,
    factors: Mapping[str, float],
) -> bool | None:
    """Settle the whole pressure drop's uncertainty; say whether its estimator is consistent.

    Where the weighted residual predicted the step between the two finest meshes, two meshes are as
    good as three that show their order.  Where it did not, they may agree by chance: the whole is
    no surer than its two halves taken together.  In no case is it surer than the weighted residual,
    or the energy that the finest mesh's discretisation gives or takes.  What is not known of it is
    not known of its slope either, nor of the loss: the drop and a change of kinetic energy.

    Parameters
    ----------
    figures : mapping of str to Quantity
        Quantities from their ladders alone; their uncertainties are changed.
    estimates : sequence of float or None
        Dual-weighted residual estimate of each level's error in the pressure drop [Pa].
    energy : float
        Energy per volume that does not balance [Pa].
    factors : mapping of str to float
        Pascals in a unit of the loss coefficient, and in one of the slope times the flow rate.
    """
    first, last = HALVES
    if last in figures:
        # where the backbore takes next to nothing, its own share of scatter is next to nothing:
        # it scatters as the two drops do that it is the difference of
        scatter = SCATTER * max(abs(figures[WHOLE].value), abs(figures[first].value))
        figures[last] = widened(figures[last], scatter)
    whole, consistent = figures[WHOLE], None
    ladder = [value for value in whole.levels if value is not None]
    least = energy
    if estimates is not None:
        consistent = estimator_consistent(ladder, estimates)
        least = max(least, (TRUSTED_FACTOR if consistent else 1.0) * abs(estimates[-1]))
    if whole.uncertainty is None:
        return consistent
    if consistent:
        shrink = TRUSTED_FACTOR / CAUTIOUS_FACTOR if len(ladder) == 2 else 1.0
        by_ladder = max(shrink * whole.uncertainty, SCATTER * abs(whole.value))
        whole = replace(whole, uncertainty=by_ladder)
    elif consistent is False:
        halves = [figures[half].uncertainty or 0.0 for half in HALVES if half in figures]
        least = max(least, float(np.hypot.reduce(halves, initial=0.0)))
    figures[WHOLE] = whole = widened(whole, least)
    error = whole.uncertainty or 0.0
    for name, share in ((LOSS, 1.0), (SLOPE, SLOPE_PER_DROP)):
        figures[name] = widened(figures[name], share * error / factors[name])
    return consistent
