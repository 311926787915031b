"""Laminar flow: the equations of :mod:`borestudy.flow.forms` with the air's own viscosity alone."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from scipy import sparse

from borestudy.fem import Floats, Ints
from borestudy.fem.continuation import Path
from borestudy.fem.newton import Steps
from borestudy.flow.boundary import BoundaryValues
from borestudy.flow.convection import convection_residual, velocity_and_gradient
from borestudy.flow.discretisation import GRAD_DIV, Discretisation
from borestudy.flow.forms import momentum_integrand
from borestudy.flow.problem import Problem, filled, problem_of

#: Where the branch starts, from creeping flow.
FIRST_REYNOLDS = 40.0


@dataclass(frozen=True)
class LaminarEquations:
    """The weak form on one mesh, from matrices that stay and convection from tables."""

    space: Discretisation
    stabilisation: float

    @property
    def unknowns(self) -> int:
        """Number of unknowns before boundary values are taken out."""
        return self.space.unknowns

    @property
    def pattern(self) -> sparse.csc_matrix:
        """Sparsity pattern of the derivative; its data number the entries."""
        return self.space.pattern

    @property
    def element_dofs(self) -> Ints:
        """Unknowns of each element, shape (E, 15)."""
        velocity = self.space.velocity_basis.element_dofs
        pressure = self.space.pressure_basis.element_dofs
        nodes = self.space.nodes
        return np.concatenate([velocity, velocity + nodes, pressure + 2 * nodes]).T

    def residual(self, unknowns: Floats, reynolds: float) -> Floats:
        """Left side of the weak form against every test function."""
        return self.space.residual(unknowns, reynolds, self.stabilisation)

    def residual_slope(self, unknowns: Floats, reynolds: float, change: Floats) -> Floats:
        """Exact derivative of the residual where the Reynolds number and the unknowns move."""
        space = self.space
        slope = space.residual(change, reynolds, self.stabilisation, inertia=0.0)
        flat = slope[: 2 * space.nodes]
        flat -= space.viscous @ unknowns[: 2 * space.nodes] / reynolds**2
        if change.any():
            # convection is quadratic, so that its central difference is its derivative
            velocity, moved = space.velocity(unknowns), space.velocity(change)
            ahead, back = (
                convection_residual(space.tables, velocity + step) for step in (moved, -moved)
            )
            flat += 0.5 * (ahead - back).ravel()
        return slope

    def jacobian_data(
        self, unknowns: Floats, reynolds: float, inverse_step: Floats | None = None
    ) -> Floats:
        """Entries of the residual's exact derivative, in the order `pattern` numbers them."""
        return self.space.jacobian_data(
            unknowns, reynolds, self.stabilisation, inverse_step=inverse_step
        )

    def axial_places(self, elements: Ints) -> Ints:
        """Places among the entries of axial test by axial trial, shape (F, 6, 6)."""
        # block xx comes first in the data, so a place in the block is a place in the data
        return self.space.scatter.reshape(-1, 6, 6)[elements]

    def viscosity_ratio(self, unknowns: Floats) -> float:
        """There is no eddy viscosity."""
        return 1.0

    def integrand(self, unknowns: Floats, reynolds: float) -> Floats:
        """Convection and viscous stress at the quadrature points, shape (6, E, Q)."""
        space = self.space
        value, gradient = velocity_and_gradient(space.tables, space.velocity(unknowns))
        state = np.concatenate([value[:, None], gradient], axis=1).reshape(6, *value.shape[1:])
        radius = np.asarray(space.velocity_basis.global_coordinates())[1]
        found = np.empty_like(state)
        momentum_integrand(state, 1 / reynolds, radius, found)
        return found


@dataclass(frozen=True)
class Laminar:
    """Laminar flow at any Reynolds number, followed up from creeping flow.

    Attributes
    ----------
    grad_div : float
        Grad-div parameter over throat velocity times diameter.
    """

    grad_div: float = GRAD_DIV

    name: ClassVar[str] = "laminar"
    lowest_reynolds: ClassVar[float] = 0.0
    steps: ClassVar[Steps] = Steps(tolerance=1e-9, factorisations=12, greatest_growth=1e3)
    near_steps: ClassVar[Steps] = steps
    path: ClassVar[Path] = Path()

    def problem(self, space: Discretisation, boundary: BoundaryValues) -> Problem:
        """The equations on a mesh with its boundary values."""
        return problem_of(space, LaminarEquations(space, self.grad_div), boundary)

    def beginnings(self, reynolds: float) -> Sequence[float]:
        """Reynolds numbers at which a start of the model's own is tried."""
        return [min(FIRST_REYNOLDS, reynolds)]

    def own_start(self, problem: Problem, reynolds: float) -> Floats:
        """Creeping flow."""
        return creeping_flow(problem, reynolds)

    def admissible(self, problem: Problem, unknowns: Floats) -> Floats:
        """Any unknowns are, with the prescribed values set in them."""
        return problem.with_boundary_values(unknowns)


def creeping_flow(problem: Problem, reynolds: float) -> Floats:
    """The flow without inertia: linear, one solve."""
    space, grad_div = problem.space, problem.equations.stabilisation
    unknowns = problem.boundary.values.copy()
    entries = space.jacobian_data(unknowns, reynolds, grad_div, inertia=0.0)
    residual = space.residual(unknowns, reynolds, grad_div, inertia=0.0)
    solve = problem.factorise(filled(problem.pattern, entries))
    unknowns[problem.free] -= solve(residual[problem.free])
    return unknowns
