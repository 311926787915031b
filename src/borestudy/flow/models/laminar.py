"""Laminar flow: the equations of :mod:`borestudy.flow.forms` with the air's own viscosity alone."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from borestudy.fem import Floats, Ints
from borestudy.fem.newton import Steps
from borestudy.flow.boundary import BoundaryValues
from borestudy.flow.by_place import ByPlace, PlaceValues
from borestudy.flow.convection import convection_residual, value_and_gradient
from borestudy.flow.discretisation import Discretisation
from borestudy.flow.equations import Entries, Equations, Linearised
from borestudy.flow.forms import momentum_derivative, momentum_integrand
from borestudy.flow.model import Model
from borestudy.flow.problem import Problem, filled, problem_of

#: Where the branch starts, from creeping flow.
FIRST_REYNOLDS = 40.0


@dataclass(frozen=True)
class LaminarEquations(Equations):
    """The weak form on one mesh, from matrices that stay and convection from tables."""

    def residual(self, unknowns: Floats, reynolds: float) -> Floats:
        return self.space.residual(unknowns, reynolds, self.stabilisation)

    def residual_slope(self, unknowns: Floats, reynolds: float, change: Floats) -> Floats:
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
        self,
        unknowns: Floats,
        reynolds: float,
        inverse_step: Floats | None = None,
        known: Sequence[Entries] | None = None,
    ) -> Floats:
        # cheaper from the tables than from entries point by point
        return self.space.jacobian_data(
            unknowns, reynolds, self.stabilisation, inverse_step=inverse_step
        )

    def axial_places(self, elements: Ints) -> Ints:
        # block xx comes first in the data, so a place in the block is a place in the data
        return self.space.scatter.reshape(-1, 6, 6)[elements]

    def integrand(self, unknowns: Floats, reynolds: float) -> Floats:
        state = self.field_state(unknowns, slice(None))
        found = np.empty_like(state)
        momentum_integrand(state, 1 / reynolds, self._radius(slice(None)), found)
        return found

    def field_state(self, vector: Floats, elements: slice) -> Floats:
        space, tables = self.space, self.space.tables
        nodal = space.velocity(vector)[:, tables.element_dofs[elements]]
        inverse = tables.inverse_jacobian[:, :, elements]
        value, gradient = value_and_gradient(nodal, tables.functions, tables.slopes, inverse)
        return np.concatenate([value[:, None], gradient], axis=1).reshape(6, *value.shape[1:])

    def linearised(self, unknowns: Floats, reynolds: float, elements: slice) -> Linearised:
        state, radius = self.field_state(unknowns, elements), self._radius(elements)
        found, viscosity = np.empty_like(state), np.full_like(radius, 1 / reynolds)
        momentum_integrand(state, viscosity, radius, found)
        entries = momentum_derivative(state, viscosity, np.zeros_like(radius), radius)
        return state, found, {place: of for place, of in entries.items() if place[1] < len(state)}

    def by_place(self, at: Linearised, reynolds: float, elements: slice) -> ByPlace:
        return HoopTerm(-4 / reynolds * at[0][3] / self._radius(elements) ** 3)

    def _radius(self, elements: slice) -> Floats:
        return np.asarray(self.space.velocity_basis.global_coordinates())[1, elements]


@dataclass(frozen=True)
class HoopTerm(ByPlace):
    """The hoop term's derivative by the radius, shape (E, Q), against the radial test."""

    by_radius: Floats

    def against(self, tests: Floats) -> PlaceValues:
        return PlaceValues(self.by_radius * tests[3])


@dataclass(frozen=True)
class Laminar(Model):
    """Laminar flow at any Reynolds number, followed up from creeping flow."""

    name: ClassVar[str] = "laminar"
    steps: ClassVar[Steps] = Steps(tolerance=1e-9, factorisations=12, greatest_growth=1e3)
    near_steps: ClassVar[Steps] = steps

    def problem(self, space: Discretisation, boundary: BoundaryValues) -> Problem:
        velocity, pressure = space.velocity_basis.element_dofs, space.pressure_basis.element_dofs
        nodes = space.nodes
        dofs = np.concatenate([velocity, velocity + nodes, pressure + 2 * nodes]).T
        equations = LaminarEquations(space, self.grad_div, dofs, space.pattern)
        return problem_of(space, equations, boundary)

    def beginnings(self, reynolds: float) -> Sequence[float]:
        return [min(FIRST_REYNOLDS, reynolds)]

    def own_start(self, problem: Problem, reynolds: float) -> Floats:
        return creeping_flow(problem, reynolds)


def creeping_flow(problem: Problem, reynolds: float) -> Floats:
    """The flow without inertia: linear, one solve."""
    space, grad_div = problem.space, problem.equations.stabilisation
    unknowns = problem.boundary.values.copy()
    entries = space.jacobian_data(unknowns, reynolds, grad_div, inertia=0.0)
    residual = space.residual(unknowns, reynolds, grad_div, inertia=0.0)
    solve = problem.factorise(filled(problem.pattern, entries))
    unknowns[problem.free] -= solve(residual[problem.free])
    return unknowns
