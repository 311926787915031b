"""Newton's method for a nonlinear system with one parameter, with pseudo-transient steps if asked.

Each step solves with the exact derivative and a pseudo-time term, whose step grows until the term
is gone; the term is in the matrix alone, never in the residual that has to vanish (Kelley & Keyes
1998, SIAM J. Numer. Anal. 35, 508).  Newton's own method is the one whose first step is infinite.
"""

import logging
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np
from scipy import sparse

from borestudy.fem import Floats, Ints

from .krylov import gmres
from .sparse import Factors

logger = logging.getLogger(__name__)

#: Where a step made the residual this small a share of what it was, its factors serve the next too:
#: twenty to thirty triangular solves cost one factorisation.
REUSE = 0.2
#: Growth of the pseudo-time step from step to step, the more the faster the residual falls.
CFL_GROWTH, MOST_SPEED_UP = 2.0, 5.0
#: Where a step is refused the next is this many times shorter, down to the least there is.
SHORTENED, SHORTEST_CFL = 4.0, 0.05
#: Share of the residual that the linear solve of a step may leave.
STEP_TOLERANCE = 0.05
#: Relative size of what a linear solve with old factors may leave, and most solves with them.
LINEAR_TOLERANCE, LINEAR_STEPS = 1e-6, 12


class System(Protocol):
    """Equations R(u; λ) = 0 over some free unknowns, the others being prescribed."""

    @property
    def free(self) -> Ints: ...

    def residual(self, unknowns: Floats, parameter: float) -> Floats:
        """Residual R against every test function."""

    def sizes(self, residual: Floats, unknowns: Floats) -> tuple[float, ...]:
        """Norms of the residual's parts, each over the scale of its equation."""

    def change_size(self, change: Floats) -> float:
        """Size of a step, of which `Steps.longest` is a bound."""

    def inverse_step(self, unknowns: Floats, cfl: float) -> Floats | None:
        """Reciprocal pseudo-time step of each element; None where it is too long to matter."""

    def matrix(
        self, unknowns: Floats, parameter: float, inverse_step: Floats | None = None
    ) -> sparse.csc_matrix:
        """Derivative of the residual over the free unknowns, with the pseudo-time term."""

    def factorise(self, matrix: sparse.csc_matrix) -> Factors: ...


@dataclass(frozen=True)
class Steps:
    """How the iteration goes.

    Attributes
    ----------
    tolerance : float
        Relative size of the residual at which a solution is taken as converged.
    factorisations : int
        Most of them.
    greatest_growth : float
        Greatest residual growth of an accepted step.
    longest : float
        Longest accepted step; a longer one is shortened to it.
    first_cfl : float
        Pseudo-time step to begin with, in element transit times; infinite for Newton's method.
    """

    tolerance: float
    factorisations: int
    greatest_growth: float
    longest: float = np.inf
    first_cfl: float = np.inf


@dataclass(frozen=True)
class Iterate:
    """Where an iteration ended.

    `sizes` are relative sizes of what is left of the residual, `factors` those of a derivative near
    the solution, without a pseudo-time term.
    """

    unknowns: Floats
    sizes: tuple[float, ...]
    steps: int
    factorisations: int
    converged: bool
    factors: Factors | None


def iterate(system: System, start: Floats, parameter: float, how: Steps) -> Iterate:
    """Go from a start to a solution at one parameter.

    Parameters
    ----------
    system : System
        The equations.
    start : ndarray, shape (unknowns,)
        Where to begin, with the prescribed values set.
    parameter : float
        The equations' parameter, which is held.
    how : Steps
        When to stop, and how far a step may go.

    Returns
    -------
    Iterate
        Where it ended, converged or not.
    """
    unknowns = start
    residual = system.residual(unknowns, parameter)
    sizes = system.sizes(residual, unknowns)
    cfl, gain, taken, factorised = how.first_cfl, 1.0, 0, 0
    factors: Factors | None = None
    inverse_step: Floats | None = None
    while max(sizes) > how.tolerance:
        if factors is None or inverse_step is not None or gain > REUSE:
            if factorised == how.factorisations:
                break
            factors = None  # so that two matrices' factors are never held at once
            inverse_step = system.inverse_step(unknowns, cfl)
            factors = system.factorise(system.matrix(unknowns, parameter, inverse_step))
            factorised += 1
        change = np.zeros_like(unknowns)
        change[system.free] = -factors(residual[system.free], tolerance=STEP_TOLERANCE)
        taken += 1
        length = system.change_size(change)
        trial = unknowns + min(1.0, how.longest / max(length, 1e-300)) * change
        trial_residual = system.residual(trial, parameter)
        trial_sizes = system.sizes(trial_residual, trial)
        logger.debug("%d cfl %.3g step %.3g residuals %s", taken, cfl, length, trial_sizes)
        gain = max(trial_sizes) / max(sizes)
        if not np.isfinite(trial_sizes).all() or gain > how.greatest_growth:
            gain, cfl = 1.0, cfl / SHORTENED
            if cfl < SHORTEST_CFL or cfl == np.inf:
                break
            continue
        if length < how.longest:
            faster = sizes[0] / max(trial_sizes[0], 1e-300)
            cfl *= CFL_GROWTH * max(1.0, min(MOST_SPEED_UP, faster))
        unknowns, residual, sizes = trial, trial_residual, trial_sizes
    converged = max(sizes) <= how.tolerance
    steady = factors if inverse_step is None else None
    return Iterate(unknowns, sizes, taken, factorised, converged, steady)


def refined_solve(
    system: Any,
    matrix: sparse.csc_matrix,
    factors: Factors,
    load: Floats,
    transposed: bool = False,
    tolerance: float = LINEAR_TOLERANCE,
) -> Floats:
    """Solve with factors that may be those of a step before, refined against the matrix itself."""
    acting = matrix.T if transposed else matrix
    found = gmres(
        acting,
        lambda remaining: factors(remaining, transposed, STEP_TOLERANCE),
        load,
        tolerance,
        LINEAR_STEPS,
    )
    return system.factorise(matrix)(load, transposed) if found is None else found
