"""Pseudo-transient Newton steps to a solution of the unmodified steady equations.

Each step solves with the exact derivative and a pseudo-time term on velocity and working variable,
whose step grows until the term is gone; the term is in the matrix alone, never in the residual
that has to vanish (Kelley & Keyes 1998, SIAM J. Numer. Anal. 35, 508).
"""

import logging
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from borestudy.fem.sparse import Solve
from borestudy.flow.boundary import BoundaryValues
from borestudy.flow.branch import follow_branch
from borestudy.flow.newton import problem

from .problem import ClosureProblem

logger = logging.getLogger(__name__)

#: Size of the residual, relative to its pressure term and to the working variable's scale, at
#: which a solution is taken as converged.
TOLERANCE = 1e-8
FIRST_CFL, CFL_GROWTH, SHORTEST_CFL = 5.0, 2.0, 0.05
#: Beyond this the pseudo-time term is left out.
STEADY_CFL = 3e4
#: Largest change of a velocity in one step, in throat mean velocities.
VELOCITY_STEP = 0.5
#: Growth of the residual in one step that is not believed to lead anywhere.
BURST = 30.0
STEPS = 45
#: Slowest speed that an element's pseudo-time step is taken with.
LEAST_SPEED = 0.1
#: Where a steady step made the residual this small a share of what it was, its factors serve the
#: next too: a step with them costs a tenth of one with its own.
REUSE = 0.2
LAMINAR_START = 100.0
#: Relative size of what the tangent's equation may leave, and most refinements with old factors.
TANGENT_TOLERANCE, REFINEMENTS = 1e-6, 8
#: Distance from the wall over which the first guess of the working variable rises.
PLATEAU_DISTANCE = 0.1


class ClosureNotConverged(Exception):
    """No steady solution was reached; the last residuals are in the message."""


@dataclass(frozen=True)
class ClosureState:
    """A converged solution, or the last iterate where `converged` is False.

    Attributes
    ----------
    reynolds : float
    unknowns : ndarray, shape (unknowns,)
    tangent : ndarray, shape (unknowns,)
        Derivative of `unknowns` by the Reynolds number on the turbulent branch; zero where
        `converged` is False.
    residuals : (float, float)
        Of the flow relative to its pressure term, and of the working variable to its scale.
    iterations, factorisations : int
        Steps that were taken, and how many of them with factors of their own.
    converged : bool
    """

    reynolds: float
    unknowns: NDArray[np.float64]
    tangent: NDArray[np.float64]
    residuals: tuple[float, float]
    iterations: int
    factorisations: int
    converged: bool


def plateau_start(
    task: ClosureProblem, boundary: BoundaryValues, reynolds: float
) -> NDArray[np.float64]:
    """Laminar flow at Reynolds number 100 with as much eddy viscosity as makes it that."""
    space = task.space
    # the laminar solver has its own factorisation, needed for this start only
    branch = follow_branch(problem(space.flow, boundary, 0.0), [LAMINAR_START])
    laminar = branch.states[0]
    if laminar is None:
        raise ClosureNotConverged("the laminar flow at Reynolds number 100 did not converge")
    return with_plateau(task, laminar.unknowns, reynolds)


def with_plateau(
    task: ClosureProblem, laminar: NDArray[np.float64], reynolds: float
) -> NDArray[np.float64]:
    """A laminar flow and a plateau of the working variable that falls to 0 at the walls."""
    space = task.space
    level = reynolds / LAMINAR_START
    near = np.full(space.flow.pressure_basis.N, np.inf)
    corners = space.flow.pressure_basis.element_dofs
    np.minimum.at(near, corners, space.points.distance.min(axis=1)[None])
    working = level * np.minimum(1, near / PLATEAU_DISTANCE)
    start = np.concatenate([laminar[: space.flow.unknowns], working])
    return with_boundary_values(task, start)


def with_boundary_values(
    task: ClosureProblem, unknowns: NDArray[np.float64]
) -> NDArray[np.float64]:
    """The same with what is prescribed set."""
    values = task.values.copy()
    values[task.free] = unknowns[task.free]
    return values


def solve_steady(
    task: ClosureProblem,
    start: NDArray[np.float64],
    reynolds: float,
    first_cfl: float = FIRST_CFL,
    steps: int = STEPS,
) -> ClosureState:
    """Go from a start to the steady solution at one Reynolds number.

    Parameters
    ----------
    task : ClosureProblem
        What is solved.
    start : ndarray, shape (unknowns,)
        Where the iteration begins; prescribed values are set in it.
    reynolds : float
        Of the throat.
    first_cfl : float
        Pseudo-time step in element transit times to begin with.
    steps : int
        Most factorisations.
    """
    unknowns = with_boundary_values(task, start)
    residual = task.residual(unknowns, reynolds)
    sizes = _sizes(task, residual, unknowns, reynolds)
    cfl, gain, taken, factorised = first_cfl, 1.0, 0, 0
    solve: Solve | None = None
    inverse_step: NDArray[np.float64] | None = None
    while max(sizes) > TOLERANCE and factorised < steps:
        if solve is None or inverse_step is not None or gain > REUSE:
            solve = None  # so that two matrices' factors are never held at once
            inverse_step = _inverse_step(task, unknowns, cfl)
            solve = task.factorise(task.matrix(unknowns, reynolds, inverse_step))
            factorised += 1
        change = np.zeros_like(unknowns)
        change[task.free] = -solve(residual[task.free])
        taken += 1
        velocity = np.abs(change[: 2 * task.space.flow.nodes]).max()
        trial = unknowns + min(1.0, VELOCITY_STEP / max(velocity, 1e-300)) * change
        trial_residual = task.residual(trial, reynolds)
        trial_sizes = _sizes(task, trial_residual, trial, reynolds)
        logger.debug(
            "%d cfl %.3g step %.3g residuals %.3g %.3g", taken, cfl, velocity, *trial_sizes
        )
        gain = max(trial_sizes) / max(sizes)
        if not np.isfinite(trial_sizes).all() or gain > BURST:
            gain, cfl = 1.0, cfl / 4
            if cfl < SHORTEST_CFL:
                break
            continue
        if velocity < VELOCITY_STEP:
            cfl *= CFL_GROWTH * max(1.0, min(5.0, sizes[0] / max(trial_sizes[0], 1e-300)))
        unknowns, residual, sizes = trial, trial_residual, trial_sizes
    converged = max(sizes) <= TOLERANCE
    tangent = np.zeros_like(unknowns)
    if converged:
        steady = solve if inverse_step is None else None
        tangent = branch_tangent(task, unknowns, reynolds, steady)
    return ClosureState(reynolds, unknowns, tangent, sizes, taken, factorised, converged)


def branch_tangent(
    task: ClosureProblem,
    unknowns: NDArray[np.float64],
    reynolds: float,
    solve: Solve | None = None,
) -> NDArray[np.float64]:
    """Derivative of a solution by the Reynolds number: J u' = −∂R/∂Re.

    Prescribed values stay as they are: in units of throat velocity and of ν they do not depend on
    the flow rate.

    Parameters
    ----------
    task : ClosureProblem
        What was solved.
    unknowns, reynolds
        A solution.
    solve : callable, optional
        With factors of the step before, from which the tangent is refined against the derivative
        at hand; without it that derivative is factorised.
    """
    at_rest = np.zeros_like(unknowns)
    target = -task.space.residual_slope(unknowns, reynolds, at_rest)[task.free]
    matrix = task.matrix(unknowns, reynolds)
    if solve is None:
        solve = task.factorise(matrix)
    inner = solve(target)
    for _ in range(REFINEMENTS):
        remaining = target - matrix @ inner
        if np.linalg.norm(remaining) < TANGENT_TOLERANCE * np.linalg.norm(target):
            break
        inner += solve(remaining)
    else:
        inner = task.factorise(matrix)(target)
    tangent = at_rest
    tangent[task.free] = inner
    return tangent


def _inverse_step(
    task: ClosureProblem, unknowns: NDArray[np.float64], cfl: float
) -> NDArray[np.float64] | None:
    if cfl > STEADY_CFL:
        return None
    flow = task.space.flow
    speed = np.hypot(*flow.velocity(unknowns))[flow.velocity_basis.element_dofs].max(axis=0)
    return np.maximum(speed, LEAST_SPEED) / task.element_size / cfl


def _sizes(
    task: ClosureProblem,
    residual: NDArray[np.float64],
    unknowns: NDArray[np.float64],
    reynolds: float,
) -> tuple[float, float]:
    """Norms of the flow's and the working variable's residual over the scale of each."""
    flow = task.space.flow
    inside = task.free[task.free < flow.unknowns]
    behind = task.free[task.free >= flow.unknowns]
    pressure = flow.divergence.T @ flow.pressure(unknowns)[: flow.pressure_basis.N]
    scale = np.linalg.norm(pressure[inside[inside < 2 * flow.nodes]]) or 1.0
    mass = np.bincount(
        task.space.dofs[:, 15:].ravel(),
        np.repeat(task.space.weights.sum(axis=1) / 3, 3),
        minlength=task.space.unknowns,
    )[behind]
    working = np.linalg.norm(mass) * max(np.abs(unknowns[behind]).max(), 1.0)
    return (
        float(np.linalg.norm(residual[inside]) / scale),
        float(np.linalg.norm(residual[behind]) / working),
    )
