"""The turbulent closure against what is measured and what handbooks hold.

Each function solves one family of flows on meshes made as a study's are and returns checks.  They
take minutes together, so they are a target of their own and no part of a study.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from fluids import fittings
from fluids.friction import Prandtl_von_Karman_Nikuradse
from numpy.typing import NDArray

from borestudy.bore import Bore
from borestudy.bore.segment import conic, line
from borestudy.closed_form.handbook import DIFFUSER_METHODS, ENTRY_METHODS
from borestudy.closure.levels import ClosureLevel, solve_closure_levels
from borestudy.closure.measures import closure_sections, flow_state
from borestudy.flow.boundary import Inlet
from borestudy.flow.lines import wall_line, wall_pressure
from borestudy.mesh import read_mesh, turbulent, write_mesh

from .check import Check

#: Meshes are one level coarser than a study's medium ones.
LEVEL = 0
FRICTION_REYNOLDS = (5e3, 1e4, 2e4, 1e5)
ENTRY_REYNOLDS = (1e4, 3e4, 1e5)
ENTRY_RADII = (0.0, 0.02, 0.06, 0.10, 0.20)


@dataclass(frozen=True)
class WallPressure:
    """Pressure along the wall of one solution: position [throat diameters], pressure [q]."""

    position: NDArray[np.float64]
    pressure: NDArray[np.float64]

    def at(self, position: float) -> float:
        """Pressure at one position."""
        return float(np.interp(position, self.position, self.pressure))

    def line(self, start: float, stop: float) -> tuple[float, float]:
        """Slope and intercept of the straight line through a stretch of the wall."""
        inside = (self.position >= start) & (self.position <= stop)
        slope, intercept = np.polyfit(self.position[inside], self.pressure[inside], 1)
        return float(slope), float(intercept)


def solve_walls(
    bore: Bore,
    reynolds: Sequence[float],
    path: Path,
    inlet: Inlet = "uniform",
    diameter: float = 1.0,
) -> tuple[ClosureLevel, list[WallPressure]]:
    """Mesh a bore for the highest Reynolds number, solve at each, read the wall's pressure."""
    write_mesh(bore, path, turbulent(max(reynolds)), LEVEL)
    level = solve_closure_levels([read_mesh(path)], diameter, inlet, reynolds)[0]
    flow = level.task.space.flow
    chain = wall_line(flow)
    walls = []
    for state in level.states:
        if not state.converged:
            raise RuntimeError(
                f"{path.stem}: no steady solution at Reynolds number {state.reynolds:.0f}, "
                f"residuals {state.residuals}"
            )
        pressure = wall_pressure(flow, flow_state(level.task, state), chain)
        walls.append(WallPressure(chain.position[0], 2 * pressure))
    return level, walls


def pipe_friction(directory: Path) -> list[Check]:
    """Friction factor of a long smooth pipe, between 48 and 72 diameters from its inlet."""
    checks = []
    for reynolds in FRICTION_REYNOLDS:
        pipe = Bore(
            [line((0.0, 0.5), (1.0, 0.5), "throat"), line((1.0, 0.5), (80.0, 0.5), "backbore")]
        )
        _, walls = solve_walls(pipe, [reynolds], directory / f"pipe-{reynolds:.0f}.msh")
        checks.append(
            Check(
                check=f"smooth pipe, Re {reynolds:.0f}",
                quantity="Darcy friction factor",
                unit="1",
                computed=-walls[0].line(48.0, 72.0)[0],
                reference=float(Prandtl_von_Karman_Nikuradse(reynolds)),
                tolerance_percent=6.0 if reynolds < 1e4 else 4.0,
                source="Prandtl, von Karman, Nikuradse, as in fluids.friction",
            )
        )
    return checks


def entry_bore(radius: float) -> Bore:
    """A reservoir of radius 5 and a throat 40 diameters long, its edge rounded (diameter 1)."""
    depth, wide, face = 5.0, 5.0, 0.5 + radius
    segments = [
        line((0.0, wide), (depth, wide), "cup"),
        line((depth, wide), (depth, face), "cup"),
    ]
    if radius > 0:
        stop = (depth + radius, 0.5)
        segments.append(conic((depth, face), (depth, 0.5), stop, np.sqrt(0.5), "entry"))
    start = depth + radius
    segments.append(line((start, 0.5), (start + 4, 0.5), "throat"))
    segments.append(line((start + 4, 0.5), (start + 40, 0.5), "backbore"))
    return Bore(segments)


def entry_losses(directory: Path, radii: Sequence[float] = ENTRY_RADII) -> list[Check]:
    """Loss coefficient of an entry from a reservoir, the throat's own friction subtracted."""
    checks = []
    for radius in radii:
        bore = entry_bore(radius)
        path = directory / f"entry-{radius:.2f}.msh"
        level, walls = solve_walls(bore, ENTRY_REYNOLDS, path)
        books = [
            float(fittings.entrance_rounded(1.0, max(radius, 1e-9), method=method))
            for method in ENTRY_METHODS
        ]
        middle, half = 0.5 * (min(books) + max(books)), 0.5 * (max(books) - min(books)) + 0.03
        for reynolds, wall, state in zip(ENTRY_REYNOLDS, walls, level.states, strict=True):
            rim = closure_sections(level.task, state, level.sections)["rim_plane"]
            slope, intercept = wall.line(5 + 25.0, 5 + 38.0)
            checks.append(
                Check(
                    check=f"entry from a reservoir, r/D {radius:g}, Re {reynolds:.0f}",
                    quantity="loss coefficient",
                    unit="1",
                    computed=2 * rim.head - (intercept + slope * (5 + radius)) - 1,
                    reference=middle,
                    tolerance_percent=100 * half / middle,
                    source="span of " + ", ".join(ENTRY_METHODS) + " in fluids.fittings, +- 0.03",
                )
            )
    return checks


def sudden_expansion(directory: Path, reynolds: float = 2e4) -> Check:
    """Loss of a sudden expansion to twice the diameter, friction subtracted."""
    edge, end = 15.0, 55.0
    bore = Bore(
        [
            line((0.0, 0.5), (edge, 0.5), "throat"),
            line((edge, 0.5), (edge, 1.0), "backbore"),
            line((edge, 1.0), (end, 1.0), "backbore"),
        ]
    )
    _, walls = solve_walls(bore, [reynolds], directory / "expansion.msh")
    before, after = walls[0].line(10.0, 14.0), walls[0].line(edge + 25, edge + 38)
    rise = (after[1] + after[0] * edge) - (before[1] + before[0] * edge)
    return Check(
        check=f"sudden expansion 1:2, Re {reynolds:.0f}",
        quantity="loss coefficient",
        unit="1",
        computed=1 - 1 / 16 - rise,
        reference=(1 - 1 / 4) ** 2,
        tolerance_percent=10.0,
        source="Borda 1766, Carnot 1803: (1 - A1/A2)^2",
    )


def conical_diffuser(directory: Path, reynolds: float = 5e4, angle: float = 7.0) -> Check:
    """Loss of a cone that widens to twice the diameter, developed flow before and a pipe behind."""
    start = 25.0
    length = 0.5 / np.tan(np.radians(angle / 2))
    stop = start + length
    bore = Bore(
        [
            line((0.0, 0.5), (start, 0.5), "throat"),
            line((start, 0.5), (stop, 1.0), "backbore"),
            line((stop, 1.0), (stop + 30, 1.0), "pipe"),
        ]
    )
    _, walls = solve_walls(bore, [reynolds], directory / "diffuser.msh")
    before, after = walls[0].line(start - 6, start - 1), walls[0].line(stop + 12, stop + 28)
    rise = (after[1] + after[0] * stop) - (before[1] + before[0] * start)
    books = [
        float(fittings.diffuser_conical(1.0, 2.0, l=length, Re=reynolds, method=method))
        for method in DIFFUSER_METHODS
    ]
    middle, half = 0.5 * (min(books) + max(books)), 0.5 * (max(books) - min(books))
    return Check(
        check=f"conical diffuser 1:2, {angle:g} degrees, Re {reynolds:.0f}",
        quantity="loss coefficient",
        unit="1",
        computed=1 - 1 / 16 - rise,
        reference=middle,
        tolerance_percent=100 * half / middle,
        source="span of " + ", ".join(DIFFUSER_METHODS) + " in fluids.fittings",
    )


#: The open nozzle benchmark at a throat Reynolds number of 5000: pressure differences between two
#: positions [mm from the square edge] in units of the throat's dynamic pressure, mean over the
#: laboratories without the outlying one.  Hariharan et al. (2011), J. Biomech. Eng. 133, 041002;
#: Stewart et al. (2012), Cardiovasc. Eng. Technol. 3, 139; data doi:10.17917/C78G69.
NOZZLE_SEGMENTS = {
    (-32.0, 2.03): 2.473,
    (-32.0, 10.0): 1.553,
    (-32.0, 40.0): 1.967,
    (10.0, 40.0): 0.414,
    (40.0, 90.0): -0.557,
    (-32.0, 90.0): 1.410,
}
NOZZLE_SOURCE = "measured, mean of laboratories: Hariharan et al. 2011, doi:10.17917/C78G69"
#: Permitted deviation [q]: 4 % of the drop into the throat, 0.08 in the cone; the others are shown.
NOZZLE_TOLERANCES = {(-32.0, 10.0): 0.04 * 1.553, (40.0, 90.0): 0.08}


def nozzle_bore() -> Bore:
    """Pipe of 12 mm, square edge, throat of 4 mm, cone of 20 degrees, pipe (throat diameter 1)."""
    edge, throat, cone_length, behind = 10.0, 10.0, 22.685 / 4, 25.0
    points = np.cumsum([edge, throat, cone_length, behind])
    return Bore(
        [
            line((0.0, 1.5), (points[0], 1.5), "cup"),
            line((points[0], 1.5), (points[0], 0.5), "cup"),
            line((points[0], 0.5), (points[1], 0.5), "throat"),
            line((points[1], 0.5), (points[2], 1.5), "backbore"),
            line((points[2], 1.5), (points[3], 1.5), "pipe"),
        ]
    )


def nozzle_segments(directory: Path, reynolds: float = 5e3) -> dict[tuple[float, float], float]:
    """Computed pressure differences of the nozzle benchmark in units of q."""
    _, walls = solve_walls(nozzle_bore(), [reynolds], directory / "nozzle.msh", inlet="developed")

    def pressure(millimetres: float) -> float:
        return walls[0].at(10.0 + millimetres / 4)

    return {(first, last): pressure(first) - pressure(last) for first, last in NOZZLE_SEGMENTS}


def nozzle_checks(computed: dict[tuple[float, float], float]) -> list[Check]:
    """The segments that the closure is good for, against their measured values."""
    return [
        Check(
            check="open nozzle benchmark, Re 5000",
            quantity=f"p({first:g} mm) - p({last:g} mm)",
            unit="q",
            computed=computed[first, last],
            reference=NOZZLE_SEGMENTS[first, last],
            tolerance_percent=100 * tolerance / abs(NOZZLE_SEGMENTS[first, last]),
            source=NOZZLE_SOURCE,
        )
        for (first, last), tolerance in NOZZLE_TOLERANCES.items()
    ]
