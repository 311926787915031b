"""A bore solved with one model on a ladder of meshes, and the lines that checks are read from."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray
from skfem import MeshTri2

from borestudy.bore import Bore
from borestudy.fem import continuation
from borestudy.fem.newton import Steps
from borestudy.fem.uncertainty import grid_uncertainty
from borestudy.flow.boundary import Inlet
from borestudy.flow.discretisation import Discretisation
from borestudy.flow.meshes import PRESETS
from borestudy.flow.model import Model
from borestudy.flow.models.estimate import Estimate
from borestudy.flow.models.of_bore import model_of
from borestudy.flow.observables.lines import along_axis, wall_line, wall_pressure
from borestudy.flow.observables.sections import bore_sections, scaled_figures
from borestudy.flow.problem import State
from borestudy.flow.solver import Level, solve_levels
from borestudy.mesh import read_mesh, turbulent, write_meshes
from borestudy.provenance import Provenance
from borestudy.quantity import Quantity


@dataclass(frozen=True, kw_only=True)
class Solved:
    """A record of a family of flows; `provenance` is added where it is written."""

    provenance: Provenance | None = None


@dataclass(frozen=True)
class Curve:
    """Values against positions, both in the same order; positions rise."""

    position: tuple[float, ...]
    value: tuple[float, ...]

    def at(self, position: float) -> float:
        """Interpolate the value at one position."""
        return float(np.interp(position, self.position, self.value))

    def fit(self, start: float, stop: float) -> tuple[float, float]:
        """Slope and intercept of the straight line through the values on a stretch."""
        stretch = self.between(start, stop)
        slope, intercept = np.polyfit(stretch.position, stretch.value, 1)
        return float(slope), float(intercept)

    def between(self, start: float, stop: float) -> "Curve":
        """The part of the curve that lies on a stretch."""
        pairs = zip(self.position, self.value, strict=True)
        return Curve(*zip(*((x, y) for x, y in pairs if start <= x <= stop), strict=True))

    def moved(self, position: float, value: float, scale: float = 1.0) -> "Curve":
        """The curve with a position and a value as its zeros, positions then scaled."""
        return Curve(
            tuple(scale * (x - position) for x in self.position),
            tuple(y - value for y in self.value),
        )


def curve(position: NDArray[np.float64], value: NDArray[np.float64]) -> Curve:
    """A curve from arrays of shape (n,)."""
    return Curve(tuple(position.tolist()), tuple(value.tolist()))


@dataclass(frozen=True)
class FlowOnMesh:
    """The flow on one mesh at one Reynolds number.

    Lengths are in throat diameters, velocities in throat mean velocities, pressures and heads in
    throat dynamic pressures q.
    """

    level: Level
    state: State

    @property
    def space(self) -> Discretisation:
        """The elements of velocity and pressure."""
        return self.level.problem.space

    @cached_property
    def wall(self) -> Curve:
        """Pressure along the wall."""
        line = wall_line(self.space)
        return curve(line.position[0], 2 * wall_pressure(self.space, self.state, line))

    @cached_property
    def axis(self) -> Curve:
        """Axial velocity along the axis."""
        return curve(*along_axis(self.space, self.state)[::2])

    @property
    def rim_head(self) -> float:
        """Flux-weighted mechanical energy at the rim plane."""
        sections = bore_sections(self.level.problem, self.state, self.level.sections)
        return 2 * sections["rim_plane"].head

    @cached_property
    def figures(self) -> dict[str, float]:
        """Pressure drops and what else follows from the sections, as in a flow rate's record."""
        return scaled_figures(self.level.problem, self.state, self.level.sections)

    @property
    def by_place(self) -> float:
        """Derivative of the whole drop by the logarithm of the distance to transition."""
        return 2 * (self.level.problem.by_transition(self.state) or 0.0)


def solve_ladder(
    bore: Bore,
    model: str,
    reynolds: Sequence[float],
    directory: Path,
    name: str,
    inlet: Inlet = "uniform",
    resolution: str = "medium",
    levels: int = 2,
    stretch: float | None = None,
    refuse: bool = True,
) -> list[list[FlowOnMesh]]:
    """Mesh a bore and solve its flow at rising throat Reynolds numbers.

    Parameters
    ----------
    bore : Bore
        What is solved; the families have bores of throat diameter 1.
    model : {"estimate", "laminar", "turbulent"}
        Model of the flow; a mesh with a layer is made for the highest Reynolds number.
    reynolds : sequence of float
        Rising throat Reynolds numbers.
    directory, name : Path, str
        Where the mesh files go, and what they begin with.
    inlet : {"uniform", "developed"}
        Velocity profile over the rim plane.
    resolution : {"coarse", "medium", "fine"}
        A study's word for its meshes.
    levels : int
        Number of meshes; a study has two.
    stretch : float, optional
        How much longer than wide triangles downstream of the throat are, if not as a study's.
    refuse : bool
        Whether to fail where there is no steady solution.

    Returns
    -------
    list of list of FlowOnMesh
        One list for each Reynolds number, with a solution for each mesh, coarsest first; empty
        where a mesh has no steady solution.

    Raises
    ------
    RuntimeError
        Naming the Reynolds number without a steady solution, where that is to be refused.
    """
    meshes = ladder_meshes(bore, model, max(reynolds), directory, name, resolution, levels, stretch)
    chosen = followed(bore) if model == "estimate" else model_of(model, bore)
    return solve_meshes(meshes, bore, chosen, reynolds, name, inlet, refuse)


def ladder_meshes(
    bore: Bore,
    model: str,
    reynolds: float,
    directory: Path,
    name: str,
    resolution: str = "medium",
    levels: int = 2,
    stretch: float | None = None,
) -> list[MeshTri2]:
    """The meshes of `solve_ladder`, coarsest first, for Reynolds numbers up to one."""
    preset = PRESETS[model]
    if preset.layer is not None:
        preset = turbulent(reynolds, preset=preset)
    if stretch is not None:
        preset = replace(preset, stretch=stretch)
    paths = [directory / f"{name}-{model}-{level}.msh" for level in range(levels)]
    write_meshes(bore, paths, preset.at(resolution))
    return [read_mesh(path) for path in paths]


def solve_meshes(
    meshes: Sequence[MeshTri2],
    bore: Bore,
    model: Model,
    reynolds: Sequence[float],
    name: str,
    inlet: Inlet = "uniform",
    refuse: bool = True,
) -> list[list[FlowOnMesh]]:
    """The flow on meshes that are there, as `solve_ladder` gives it and with its errors."""
    solved = solve_levels(model, meshes, 2 * bore.throat_radius, inlet, reynolds)
    found: list[list[FlowOnMesh]] = []
    for index, number in enumerate(reynolds):
        steady = all(level.states[index] is not None for level in solved)
        if refuse and not steady:
            raise RuntimeError(f"{name}: no steady solution at Reynolds number {number:.0f}")
        found.append([FlowOnMesh(level, level.state(index)) for level in solved] if steady else [])
    return found


class Followed(Estimate):
    """The best estimate, found in shorter steps, as a square edge in a wide pipe needs."""

    near_steps: ClassVar[Steps] = replace(Estimate.near_steps, first_cfl=10.0)
    path: ClassVar[continuation.Path] = replace(
        Estimate.path, first_step=0.2, longest_step=0.2, shortest_step=0.04
    )


def followed(bore: Bore) -> Followed:
    """The best estimate of a bore, found by following it."""
    model = model_of("estimate", bore)
    assert isinstance(model, Estimate)
    return Followed(onset=model.onset)


def quantity_of(ladder: Sequence[float], unit: str = "") -> Quantity:
    """A figure from its values on the meshes, coarsest first; one mesh gives no uncertainty."""
    error = float(grid_uncertainty(np.array(ladder))) if len(ladder) > 1 else None
    return Quantity(ladder[-1], error, unit, tuple(ladder))
