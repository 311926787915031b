"""One bore's flow on a ladder of meshes: the branch on the coarsest, each next mesh from it."""

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from skfem import MeshTri2

from .boundary import Inlet, boundary_values, inlet_profile
from .branch import Branch, follow_from
from .discretisation import Discretisation, discretise
from .edges import EdgeTables
from .goal_error import GoalError, goal_error
from .interpolation import transfer
from .measures import section_tables
from .newton import Problem, problem

#: Grad-div parameter over throat velocity times diameter.  On a fine mesh the pressure drop does
#: not depend on it; with 2 the mass flux through interior sections is exact to 1e-6 up to a throat
#: Reynolds number of 7000, with 1 to twice that, without to 2e-5.
GRAD_DIV = 2.0


@dataclass(frozen=True)
class Level:
    """One mesh's problem with its solved branch."""

    task: Problem
    branch: Branch
    sections: dict[str, EdgeTables]
    goal_error: GoalError
    seconds: float


def solve_levels(
    meshes: Sequence[MeshTri2], diameter: float, inlet: Inlet, reynolds: Sequence[float]
) -> list[Level]:
    """Solve at every Reynolds number on every mesh, coarsest first.

    Parameters
    ----------
    meshes : sequence of skfem.MeshTri2
        In metres.
    diameter : float
        Of the throat [m].
    inlet : {"uniform", "developed"}
        Velocity profile over the rim plane.
    reynolds : sequence of float
        Rising throat Reynolds numbers.
    """
    levels: list[Level] = []
    for mesh in meshes:
        levels.append(next_level(levels, mesh, diameter, inlet, reynolds, [True] * len(reynolds)))
    return levels


def next_level(
    levels: Sequence[Level],
    mesh: MeshTri2,
    diameter: float,
    inlet: Inlet,
    reynolds: Sequence[float],
    wanted: Sequence[bool],
) -> Level:
    """Solve on one more mesh, from what the coarser ones gave.

    Parameters
    ----------
    levels : sequence of Level
        Coarser ones, coarsest first; none for the first mesh.
    mesh, diameter, inlet, reynolds
        As for `solve_levels`.
    wanted : sequence of bool
        Which of the Reynolds numbers are solved at; the others have no state on this level.
    """
    begin = time.perf_counter()
    space = discretise(mesh, diameter)
    profile = inlet_profile(inlet, rim_radius(space))
    task = problem(space, boundary_values(space, profile), GRAD_DIV)
    starts = _starts(levels, space, wanted)
    chosen = [number for number, w in zip(reynolds, wanted, strict=True) if w]
    branch = follow_from(task, starts, chosen, adjoint=True)
    solved = iter(branch.states)
    states = [next(solved) if w else None for w in wanted]
    sections, estimator = section_tables(space), goal_error(task)
    seconds = time.perf_counter() - begin
    return Level(task, replace(branch, states=states), sections, estimator, seconds)


def rim_radius(space: Discretisation) -> float:
    """Scaled radius of the rim plane."""
    dofs = space.velocity_basis.get_dofs("rim_plane").flatten()
    return float(space.velocity_basis.doflocs[1, dofs].max())


def _starts(
    levels: Sequence[Level], space: Discretisation, wanted: Sequence[bool]
) -> list[NDArray[np.float64] | None]:
    """The next coarser mesh's wanted states, carried over; None where it has none."""
    if not levels:
        return [None] * sum(wanted)
    coarser = levels[-1]
    states = [state for state, w in zip(coarser.branch.states, wanted, strict=True) if w]
    solved = [state.unknowns for state in states if state is not None]
    if not solved:
        return [None] * len(states)
    carried = iter(transfer(coarser.task.space, np.array(solved), space))
    return [None if state is None else next(carried) for state in states]
