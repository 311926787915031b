"""One bore's flow on a ladder of meshes: the branch on the coarsest, each next mesh from it."""

import time
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from skfem import MeshTri2

from .boundary import Inlet, boundary_values, inlet_profile
from .branch import Branch, follow_branch, follow_from
from .discretisation import Discretisation, discretise
from .edges import EdgeTables
from .interpolation import transfer
from .measures import section_tables
from .newton import Problem, problem

#: Grad-div parameter over throat velocity times diameter.  On a fine mesh the pressure drop does
#: not depend on it; at 1 the coarser meshes' error above Reynolds numbers of 4000 halves and the
#: mass flux through interior sections is ten times more exact than without.
GRAD_DIV = 1.0


@dataclass(frozen=True)
class Level:
    """One mesh's problem with its solved branch."""

    task: Problem
    branch: Branch
    sections: dict[str, EdgeTables]
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
        begin = time.perf_counter()
        space = discretise(mesh, diameter)
        profile = inlet_profile(inlet, rim_radius(space))
        task = problem(space, boundary_values(space, profile), GRAD_DIV)
        if levels:
            branch = follow_from(task, _starts(levels[-1], space), reynolds)
        else:
            branch = follow_branch(task, reynolds)
        seconds = time.perf_counter() - begin
        levels.append(Level(task, branch, section_tables(space), seconds))
    return levels


def rim_radius(space: Discretisation) -> float:
    """Scaled radius of the rim plane."""
    dofs = space.velocity_basis.get_dofs("rim_plane").flatten()
    return float(space.velocity_basis.doflocs[1, dofs].max())


def _starts(coarser: Level, space: Discretisation) -> list[NDArray[np.float64] | None]:
    """A coarser mesh's states, carried over; None where it has none."""
    solved = [state.unknowns for state in coarser.branch.states if state is not None]
    if not solved:
        return [None] * len(coarser.branch.states)
    carried = iter(transfer(coarser.task.space, np.array(solved), space))
    return [None if state is None else next(carried) for state in coarser.branch.states]
