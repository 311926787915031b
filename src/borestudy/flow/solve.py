"""One case's flow from its meshes to the numbers: the way through this package."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from skfem import MeshTri2

from borestudy.air import Air

from .boundary import Inlet
from .fields import field_name, write_flow_field
from .lines import (
    WallLine,
    axis_pressure,
    axis_velocity,
    places,
    wall_line,
    wall_pressure,
    wall_shear,
)
from .models.laminar import Laminar
from .problem import State
from .regime import check_rates
from .rows import (
    Scale,
    missing_row,
    neighbouring_levels,
    rate_row,
    rate_scale,
    wants_refinement,
)
from .solver import Level, next_level, solve_levels
from .uncertainty import places_with_uncertainties

#: Wanted numerical uncertainty of the pressure drop.
TOLERANCE = 0.01
#: Most points that a line along the bore is written with.
LINE_POINTS = 400


def solve_flow(
    meshes: Sequence[MeshTri2],
    air: Air,
    rates: Sequence[float],
    diameter: float,
    inlet: Inlet = "uniform",
    throat: tuple[float, float] | None = None,
    refinement_ratio: float = 1.5,
    fields: Path | None = None,
    tolerance: float = TOLERANCE,
    least_levels: int | None = None,
) -> dict[str, Any]:
    """Solve a bore's steady flow at several rates on a ladder of meshes.

    All rates are solved on the first `least_levels` meshes.  Each further mesh is for the rates
    that are not done: whose pressure drop is not known to the tolerance, by the ladder of meshes
    and the residual weighted for it, or that have no two neighbouring meshes yet.

    Parameters
    ----------
    meshes : sequence of skfem.MeshTri2
        In metres, coarsest first, at least two for a numerical uncertainty.  Not all are used.
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
    fields : Path, optional
        Directory for one `.vtu` file a rate, whose name is in the rate's row under `field`.
    tolerance : float
        Numerical uncertainty wanted of the pressure drop, as a share of it.
    least_levels : int, optional
        How many meshes every rate is solved on; all of them by default.

    Returns
    -------
    dict
        Plain numbers, ready for JSON; keys carry their units.

    Raises
    ------
    ValueError
        For flow rates that are not positive, do not rise or pass Mach 0.3.
    """
    warnings = check_rates(air, rates, diameter)
    scales = [rate_scale(air, float(rate), diameter) for rate in rates]
    least = least_levels or len(meshes)
    reynolds = [scale.reynolds for scale in scales]
    model = Laminar()
    levels = solve_levels(model, meshes[:least], diameter, inlet, reynolds)

    def ladder_row(index: int) -> dict[str, Any]:
        numbers = neighbouring_levels(levels, index, min(least, 2))
        if not numbers:
            return missing_row(scales[index], scales, levels, min(least, 2))
        used = [levels[number] for number in numbers]
        row = rate_row(scales[index], used, index, refinement_ratio, tolerance)
        return row | {"mesh_levels": numbers}

    rows = [ladder_row(index) for index in range(len(rates))]
    while len(levels) < len(meshes) and any(map(wants_refinement, rows)):
        wanted = [wants_refinement(row) for row in rows]
        mesh = meshes[len(levels)]
        levels.append(next_level(model, levels[-1], mesh, diameter, inlet, reynolds, wanted))
        rows = [ladder_row(i) if again else rows[i] for i, again in enumerate(wanted)]
    lines = [wall_line(level.problem.space) for level in levels]
    for index, (row, scale) in enumerate(zip(rows, scales, strict=True)):
        if not row["converged"]:
            continue
        finest = row["mesh_levels"][-1]
        level, state = levels[finest], levels[finest].states[index]
        assert state is not None
        found = [
            _along_the_bore(scale, levels[number], known, lines[number], throat)
            for number in row["mesh_levels"]
            if (known := levels[number].states[index]) is not None
        ]
        row.update(places_with_uncertainties(found, refinement_ratio))
        if fields is not None:
            name = field_name(scale.flow_rate)
            row["field"] = name
            space = level.problem.space
            write_flow_field(fields / name, space, state, scale.velocity, scale.pressure)
    return {
        "inlet": inlet,
        "tolerance": tolerance,
        "rates": rows,
        "unknowns": [level.problem.space.unknowns for level in levels],
        "newton_steps": [level.steps for level in levels],
        "shortened_steps": [level.failed_steps for level in levels],
        "solve_seconds": [round(level.seconds, 3) for level in levels],
        "grad_div": model.grad_div,
        "warnings": warnings,
    }


def _along_the_bore(
    scale: Scale,
    level: Level,
    state: State,
    line: WallLine,
    throat: tuple[float, float] | None,
) -> dict[str, Any]:
    """Pressure along axis and wall, wall shear, and where the flow leaves the wall."""
    space = level.problem.space
    millimetres = 1e3 * scale.length
    axis_position, on_axis = axis_pressure(space, state)
    shear = wall_shear(space, state, line)
    middles = 0.5 * (line.position[:, 1:] + line.position[:, :-1])
    return {
        "axis": {
            "position_mm": _thinned(millimetres * axis_position),
            "pressure_Pa": _thinned(scale.pressure * on_axis),
            "velocity_m_per_s": _thinned(scale.velocity * axis_velocity(space, state)[1]),
        },
        "wall": {
            "position_mm": _thinned(millimetres * line.position[0]),
            "pressure_Pa": _thinned(scale.pressure * wall_pressure(space, state, line)),
            "shear_position_mm": _thinned(millimetres * middles[0]),
            "shear_Pa": _thinned(scale.pressure * shear),
        },
        **places(space, state, scale.length, line, shear, throat),
    }


def _thinned(values: np.ndarray) -> list[float]:
    """At most LINE_POINTS of a line's values, evenly picked, ends kept, rounded to six digits."""
    count = min(len(values), LINE_POINTS)
    picked = values[np.linspace(0, len(values) - 1, count).round().astype(int)]
    return [float(f"{value:.6g}") for value in picked]
