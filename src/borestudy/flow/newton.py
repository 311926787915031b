"""Newton's method on one mesh at one Reynolds number, with the exact derivative."""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from borestudy.fem.dissection import nested_dissection
from borestudy.fem.sparse import Solve, factoriser

from .boundary import SCALED_FLUX, BoundaryValues
from .discretisation import Discretisation
from .edges import EdgeTables, edge_tables
from .outlet import outlet_derivative, outlet_residual

#: Relative size of the residual at which a solution is taken as converged.
TOLERANCE = 1e-9
#: A residual that has grown by this much since the start means the step was too long.
DIVERGED = 1e3
#: Most factorisations at one Reynolds number.
STEPS = 12
#: Where a step made the residual this small a share of what it was, its factors serve the next too.
REUSE = 0.2
#: Of the linear solves after the last step.
LINEAR_TOLERANCE, REFINEMENTS = 1e-5, 8


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
    steps, factorisations : int
        Newton steps that were taken, and how many of them with factors of their own.
    adjoint : ndarray, shape (unknowns,)
        By how much the work of the rim plane's traction changes with a unit of residual in each
        equation: the weight of :mod:`borestudy.flow.goal_error`; empty where it
        was not solved for.
    """

    reynolds: float
    unknowns: NDArray[np.float64]
    tangent: NDArray[np.float64]
    residual: float
    steps: int
    factorisations: int
    adjoint: NDArray[np.float64] = field(default_factory=lambda: np.empty(0))


@dataclass(frozen=True)
class Problem:
    """One mesh with its boundary values, and its matrix pattern over the free unknowns alone.

    Attributes
    ----------
    rim : ndarray of int
        The axial velocities in the rim plane, and of
    rim_pattern : sparse matrix, shape (len(rim), len(free))
        their equations the pattern.
    """

    space: Discretisation
    boundary: BoundaryValues
    stabilisation: float
    pattern: sparse.csc_matrix
    factorise: Callable[[sparse.csc_matrix], Solve]
    outlet: EdgeTables | None
    rim: NDArray[np.int64]
    rim_pattern: sparse.csc_matrix

    def matrix(
        self, unknowns: NDArray[np.float64], reynolds: float, inertia: float = 1.0
    ) -> sparse.csc_matrix:
        """Derivative of the residual over the free unknowns."""
        return filled(self.pattern, self.entries(unknowns, reynolds, inertia))

    def entries(
        self, unknowns: NDArray[np.float64], reynolds: float, inertia: float = 1.0
    ) -> NDArray[np.float64]:
        """Entries of the residual's derivative in the order that patterns number them."""
        data = self.space.jacobian_data(unknowns, reynolds, self.stabilisation, inertia)
        if inertia and self.outlet is not None:
            # block xx comes first in the data, so a place in the block is a place in the data
            places = self.space.scatter.reshape(-1, 6, 6)[self.outlet.element]
            entries = outlet_derivative(self.outlet, self.space.velocity(unknowns))
            np.add.at(data, places.ravel(), inertia * entries.ravel())
        return data

    def residual(
        self, unknowns: NDArray[np.float64], reynolds: float, inertia: float = 1.0
    ) -> NDArray[np.float64]:
        """Residual over the free unknowns."""
        whole = self.space.residual(unknowns, reynolds, self.stabilisation, inertia)
        if inertia and self.outlet is not None:
            term = outlet_residual(self.outlet, self.space.velocity(unknowns))
            whole[: self.space.nodes] += inertia * term
        return whole[self.boundary.free]


def problem(space: Discretisation, boundary: BoundaryValues, stabilisation: float = 0.0) -> Problem:
    """Take the prescribed unknowns out of the pattern, once for all Newton steps."""
    free = boundary.free
    pattern = space.pattern[free][:, free].tocsc()
    pattern.sort_indices()
    rim = space.velocity_basis.get_dofs("rim_plane").flatten()
    factorise = factoriser(pattern, kind="saddle point", order=elimination_order(space, free))
    outlet = None
    if boundary.free_outlet:
        outlet = edge_tables(space, space.mesh.boundaries["shank_end"])
    rim_pattern = space.pattern.tocsr()[rim][:, free].tocsc()
    return Problem(space, boundary, stabilisation, pattern, factorise, outlet, rim, rim_pattern)


def filled(pattern: sparse.csc_matrix, entries: NDArray[np.float64]) -> sparse.csc_matrix:
    """The matrix whose pattern says, entry by entry, which of the entries stands there."""
    return sparse.csc_matrix(
        (entries[pattern.data], pattern.indices, pattern.indptr), shape=pattern.shape
    )


def elimination_order(space: Discretisation, free: NDArray[np.int64]) -> NDArray[np.int64]:
    """Nested dissection of the free unknowns, numbered among themselves."""
    velocity, pressure = space.velocity_basis.element_dofs, space.pressure_basis.element_dofs
    dofs = np.concatenate([velocity, velocity + space.nodes, pressure + 2 * space.nodes]).T
    centres = space.mesh.doflocs[:, space.mesh.t[:3]].mean(axis=1)
    place = np.full(space.unknowns, -1)
    place[free] = np.arange(len(free))
    order = place[nested_dissection(dofs, centres)]
    return order[order >= 0]


def creeping_flow(task: Problem, reynolds: float) -> NDArray[np.float64]:
    """The flow without inertia: linear, one solve."""
    unknowns = task.boundary.values.copy()
    solve = task.factorise(task.matrix(unknowns, reynolds, inertia=0.0))
    residual = task.residual(unknowns, reynolds, inertia=0.0)
    unknowns[task.boundary.free] -= solve(residual)
    return unknowns


def newton(
    task: Problem,
    start: NDArray[np.float64],
    reynolds: float,
    steps: int = STEPS,
    adjoint: bool = False,
) -> FlowState:
    """Solve at one Reynolds number from a start that is near enough, on request with its adjoint.

    Factors are kept for as long as a step with them reduces the residual fivefold: twenty to
    thirty triangular solves cost one factorisation.

    Raises
    ------
    NotConverged
        If the residual grows without bound or does not reach the tolerance with `steps`
        factorisations.
    """
    unknowns = start.copy()
    fixed = np.setdiff1d(np.arange(len(unknowns)), task.boundary.free)
    unknowns[fixed] = task.boundary.values[fixed]
    residual = task.residual(unknowns, reynolds)
    first = previous = float(np.linalg.norm(residual))
    solve: Solve | None = None
    gain, taken, factorised = 1.0, 0, 0
    while previous > TOLERANCE * _pressure_term(task, unknowns):
        if solve is None or gain > REUSE:
            if factorised == steps:
                raise NotConverged(
                    f"Newton's method did not converge at Reynolds number {reynolds:.0f}"
                )
            solve = task.factorise(task.matrix(unknowns, reynolds))
            factorised += 1
        unknowns[task.boundary.free] -= solve(residual)
        residual = task.residual(unknowns, reynolds)
        taken += 1
        now = float(np.linalg.norm(residual))
        if not np.isfinite(now) or now > DIVERGED * first:
            raise NotConverged(f"Newton's method diverged at Reynolds number {reynolds:.0f}")
        gain, previous = now / previous, now
    entries = task.entries(unknowns, reynolds)
    matrix = filled(task.pattern, entries)
    if solve is None:
        solve = task.factorise(matrix)
    return FlowState(
        reynolds=reynolds,
        unknowns=unknowns,
        tangent=_tangent(task, unknowns, reynolds, matrix, solve),
        adjoint=_adjoint(task, unknowns, entries, matrix, solve) if adjoint else np.empty(0),
        residual=previous / _pressure_term(task, unknowns),
        steps=taken,
        factorisations=factorised,
    )


def _pressure_term(task: Problem, unknowns: NDArray[np.float64]) -> float:
    term = task.space.divergence.T @ task.space.pressure(unknowns)
    inner = task.boundary.free[task.boundary.free < len(term)]
    return float(np.linalg.norm(term[inner])) or 1.0


def _tangent(
    task: Problem,
    unknowns: NDArray[np.float64],
    reynolds: float,
    matrix: sparse.csc_matrix,
    solve: Solve,
) -> NDArray[np.float64]:
    """Derivative by the Reynolds number: J u' = (1/Re²) A u, with boundary values that stay."""
    space, free = task.space, task.boundary.free
    change = np.zeros(space.unknowns)
    change[: 2 * space.nodes] = space.viscous @ unknowns[: 2 * space.nodes] / reynolds**2
    tangent = np.zeros(space.unknowns)
    tangent[free] = _refined(task, matrix, solve, change[free])
    return tangent


def _adjoint(
    task: Problem,
    unknowns: NDArray[np.float64],
    entries: NDArray[np.float64],
    matrix: sparse.csc_matrix,
    solve: Solve,
) -> NDArray[np.float64]:
    """The stream's velocity over its flux at the rim plane, and inside what makes Jᵀz zero."""
    adjoint = np.zeros(task.space.unknowns)
    adjoint[task.rim] = unknowns[task.rim] / SCALED_FLUX
    load = -(filled(task.rim_pattern, entries).T @ adjoint[task.rim])
    adjoint[task.boundary.free] = _refined(task, matrix, solve, load, transposed=True)
    return adjoint


def _refined(
    task: Problem,
    matrix: sparse.csc_matrix,
    solve: Solve,
    load: NDArray[np.float64],
    transposed: bool = False,
) -> NDArray[np.float64]:
    """Solve with factors that may be those of a step before, refined against the matrix itself."""
    acting = matrix.T if transposed else matrix
    remaining, solution = load, np.zeros(len(load))
    for _ in range(REFINEMENTS):
        solution += solve(remaining, transposed)
        remaining = load - acting @ solution
        if np.linalg.norm(remaining) < LINEAR_TOLERANCE * np.linalg.norm(load):
            return solution
    return task.factorise(matrix)(load, transposed)
