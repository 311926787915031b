"""A bore solved on a ladder of meshes, and the pressure along its wall."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from borestudy.bore import Bore
from borestudy.closure.levels import ClosureLevel, solve_closure_levels
from borestudy.closure.measures import flow_state
from borestudy.fem.uncertainty import grid_uncertainty
from borestudy.flow.boundary import Inlet
from borestudy.flow.lines import wall_line, wall_pressure
from borestudy.mesh import TURBULENT, read_mesh, turbulent, write_mesh
from borestudy.results.check import Check

#: Mesh levels: those of a study's `medium` resolution.
LEVELS = (0, 1)


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

    def between(self, start: float, stop: float) -> dict[str, list[float]]:
        """A stretch of the line for a figure."""
        inside = (self.position >= start) & (self.position <= stop)
        lines = {"position": self.position, "pressure": self.pressure}
        return {key: [float(f"{v:.5g}") for v in line[inside]] for key, line in lines.items()}


@dataclass(frozen=True)
class Wall:
    """One mesh with its solutions and the wall's pressure in each."""

    level: ClosureLevel
    pressures: list[WallPressure]


def solve_walls(
    bore: Bore,
    reynolds: Sequence[float],
    directory: Path,
    name: str,
    inlet: Inlet = "uniform",
    stretch: float = TURBULENT.stretch,
    levels: Sequence[int] = LEVELS,
) -> list[Wall]:
    """Mesh a bore of throat diameter 1 for the highest Reynolds number and solve at each.

    Triangles behind the throat are as much longer than wide as `stretch` says.

    Raises
    ------
    RuntimeError
        Where there is no steady solution, with the last residuals.
    """
    directory.mkdir(parents=True, exist_ok=True)
    sizing = replace(turbulent(max(reynolds)), stretch=stretch)
    meshes = []
    for level in levels:
        path = directory / f"{name}-{level}.msh"
        write_mesh(bore, path, sizing, level)
        meshes.append(read_mesh(path))
    return [wall_of(level, name) for level in solve_closure_levels(meshes, 1.0, inlet, reynolds)]


def wall_of(level: ClosureLevel, name: str) -> Wall:
    """The wall's pressure in each solution of a level."""
    flow = level.task.space.flow
    chain = wall_line(flow)
    pressures = []
    for state in level.states:
        if not state.converged:
            raise RuntimeError(
                f"{name}: no steady solution at Reynolds number {state.reynolds:.0f}, "
                f"residuals {state.residuals}"
            )
        pressure = wall_pressure(flow, flow_state(level.task, state), chain)
        pressures.append(WallPressure(chain.position[0], 2 * pressure))
    return Wall(level, pressures)


def uncertainty(ladder: Sequence[float]) -> float:
    """Numerical uncertainty of a figure from its values on the meshes, coarsest first."""
    return float(grid_uncertainty(np.array(ladder)))


def row(check: Check, error: float | None = None) -> dict[str, Any]:
    """A check as a row of the table, with its numerical uncertainty in its own unit."""
    return asdict(check) | {
        "uncertainty": error,
        "deviation_percent": check.deviation_percent,
        "verdict": check.verdict,
    }
