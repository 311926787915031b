"""The Spalart–Allmaras model with its options."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import ClassVar
from weakref import WeakKeyDictionary

import numpy as np

from borestudy.fem import Floats
from borestudy.fem.continuation import Path
from borestudy.fem.newton import Steps, iterate
from borestudy.flow.boundary import BoundaryValues
from borestudy.flow.discretisation import Discretisation
from borestudy.flow.model import Model
from borestudy.flow.models.laminar import Laminar, creeping_flow
from borestudy.flow.problem import Problem, problem_of
from borestudy.flow.regime import LOWEST_TURBULENT

from .equations import CoupledEquations, coupled_equations
from .onset import Onset

#: Reynolds number of the laminar flow that a start is made of, and how well it is solved.
LAMINAR_START = 100.0
LAMINAR_STEPS = replace(Laminar.steps, tolerance=1e-3)
#: Distance from the wall over which the first guess of the working variable rises.
PLATEAU_DISTANCE = 0.1
#: Where a start from nothing fails: a flow this much slower is tried.
SLOWER = 0.6
#: The laminar flow that starts are made of, once for all rates on a mesh.
_SLOW_FLOWS: WeakKeyDictionary[Problem, Floats | None] = WeakKeyDictionary()


@dataclass(frozen=True)
class SpalartAllmaras(Model):
    """Fully turbulent mean flow, one working variable.

    `inflow` is the working variable over ν in the air that comes in (Spalart & Rumsey 2007, AIAA
    J. 45, 2544: 3 to 5, the least from which the model is turbulent everywhere).
    """

    inflow: float = 3.0
    onset: Onset | None = None

    name: ClassVar[str] = "turbulent"
    lowest_reynolds: ClassVar[float] = LOWEST_TURBULENT
    steps: ClassVar[Steps] = Steps(
        tolerance=1e-8, factorisations=45, greatest_growth=30.0, longest=0.5, first_cfl=5.0
    )
    #: From a near start one light step and then Newton's own: one factorisation less than from 1e3.
    near_steps: ClassVar[Steps] = replace(steps, first_cfl=1e4)
    path: ClassVar[Path] = Path(first_step=np.inf, longest_step=np.inf, shortest_step=0.25)

    def problem(self, space: Discretisation, boundary: BoundaryValues) -> Problem:
        """The equations on a mesh; χ is 0 on walls, leaves without gradient at the shank end."""
        vertices = space.pressure_basis
        rim, wall = (vertices.get_dofs(name).flatten() for name in ("rim_plane", "wall"))
        working = np.zeros(vertices.N)
        working[rim] = self.inflow
        working[wall] = 0
        inside = np.setdiff1d(np.arange(vertices.N), np.union1d(rim, wall))
        whole = BoundaryValues(
            np.concatenate([boundary.values, working]),
            np.concatenate([boundary.free, space.unknowns + inside]),
            boundary.free_outlet,
        )
        return problem_of(space, coupled_equations(space, self.grad_div, self.onset), whole)

    def beginnings(self, reynolds: float) -> Sequence[float]:
        found = [reynolds]
        while SLOWER * found[-1] >= self.lowest_reynolds:
            found.append(SLOWER * found[-1])
        return found

    def own_start(self, problem: Problem, reynolds: float) -> Floats | None:
        """Laminar flow at Reynolds number 100 with as much eddy viscosity as makes it that."""
        if problem not in _SLOW_FLOWS:
            _SLOW_FLOWS[problem] = slow_flow(problem)
        slow = _SLOW_FLOWS[problem]
        return None if slow is None else with_plateau(problem, slow, reynolds)

    def admissible(self, problem: Problem, unknowns: Floats) -> Floats:
        """The same with no working variable below 0."""
        count = problem.space.unknowns
        flow, working = unknowns[:count], np.maximum(unknowns[count:], 0)
        return problem.with_boundary_values(np.concatenate([flow, working]))


def slow_flow(problem: Problem) -> Floats | None:
    """Velocity and pressure of laminar flow at Reynolds number 100; None where it is not found."""
    count, whole = problem.space.unknowns, problem.boundary
    flow = BoundaryValues(whole.values[:count], whole.free[whole.free < count], whole.free_outlet)
    laminar = Laminar(grad_div=0.0).problem(problem.space, flow)
    slow = iterate(laminar, creeping_flow(laminar, LAMINAR_START), LAMINAR_START, LAMINAR_STEPS)
    return slow.unknowns if slow.converged else None


def with_plateau(problem: Problem, laminar: Floats, reynolds: float) -> Floats:
    """A laminar flow and a plateau of the working variable that falls to 0 at the walls."""
    space, equations = problem.space, problem.equations
    assert isinstance(equations, CoupledEquations)
    near = np.full(space.pressure_basis.N, np.inf)
    corners = space.pressure_basis.element_dofs
    np.minimum.at(near, corners, equations.points.distance.min(axis=1)[None])
    working = reynolds / LAMINAR_START * np.minimum(1, near / PLATEAU_DISTANCE)
    return problem.with_boundary_values(np.concatenate([laminar[: space.unknowns], working]))
