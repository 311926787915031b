"""One bore's turbulent flow on a ladder of meshes, each from the one before, at rising rates."""

import logging
import time
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from skfem import MeshTri2

from borestudy.flow.boundary import BoundaryValues, Inlet, boundary_values, inlet_profile
from borestudy.flow.discretisation import discretise, inlet_edge_distance
from borestudy.flow.edges import EdgeTables
from borestudy.flow.interpolation import locate, transfer
from borestudy.flow.levels import rim_radius
from borestudy.flow.measures import section_tables
from borestudy.flow.regime import LOWEST_TURBULENT

from .problem import INFLOW, ClosureProblem, closure_problem
from .space import CoupledSpace, couple
from .steady import ClosureState, plateau_start, solve_steady

logger = logging.getLogger(__name__)

Start = Literal["previous", "plateau"]
#: Pseudo-time step, in element transit times, from a start that is near.
NEAR_CFL = 1e3
#: Where a start from nothing fails: a flow this much slower is tried.
SLOWER = 0.6


@dataclass(frozen=True)
class ClosureLevel:
    """One mesh's problem with its states, one for each Reynolds number, converged or not."""

    task: ClosureProblem
    boundary: BoundaryValues
    states: list[ClosureState]
    sections: dict[str, EdgeTables]
    seconds: float


def prepare(
    mesh: MeshTri2, diameter: float, inlet: Inlet, inflow: float = INFLOW
) -> tuple[ClosureProblem, BoundaryValues]:
    """A mesh in metres as a problem scaled by the throat's diameter [m]."""
    flow = discretise(mesh, diameter)
    boundary = boundary_values(flow, inlet_profile(inlet, rim_radius(flow)))
    space = couple(flow, inlet_edge_distance(flow.velocity_basis) if inlet == "uniform" else None)
    return closure_problem(space, boundary, inflow), boundary


def solve_closure_levels(
    meshes: Sequence[MeshTri2],
    diameter: float,
    inlet: Inlet,
    reynolds: Sequence[float],
    start: Start = "previous",
    inflow: float = INFLOW,
    before: ClosureLevel | None = None,
) -> list[ClosureLevel]:
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
    start : {"previous", "plateau"}
        Whether a rate starts from the rate before (and a mesh from the mesh before), or each
        anew from slow laminar flow with a plateau of eddy viscosity.
    inflow : float
        Working variable over ν at the rim plane.
    before : ClosureLevel, optional
        Solved on another mesh, from which the first of these starts.
    """
    levels: list[ClosureLevel] = []
    for mesh in meshes:
        begin = time.perf_counter()
        task, boundary = prepare(mesh, diameter, inlet, inflow)
        states: list[ClosureState] = []
        for index, wanted in enumerate(reynolds):
            near = None
            if start == "previous":
                near = _near(before, states, index, task.space, wanted)
            states.append(solve_one(task, boundary, wanted, near))
        seconds = time.perf_counter() - begin
        before = ClosureLevel(task, boundary, states, section_tables(task.space.flow), seconds)
        levels.append(before)
    return levels


def solve_one(
    task: ClosureProblem,
    boundary: BoundaryValues,
    reynolds: float,
    near: NDArray[np.float64] | None = None,
) -> ClosureState:
    """Solve from a near start if that leads anywhere, else from a plateau of eddy viscosity.

    Where the plateau leads nowhere either, a slower flow is solved first and the branch followed up
    from it.
    """
    if near is not None:
        state = solve_steady(task, near, reynolds, first_cfl=NEAR_CFL)
        if state.converged:
            return state
        logger.warning("at Reynolds number %.0f the near start did not serve", reynolds)
    state = solve_steady(task, plateau_start(task, boundary, reynolds), reynolds)
    slower = SLOWER * reynolds
    if state.converged or slower < LOWEST_TURBULENT:
        return state
    logger.warning("at Reynolds number %.0f the plateau did not serve", reynolds)
    below = solve_one(task, boundary, slower)
    if not below.converged:
        return state
    return solve_steady(task, along_branch(task.space, below, reynolds), reynolds)


def _near(
    before: ClosureLevel | None,
    states: list[ClosureState],
    index: int,
    space: CoupledSpace,
    reynolds: float,
) -> NDArray[np.float64] | None:
    """The mesh before at this rate, or this mesh at the rate before."""
    if before is not None and before.states[index].converged:
        return carried(before.task.space, before.states[index].unknowns, space)
    return along_branch(space, states[-1], reynolds) if states and states[-1].converged else None


def along_branch(space: CoupledSpace, state: ClosureState, reynolds: float) -> NDArray[np.float64]:
    """Unknowns expected at another Reynolds number, along the tangent of a solution.

    The flow changes with the logarithm of the Reynolds number; the working variable, an eddy
    viscosity over the fluid's own, in proportion to it.
    """
    expected = state.unknowns + state.reynolds * np.log(reynolds / state.reynolds) * state.tangent
    behind = space.working(state.unknowns) + (reynolds - state.reynolds) * space.working(
        state.tangent
    )
    space.working(expected)[:] = np.maximum(behind, 0)
    return expected


def carried(
    source: CoupledSpace, unknowns: NDArray[np.float64], target: CoupledSpace
) -> NDArray[np.float64]:
    """Unknowns of one mesh on another."""
    flow, vertices = source.flow, target.flow.pressure_basis
    element, local = locate(flow, vertices.doflocs)
    shares = np.stack([1 - local[0] - local[1], local[0], local[1]])
    values = source.working(unknowns)[flow.pressure_basis.element_dofs[:, element]]
    behind = np.maximum(np.sum(values * shares, axis=0), 0)
    return np.concatenate([transfer(flow, unknowns[None, : flow.unknowns], target.flow)[0], behind])
