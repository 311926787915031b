"""The open nozzle benchmark at a throat Reynolds number of 5000, segment by segment.

Each segment of each solution has a verdict: it agrees within the laboratories' own range, widened
by the numerical uncertainty and by nothing else.
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from borestudy.bore import Bore
from borestudy.bore.segment import line
from borestudy.closed_form.nozzle_taps import SOURCE, TAP_DROPS
from borestudy.flow.levels import solve_levels
from borestudy.flow.lines import wall_line, wall_pressure
from borestudy.mesh import LAMINAR, read_mesh, write_mesh
from borestudy.results.check import Check
from borestudy.validation.walls import LEVELS, WallPressure, row, solve_walls, uncertainty

REYNOLDS = 5e3
#: Measured: mean, least, greatest pressure difference between two taps [mm from the edge], in q.
MEASURED = TAP_DROPS[REYNOLDS]
WHOLE = (-32.0, 90.0)
#: Throat diameter [mm], and the square edge's place [throat diameters].
DIAMETER_MM, EDGE = 4.0, 10.0


def nozzle_bore() -> Bore:
    """Pipe of 12 mm, square edge, throat of 4 mm, cone of 20 degrees, pipe (throat diameter 1)."""
    points = np.cumsum([EDGE, 10.0, 22.685 / DIAMETER_MM, 25.0])
    return Bore(
        [
            line((0.0, 1.5), (points[0], 1.5), "cup"),
            line((points[0], 1.5), (points[0], 0.5), "cup"),
            line((points[0], 0.5), (points[1], 0.5), "throat"),
            line((points[1], 0.5), (points[2], 1.5), "backbore"),
            line((points[2], 1.5), (points[3], 1.5), "pipe"),
        ]
    )


def nozzle_benchmark(directory: Path) -> dict[str, Any]:
    """Both solutions' segments against the measured ones, and the checks of the closure."""
    # one after the other: what a solution's matrices take is free before the next
    laminar = laminar_walls(directory)
    walls = solve_walls(nozzle_bore(), [REYNOLDS], directory, "nozzle", "developed")
    turbulent = [wall.pressures[0] for wall in walls]
    segments = [segment(taps, laminar, turbulent) for taps in MEASURED]
    rows = [segment_row(found) for found in segments]
    lines = {name: taps_line(found[-1]) for name, found in
             (("laminar", laminar), ("turbulent", turbulent))}  # fmt: skip
    return {"checks": rows, "segments": segments, "lines": lines}


def laminar_walls(directory: Path) -> list[WallPressure]:
    """Wall pressure of the laminar solution, which at this Reynolds number is the span's end."""
    directory.mkdir(parents=True, exist_ok=True)
    meshes = []
    for number in LEVELS:
        path = directory / f"nozzle-laminar-{number}.msh"
        write_mesh(nozzle_bore(), path, LAMINAR, number)
        meshes.append(read_mesh(path))
    found = []
    for level in solve_levels(meshes, 1.0, "developed", [0.4 * REYNOLDS, REYNOLDS]):
        space, state = level.task.space, level.branch.states[-1]
        if state is None:
            raise RuntimeError("nozzle: the laminar flow at Reynolds number 5000 did not converge")
        chain = wall_line(space)
        found.append(WallPressure(chain.position[0], 2 * wall_pressure(space, state, chain)))
    return found


def segment(
    taps: tuple[float, float], laminar: list[WallPressure], turbulent: list[WallPressure]
) -> dict[str, Any]:
    """One segment's row: each solution with its numerical uncertainty and deviation."""
    measured, least, greatest = MEASURED[taps]
    found: dict[str, Any] = {
        "quantity": f"p({taps[0]:g} mm) - p({taps[1]:g} mm)",
        "measured_q": measured,
        "measured_low_q": least,
        "measured_high_q": greatest,
    }
    for name, walls in (("turbulent", turbulent), ("laminar", laminar)):
        first, last = (EDGE + place / DIAMETER_MM for place in taps)
        ladder = [wall.at(first) - wall.at(last) for wall in walls]
        found[f"{name}_q"] = ladder[-1]
        found[f"{name}_q_uncertainty"] = uncertainty(ladder)
        found[f"{name}_deviation_q"] = ladder[-1] - measured
        found[f"{name}_verdict"] = segment_check(found, name).verdict
    return found | {"source": SOURCE}


def segment_check(found: Mapping[str, Any], solution: str = "turbulent") -> Check:
    """A segment's pressure difference against the middle of what the laboratories measured.

    A figure that is numerically less sure than the laboratories are has no more room for it.
    """
    low, high = found["measured_low_q"], found["measured_high_q"]
    allowed = 0.5 * (high - low)
    allowed += min(found[f"{solution}_q_uncertainty"], allowed)
    return Check(
        check="open nozzle benchmark, Re 5000",
        quantity=found["quantity"],
        unit="q",
        computed=found[f"{solution}_q"],
        reference=0.5 * (low + high),
        tolerance_percent=100 * allowed / abs(0.5 * (low + high)),
        source=f"middle of the range in {SOURCE}",
    )


def segment_row(found: Mapping[str, Any]) -> dict[str, Any]:
    """The turbulent solution's row in the table of checks."""
    return row(segment_check(found), found["turbulent_q_uncertainty"])


def taps_line(wall: WallPressure) -> dict[str, list[float]]:
    """Wall pressure less that at the first tap [q] against the distance from the edge [mm]."""
    along = wall.between(EDGE + WHOLE[0] / DIAMETER_MM, EDGE + 100 / DIAMETER_MM)
    first = wall.at(EDGE + WHOLE[0] / DIAMETER_MM)
    return {
        "z_mm": [DIAMETER_MM * (x - EDGE) for x in along["position"]],
        "pressure_q": [p - first for p in along["pressure"]],
    }
