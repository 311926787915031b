"""Newton's method on one mesh at one Reynolds number, with the exact derivative."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from borestudy.fem.sparse import Solve, factoriser

from .boundary import BoundaryValues
from .discretisation import Discretisation

#: Relative size of the residual at which a solution is taken as converged.
TOLERANCE = 1e-9
#: A residual that has grown by this much since the start means the step was too long.
DIVERGED = 1e3
STEPS = 12
#: Where a step made the residual this many times smaller, its factors serve the next step too.
REUSE = 1e-3


class NotConverged(Exception):
    """Newton's method did not reach its tolerance."""


@dataclass(frozen=True)
class FlowState:
    """A converged flow.

    Attributes
    ----------
    reynolds : float
        Throat Reynolds number.
    unknowns : ndarray, shape (unknowns,)
    tangent : ndarray, shape (unknowns,)
        Derivative of `unknowns` by the Reynolds number along the branch.
    residual : float
        Norm of what is left of the weak form over the norm of its pressure term.
    steps : int
        Newton steps that were taken.
    """

    reynolds: float
    unknowns: NDArray[np.float64]
    tangent: NDArray[np.float64]
    residual: float
    steps: int


@dataclass(frozen=True)
class Problem:
    """One mesh with its boundary values, and its matrix pattern over the free unknowns alone."""

    space: Discretisation
    boundary: BoundaryValues
    stabilisation: float
    pattern: sparse.csc_matrix
    factorise: Callable[[sparse.csc_matrix], Solve]

    def matrix(
        self, unknowns: NDArray[np.float64], reynolds: float, inertia: float = 1.0
    ) -> sparse.csc_matrix:
        """Derivative of the residual over the free unknowns."""
        data = self.space.jacobian_data(unknowns, reynolds, self.stabilisation, inertia)
        pattern = self.pattern
        return sparse.csc_matrix(
            (data[pattern.data], pattern.indices, pattern.indptr), shape=pattern.shape
        )

    def residual(
        self, unknowns: NDArray[np.float64], reynolds: float, inertia: float = 1.0
    ) -> NDArray[np.float64]:
        """Residual over the free unknowns."""
        whole = self.space.residual(unknowns, reynolds, self.stabilisation, inertia)
        return whole[self.boundary.free]


def problem(space: Discretisation, boundary: BoundaryValues, stabilisation: float = 0.0) -> Problem:
    """Take the prescribed unknowns out of the pattern, once for all Newton steps."""
    free = boundary.free
    pattern = space.pattern[free][:, free].tocsc()
    pattern.sort_indices()
    factorise = factoriser(pattern, kind="saddle point")
    return Problem(space, boundary, stabilisation, pattern, factorise)


def creeping_flow(task: Problem, reynolds: float) -> NDArray[np.float64]:
    """The flow without inertia: linear, one solve."""
    unknowns = task.boundary.values.copy()
    solve = task.factorise(task.matrix(unknowns, reynolds, inertia=0.0))
    residual = task.residual(unknowns, reynolds, inertia=0.0)
    unknowns[task.boundary.free] -= solve(residual)
    return unknowns


def newton(
    task: Problem, start: NDArray[np.float64], reynolds: float, steps: int = STEPS
) -> FlowState:
    """Solve at one Reynolds number from a start that is near enough.

    A step after one that gained three digits re-uses its factors: the derivative has hardly
    changed, and a triangular solve costs a twentieth of a factorisation.

    Raises
    ------
    NotConverged
        If the residual grows without bound or does not reach the tolerance in `steps` steps.
    """
    unknowns = start.copy()
    fixed = np.setdiff1d(np.arange(len(unknowns)), task.boundary.free)
    unknowns[fixed] = task.boundary.values[fixed]
    residual = task.residual(unknowns, reynolds)
    first = previous = float(np.linalg.norm(residual))
    solve: Solve | None = None
    gain = 1.0
    for step in range(steps + 1):
        size = np.linalg.norm(residual) / _pressure_term(task, unknowns)
        if size < TOLERANCE:
            if solve is None:
                solve = task.factorise(task.matrix(unknowns, reynolds))
            tangent = _tangent(task, unknowns, reynolds, solve)
            return FlowState(reynolds, unknowns, tangent, float(size), step)
        if solve is None or gain > REUSE:
            solve = task.factorise(task.matrix(unknowns, reynolds))
        unknowns[task.boundary.free] -= solve(residual)
        residual = task.residual(unknowns, reynolds)
        now = float(np.linalg.norm(residual))
        if not np.isfinite(now) or now > DIVERGED * max(first, 1e-30):
            break
        gain, previous = now / previous, now
    raise NotConverged(f"Newton's method stopped at Reynolds number {reynolds:.0f}")


def _pressure_term(task: Problem, unknowns: NDArray[np.float64]) -> float:
    term = task.space.divergence.T @ task.space.pressure(unknowns)
    inner = task.boundary.free[task.boundary.free < len(term)]
    return float(np.linalg.norm(term[inner])) or 1.0


def _tangent(
    task: Problem, unknowns: NDArray[np.float64], reynolds: float, solve: Callable
) -> NDArray[np.float64]:
    """Derivative by the Reynolds number: J u' = (1/Re²) A u, with boundary values that stay."""
    space = task.space
    change = np.zeros(space.unknowns)
    change[: 2 * space.nodes] = space.viscous @ unknowns[: 2 * space.nodes] / reynolds**2
    tangent = np.zeros(space.unknowns)
    tangent[task.boundary.free] = solve(change[task.boundary.free])
    return tangent
