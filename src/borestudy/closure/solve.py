"""One case's turbulent flow from its meshes to the numbers: the way through this package."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from skfem import MeshTri2

from borestudy.air import Air
from borestudy.flow.boundary import Inlet
from borestudy.flow.fields import field_name, write_flow_field
from borestudy.flow.lines import wall_line
from borestudy.flow.models.spalart_allmaras import SpalartAllmaras
from borestudy.flow.regime import LOWEST_TURBULENT, check_rates
from borestudy.flow.resolution import GREATEST_Y_PLUS, Remesh, resolve_wall
from borestudy.flow.rows import Scale, rate_scale
from borestudy.flow.solver import Level, solve_levels

from .rows import closure_row, guard_against_chance

#: The model with its documented defaults.
MODEL = SpalartAllmaras()


def solve_closure(
    meshes: Sequence[MeshTri2],
    air: Air,
    rates: Sequence[float],
    diameter: float,
    inlet: Inlet = "uniform",
    throat: tuple[float, float] | None = None,
    refinement_ratio: float = 1.5,
    model: SpalartAllmaras = MODEL,
    fields: Path | None = None,
    remesh: Remesh | None = None,
) -> dict[str, Any]:
    """Solve a bore's fully turbulent mean flow at several rates on a ladder of meshes.

    Parameters
    ----------
    meshes : sequence of skfem.MeshTri2
        In metres, with rows along the wall (`mesh.TURBULENT`), coarsest first; at least two for a
        numerical uncertainty.
    air : Air
        Its density, viscosity and speed of sound.
    rates : sequence of float
        Rising flow rates [m³/s].
    diameter : float
        Throat diameter [m], the scale of everything.
    inlet : {"uniform", "developed"}
        Velocity profile over the rim plane.
    throat : (float, float), optional
        Axial start and end of the straight throat [m]; without it no jet contraction is sought.
    refinement_ratio : float
        How many times smaller the elements are from one mesh to the next.
    model : SpalartAllmaras
        With its options.
    fields : Path, optional
        Directory for one `.vtu` file a rate, whose name is in the rate's row under `field`.
    remesh : callable, optional
        Makes the meshes again with a first row lower by a factor, where y⁺ is too large; without
        it the rows say so.

    Returns
    -------
    dict
        Plain numbers, ready for JSON; keys carry their units.

    Raises
    ------
    ValueError
        For flow rates that are not positive, do not rise, pass Mach 0.3 or are too slow.
    """
    warnings = check_rates(air, rates, diameter)
    scales = [rate_scale(air, float(rate), diameter) for rate in rates]
    refuse_laminar(air, scales)
    numbers = [scale.reynolds for scale in scales]

    def solve(those: Sequence[MeshTri2], coarser: Level | None = None) -> list[Level]:
        return solve_levels(model, those, diameter, inlet, numbers, coarser)

    coarsest, refinements = solve(meshes[:1])[0], 0
    if remesh is not None:
        coarsest, meshes, refinements = resolve_wall(
            coarsest, meshes, remesh, lambda mesh, level: solve([mesh], level)[0], refinement_ratio
        )
    levels = [coarsest, *solve(meshes[1:], coarsest)]
    lines = [wall_line(level.problem.space) for level in levels]
    rows = []
    for index, scale in enumerate(scales):
        states = [level.states[index] for level in levels]
        row = closure_row(scale, levels, states, lines, throat, refinement_ratio)
        rows.append(row)
        if fields is not None and row["converged"] and (state := states[-1]) is not None:
            name = field_name(scale.flow_rate)
            row["field"] = name
            space = levels[-1].problem.space
            write_flow_field(fields / name, space, state, scale.velocity, scale.pressure)
    guard_against_chance(rows)
    return {
        "model": "Spalart-Allmaras, negative variant, without f_t2",
        "inlet": inlet,
        "inflow_working_variable": model.inflow,
        "rates": rows,
        "unknowns": [level.problem.equations.unknowns for level in levels],
        "iterations": [[state and state.steps for state in level.states] for level in levels],
        "factorisations": [
            [state and state.factorisations for state in level.states] for level in levels
        ],
        "solve_seconds": [round(level.seconds, 3) for level in levels],
        "greatest_y_plus_allowed": GREATEST_Y_PLUS,
        "wall_refinements": refinements,
        "grad_div": model.grad_div,
        "residual_tolerance": model.steps.tolerance,
        "warnings": warnings,
    }


def refuse_laminar(air: Air, scales: Sequence[Scale]) -> None:
    """Refuse rates at which the model would stay turbulent where the air would not.

    Raises
    ------
    ValueError
        Naming the rate, its Reynolds number and the least rate that is allowed.
    """
    for scale in scales:
        if scale.reynolds < LOWEST_TURBULENT:
            least = scale.flow_rate * LOWEST_TURBULENT / scale.reynolds
            raise ValueError(
                f"flow.closure: found {1e3 * scale.flow_rate:.3g} L/s, a throat Reynolds number of "
                f"{scale.reynolds:.0f}; the turbulent solution does not turn laminar again (at "
                "2000 it has 1.7 times the friction of a pipe), so it is allowed from "
                f"{LOWEST_TURBULENT:.0f} on, here {1e3 * least:.3g} L/s; "
                "take `closure: laminar` below"
            )
