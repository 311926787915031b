"""Any model's flow: at one Reynolds number, along the branch, and on a ladder of meshes."""

import logging
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from skfem import MeshTri2

from borestudy.fem import Floats, continuation
from borestudy.fem.newton import Steps, iterate, refined_solve

from .boundary import SCALED_FLUX, Inlet, boundary_values, inlet_profile
from .discretisation import Discretisation, discretise
from .edges import EdgeTables
from .goal_error import GoalError, goal_error
from .interpolation import transfer
from .model import Model
from .observables.lines import Wall, wall_line
from .observables.sections import RIM_PLANE, THROAT_END, section_tables
from .problem import Problem, State, filled
from .sensitivity.goals import Goals, goals
from .sensitivity.slopes import Variations

logger = logging.getLogger(__name__)


@dataclass(frozen=True)
class Level:
    """One mesh's problem with its states.

    Attributes
    ----------
    problem : Problem
    reynolds : tuple of float
    states : list of State or None
        One for each of those Reynolds numbers; None where there is no solution on this mesh, or
        where none was wanted.
    sections : dict of str to EdgeTables
        The rim plane, the end of each part and the shank end, in order downstream.
    wall : Wall
    goal_error : GoalError
        Estimator of a state's pressure drop by dual-weighted residuals.
    steps, failed_steps : int
        Newton steps in all, and steps along the branch that had to be shortened.
    seconds : float
        Time that this mesh took.
    motion : ndarray or None
        How its nodes move with each dimension: see `Variations.motion`.
    """

    problem: Problem
    reynolds: tuple[float, ...]
    states: list[State | None]
    sections: dict[str, EdgeTables]
    wall: Wall
    goal_error: GoalError
    steps: int
    failed_steps: int
    seconds: float
    motion: Floats | None = None

    def state(self, index: int) -> State:
        """The state of that number.

        Raises
        ------
        RuntimeError
            If there is none.
        """
        found = self.states[index]
        if found is None:
            raise RuntimeError(f"no steady solution at Reynolds number {self.reynolds[index]:.0f}")
        return found


def solve_at(
    problem: Problem,
    start: Floats,
    reynolds: float,
    how: Steps,
    adjoint: bool = False,
    goals: Goals | None = None,
) -> State | None:
    """Solve at one Reynolds number from a start, on request with the adjoint; None if in vain.

    Prescribed values are set in the start, of shape (unknowns,); `how` is the model's `steps` or
    `near_steps`.  With `goals` the state has their derivatives by the mesh, for which it needs the
    adjoint.
    """
    found = iterate(problem, problem.with_boundary_values(start), reynolds, how)
    if not found.converged:
        logger.info("Reynolds number %.0f: residual %.2g after %d steps, not converged",
                    reynolds, max(found.sizes), found.steps)  # fmt: skip
        return None
    unknowns, free = found.unknowns, problem.free
    form = goals.form(unknowns, reynolds) if goals is not None and adjoint else None
    entries = problem.entries(unknowns, reynolds, known=form.derivatives if form else None)
    matrix = filled(problem.pattern, entries)
    factors = found.factors or problem.factorise(matrix)
    tangent = np.zeros_like(unknowns)
    # in units of throat velocity and of ν prescribed values do not depend on the flow rate
    change = problem.residual_slope(unknowns, reynolds, tangent)
    tangent[free] = refined_solve(problem, matrix, factors, -change[free])
    weight = None
    if adjoint:
        # the stream's velocity over its flux at the rim plane, and inside what makes Jᵀz zero
        weight = np.zeros_like(unknowns)
        weight[problem.rim] = unknowns[problem.rim] / SCALED_FLUX
        load = -(filled(problem.rim_pattern, entries).T @ weight[problem.rim])
        if goals is not None:
            load -= goals.beyond_work(unknowns)[free]
        weight[free] = refined_solve(problem, matrix, factors, load, transposed=True)
    size = max(found.sizes)
    state = State(reynolds, unknowns, tangent, found.steps, found.factorisations, size, weight)
    if goals is None or form is None:
        return state

    def solve(load: Floats, tolerance: float) -> Floats:
        return refined_solve(problem, matrix, factors, load, True, tolerance)

    return replace(state, by_shape=goals.by_shape(state, form, solve))


def follow(
    model: Model,
    problem: Problem,
    reynolds: Sequence[float],
    starts: Sequence[Floats | None] | None = None,
    adjoint: bool = False,
    goals: Goals | None = None,
) -> continuation.Branch[State]:
    """Solve at each Reynolds number in rising order.

    Parameters
    ----------
    model, problem : Model, Problem
        The equations and how they are solved, and the equations on a mesh.
    reynolds : sequence of float
        Rising throat Reynolds numbers.
    starts : sequence of ndarray or None, optional
        A start of shape (unknowns,) for each, as interpolated from a coarser mesh.
    adjoint : bool
        Whether each state has its adjoint.
    goals : Goals, optional
        Figures whose derivatives by the mesh each state has as well.
    """

    def solve(start: Floats | None, at: float, asked: bool) -> State | None:
        how = model.steps if start is None else model.near_steps
        begin = model.own_start(problem, at) if start is None else model.admissible(problem, start)
        if begin is None:
            return None
        return solve_at(problem, begin, at, how, adjoint and asked, goals if asked else None)

    walk = continuation.Branch(solve, model.beginnings, model.path, model.near)
    walk.follow(reynolds, starts or [None] * len(reynolds))
    for number, state in zip(reynolds, walk.points, strict=True):
        if state is None:
            logger.warning("%s flow at Reynolds number %.0f did not converge", model.name, number)
    return walk


def prepare(model: Model, mesh: MeshTri2, diameter: float, inlet: Inlet) -> Problem:
    """A model's problem on a mesh in metres, scaled by the throat's diameter [m]."""
    space = discretise(mesh, diameter)
    profile = inlet_profile(inlet, rim_radius(space))
    return model.problem(space, boundary_values(space, profile))


def solve_levels(
    model: Model,
    meshes: Sequence[MeshTri2],
    diameter: float,
    inlet: Inlet,
    reynolds: Sequence[float],
    coarser: Level | None = None,
) -> list[Level]:
    """Solve at every Reynolds number on every mesh, coarsest first.

    Parameters
    ----------
    model : Model
        Model of the flow.
    meshes : sequence of skfem.MeshTri2
        Meshes in metres, coarsest first.
    diameter : float
        Throat diameter [m].
    inlet : {"uniform", "developed"}
        Velocity profile over the rim plane.
    reynolds : sequence of float
        Rising throat Reynolds numbers.
    coarser : Level, optional
        Level of another mesh, from which the first of these starts.
    """
    levels: list[Level] = []
    for mesh in meshes:
        coarser = next_level(model, coarser, mesh, diameter, inlet, reynolds)
        levels.append(coarser)
    return levels


def next_level(
    model: Model,
    coarser: Level | None,
    mesh: MeshTri2,
    diameter: float,
    inlet: Inlet,
    reynolds: Sequence[float],
    wanted: Sequence[bool] | None = None,
    variations: Variations | None = None,
) -> Level:
    """Solve on one more mesh, from what the mesh before it gave.

    Parameters
    ----------
    model, mesh, diameter, inlet, reynolds
        See `solve_levels`.
    coarser : Level or None
        The mesh before; None for the first.
    wanted : sequence of bool, optional
        Which of the Reynolds numbers are solved at, by default all; others have no state here.
    variations : Variations, optional
        Dimensions of the bore that derivatives are wanted by.
    """
    begin = time.perf_counter()
    wanted = wanted or [True] * len(reynolds)
    problem = prepare(model, mesh, diameter, inlet)
    chosen = [index for index, w in enumerate(wanted) if w]
    starts: list[Floats | None] = [None] * len(chosen)
    if coarser is not None:
        starts = carried(coarser, problem.space, chosen)
    space = problem.space
    sections, wall, estimator = section_tables(space), wall_line(space), goal_error(problem)
    aims, motion = None, None
    if variations is not None:
        aims = goals(problem, sections[RIM_PLANE], sections.get(THROAT_END))
        motion = variations.motion(mesh)
    numbers = [reynolds[index] for index in chosen]
    branch = follow(model, problem, numbers, starts, adjoint=True, goals=aims)
    states: list[State | None] = [None] * len(reynolds)
    for index, state in zip(chosen, branch.points, strict=True):
        states[index] = state
    return Level(
        problem,
        tuple(reynolds),
        states,
        sections,
        wall,
        estimator,
        branch.steps,
        branch.failed_steps,
        time.perf_counter() - begin,
        motion,
    )


def rim_radius(space: Discretisation) -> float:
    """Scaled radius of the rim plane."""
    dofs = space.velocity_basis.get_dofs("rim_plane").flatten()
    return float(space.velocity_basis.doflocs[1, dofs].max())


def end_of(problem: Problem) -> float:
    """Scaled distance of the shank end from the rim plane."""
    return float(problem.space.mesh.doflocs[0].max())


def carried(coarser: Level, space: Discretisation, chosen: Sequence[int]) -> list[Floats | None]:
    """Another mesh's states of those numbers on this one; None where it has none."""
    states = [coarser.states[index] for index in chosen]
    solved = [state.unknowns for state in states if state is not None]
    if not solved:
        return [None] * len(states)
    found = iter(transfer(coarser.problem.space, np.array(solved), space))
    return [None if state is None else next(found) for state in states]
