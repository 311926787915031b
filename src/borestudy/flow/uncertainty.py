"""How sure a figure of one flow rate is, from its ladder of meshes and the weighted residual."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from borestudy.fem.uncertainty import (
    CAUTIOUS_FACTOR,
    TRUSTED_FACTOR,
    grid_uncertainty,
)

#: Order assumed of a figure from two meshes.  Entries that are square and rounded by 0.25 mm,
#: solved at Reynolds numbers from 1100 to 6700 on four levels: what the second still lacked of the
#: fourth was 0.9 of the step before it at most, where this order with its cautious safety factor
#: says 2.4 and with the trusted one 1.0.  In the turbulent solution the third mesh's step was 0.2
#: to 0.4 of the second's.
ORDER = 2.0
#: Share of a figure by which meshes scatter where they agree: that of the drop to the throat's end
#: on the same four levels.
SCATTER = 5e-4
#: A step from mesh to mesh was foretold by the weighted residual within this factor.
FORETOLD_WITHIN = 3.0
WHOLE, SLOPE = "pressure_drop_Pa", "differential_resistance_kPa_s_per_L"
#: With Δp = ρU² p(Re) the slope is 2 Δp/Q and a term with dp/dRe: twice the drop's error over the
#: flow rate is in it [kPa of Pa].  Two meshes agreed in it by chance to a tenth of its error.
SLOPE_PER_DROP = 2e-3
HALVES = ("pressure_drop_to_throat_end_Pa", "backbore_pressure_drop_Pa")


def ladder_uncertainty(ladder: NDArray[np.float64], ratio: float) -> float:
    """Numerical uncertainty of the finest of two or more figures."""
    by_grids = grid_uncertainty(ladder, ratio, order=ORDER)
    return max(float(by_grids), SCATTER * abs(float(ladder[-1])))


def scatter_of_difference(row: dict[str, Any]) -> None:
    """Let what the backbore takes scatter as the drops do that it is the difference of.

    Where it takes or gives next to nothing its own share of scatter is next to nothing as well.
    """
    first, last = HALVES
    if row.get(f"{last}_uncertainty") is not None:
        least = SCATTER * max(abs(row[WHOLE]), abs(row[first]))
        row[f"{last}_uncertainty"] = max(row[f"{last}_uncertainty"], least)


def foretold(ladder: Sequence[float], estimates: Sequence[float]) -> bool:
    """Whether the weighted residual foresaw the last step, and sees less than it still to come.

    Parameters
    ----------
    ladder : sequence of float
        The pressure drop on each mesh, coarsest first.
    estimates : sequence of float
        What the weighted residual says that each still lacks.
    """
    if len(ladder) < 2:
        return False
    step, expected = ladder[-1] - ladder[-2], estimates[-2] - estimates[-1]
    within = 1 / FORETOLD_WITHIN <= expected / step <= FORETOLD_WITHIN if step else False
    return within and abs(estimates[-1]) <= abs(step)


def judge_pressure_drop(
    row: dict[str, Any], estimates: Sequence[float], energy: float, tolerance: float
) -> None:
    """Settle the whole pressure drop's uncertainty, and whether it is within the tolerance.

    Where the weighted residual foretold the step between the two finest meshes, two meshes are as
    good as three that show their order.  Where it did not, they may agree by chance: the whole is
    no surer than its two halves taken together.  In no case is it surer than the weighted residual,
    or the energy that the finest mesh's discretisation gives or takes.  What is not known of it is
    not known of its slope either, nor of the loss: the drop and a change of kinetic energy.

    Parameters
    ----------
    row : dict
        With the pressure drop, its ladder and the uncertainties of the ladders alone.
    estimates : sequence of float
        What the weighted residual says each level's pressure drop lacks [Pa].
    energy : float
        Energy per volume that does not balance [Pa].
    tolerance : float
        Wanted, as a share of the pressure drop.
    """
    scatter_of_difference(row)
    key, ladder = f"{WHOLE}_uncertainty", row["levels"][WHOLE]
    row["pressure_drop_estimated_error_Pa"] = estimates[-1]
    row["mesh_step_foretold"] = foretold(ladder, estimates)
    if row[key] is None:
        return
    if row["mesh_step_foretold"]:
        at_least = TRUSTED_FACTOR * abs(estimates[-1])
        shrink = TRUSTED_FACTOR / CAUTIOUS_FACTOR if len(ladder) == 2 else 1.0
        by_ladder = max(shrink * row[key], SCATTER * abs(row[WHOLE]))
    else:
        first, last = (row[f"{half}_uncertainty"] or 0.0 for half in HALVES)
        at_least, by_ladder = abs(estimates[-1]), max(row[key], float(np.hypot(first, last)))
    row[key] = max(by_ladder, at_least, energy)
    row["tolerance_reached"] = bool(row[key] <= tolerance * abs(row[WHOLE]))
    loss, slope = "loss_coefficient_uncertainty", f"{SLOPE}_uncertainty"
    row[loss] = max(row[loss], row[key] / row["dynamic_pressure_Pa"])
    row[slope] = max(row[slope], SLOPE_PER_DROP * row[key] / row["flow_rate_L_per_s"])


def places_with_uncertainties(levels: Sequence[dict[str, Any]], ratio: float) -> dict[str, Any]:
    """The finest level's lines and places, places with what the meshes leave open.

    A place is known to nothing better than None where the levels differ in what they found.
    """

    def uncertainty(ladder: list[float | None]) -> float | None:
        if len(ladder) < 2 or None in ladder:
            return None
        return ladder_uncertainty(np.array(ladder, float), ratio)

    row = dict(levels[-1])
    for key in ("jet_contraction", "jet_contraction_position_mm"):
        if key in row:
            row[f"{key}_uncertainty"] = uncertainty([level[key] for level in levels])
    alike = len({len(level["separations"]) for level in levels}) == 1
    row["separations"] = [
        bubble
        | {
            f"{key}_uncertainty": uncertainty(
                [level["separations"][number][key] for level in levels]
            )
            if alike
            else None
            for key in bubble
        }
        for number, bubble in enumerate(row["separations"])
    ]
    return row
