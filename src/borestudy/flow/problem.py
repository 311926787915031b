"""One mesh with its boundary values and the equations of a model; what a solution of them is.

The vector of unknowns is axial velocity, radial velocity (n values each), pressure (m values), then
whatever the model has of its own, in blocks of m vertex values.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy import sparse

from borestudy.fem import Floats, Ints
from borestudy.fem.continuation import Point
from borestudy.fem.dissection import nested_dissection
from borestudy.fem.sparse import Factors, factoriser

from .boundary import BoundaryValues, outlet_derivative, outlet_residual
from .discretisation import Discretisation
from .edges import EdgeTables, edge_tables
from .equations import Entries, Equations

#: A pseudo-time step beyond this many element transit times is left out.
STEADY_CFL = 3e4
#: Step in the logarithm of the distance to transition for a derivative by it.
SHIFT = 1e-3
#: Slowest speed that an element's pseudo-time step is taken with.
LEAST_SPEED = 0.1


@dataclass(frozen=True)
class State(Point):
    """A solution at one Reynolds number, the branch's parameter.

    Attributes
    ----------
    residual : float
        Norm of what is left of the weak form over the norm of its pressure term, or of the model's
        own equation over its scale where that is more.
    adjoint : ndarray, shape (unknowns,), or None
        Change of the work of the rim plane's traction with a unit of residual in each
        equation, the weight of :mod:`borestudy.flow.goal_error`; None where it was not solved for.
        With `by_shape` it is of the pressure drop, which is that work but for some 1e-4 of it.
    by_shape : mapping of str to ndarray, or None
        Derivatives of figures by the mesh and the model's own numbers, where they were asked for:
        see `sensitivity.goals.Goals`.
    """

    residual: float = 0.0
    adjoint: Floats | None = None
    by_shape: Mapping[str, Floats] | None = None

    @property
    def reynolds(self) -> float:
        """Throat Reynolds number."""
        return self.parameter


@dataclass(frozen=True, eq=False)
class Problem:
    """The equations of one model on one mesh with its boundary values; equal to itself alone.

    Attributes
    ----------
    space : Discretisation
        Elements of velocity and pressure; `velocity` and `pressure` take any model's unknowns.
    equations : Equations
    boundary : BoundaryValues
        Prescribed values and free unknowns, the model's own included.
    pattern : csc matrix
        Over the free unknowns; its data number the entries of the whole derivative.
    factorise : callable
    outlet : EdgeTables or None
        The shank end where the flow leaves freely.
    rim, rim_pattern : ndarray of int, csc matrix of shape (len(rim), len(free))
        The axial velocities in the rim plane, and the pattern of their equations.
    element_size : ndarray, shape (E,)
        Square root of each element's area.
    hat_mass : float
        Norm of the integrals of the free hat functions of the model's own fields; 0 without any.
    """

    space: Discretisation
    equations: Equations
    boundary: BoundaryValues
    pattern: sparse.csc_matrix
    factorise: Callable[[sparse.csc_matrix], Factors]
    outlet: EdgeTables | None
    rim: Ints
    rim_pattern: sparse.csc_matrix
    element_size: Floats
    hat_mass: float

    @property
    def free(self) -> Ints:
        """Unknowns that are solved for."""
        return self.boundary.free

    def with_boundary_values(self, unknowns: Floats) -> Floats:
        """The same with what is prescribed set."""
        values = self.boundary.values.copy()
        values[self.free] = unknowns[self.free]
        return values

    def residual(self, unknowns: Floats, reynolds: float) -> Floats:
        """Left side of the weak form against every test function, momentum first."""
        whole = self.equations.residual(unknowns, reynolds)
        if self.outlet is not None:
            whole[: self.space.nodes] += outlet_residual(self.outlet, self.space.velocity(unknowns))
        return whole

    def residual_slope(self, unknowns: Floats, reynolds: float, change: Floats) -> Floats:
        """Derivative of the residual where the unknowns move by `change` with Reynolds number."""
        whole = self.equations.residual_slope(unknowns, reynolds, change)
        if self.outlet is not None:
            local = outlet_derivative(self.outlet, self.space.velocity(unknowns))
            moved = np.einsum("fij,fj->fi", local, change[self.outlet.velocity_dofs])
            np.add.at(whole, self.outlet.velocity_dofs, moved)
        return whole

    def by_transition(self, state: State) -> float | None:
        """Derivative of the scaled pressure drop by the logarithm of the distance to transition.

        The adjoint's product with the derivative of the residual; None without the adjoint.
        """
        if state.adjoint is None:
            return None
        ahead, back = (
            self.equations.shifted(np.exp(step)).residual(state.unknowns, state.reynolds)
            for step in (SHIFT, -SHIFT)
        )
        return float(state.adjoint @ (ahead - back)) / (2 * SHIFT)

    def entries(
        self,
        unknowns: Floats,
        reynolds: float,
        inverse_step: Floats | None = None,
        known: Sequence[Entries] | None = None,
    ) -> Floats:
        """Entries of the residual's derivative in the order that patterns number them."""
        data = self.equations.jacobian_data(unknowns, reynolds, inverse_step, known)
        if self.outlet is not None:
            local = outlet_derivative(self.outlet, self.space.velocity(unknowns))
            places = self.equations.axial_places(self.outlet.element)
            np.add.at(data, places.ravel(), local.ravel())
        return data

    def matrix(
        self, unknowns: Floats, reynolds: float, inverse_step: Floats | None = None
    ) -> sparse.csc_matrix:
        """Derivative of the residual over the free unknowns, with a pseudo-time term if asked."""
        return filled(self.pattern, self.entries(unknowns, reynolds, inverse_step))

    def sizes(self, residual: Floats, unknowns: Floats) -> tuple[float, ...]:
        """Norm of the flow's residual over its pressure term's, and of the model's own fields'."""
        space, free = self.space, self.free
        count = int(np.searchsorted(free, space.unknowns))
        pressure = (space.divergence.T @ space.pressure(unknowns))[free[free < 2 * space.nodes]]
        of_flow = np.linalg.norm(residual[free[:count]]) / (np.linalg.norm(pressure) or 1.0)
        if not self.hat_mass:
            return (float(of_flow),)
        own = free[count:]
        scale = self.hat_mass * max(np.abs(unknowns[own]).max(), 1.0)
        return float(of_flow), float(np.linalg.norm(residual[own]) / scale)

    def change_size(self, change: Floats) -> float:
        """Greatest change of a velocity component."""
        return float(np.abs(change[: 2 * self.space.nodes]).max())

    def inverse_step(self, unknowns: Floats, cfl: float) -> Floats | None:
        """Each element's speed over its size and `cfl`; None where that is too little to matter."""
        if cfl > STEADY_CFL:
            return None
        speed = np.hypot(*self.space.velocity(unknowns))
        greatest = speed[self.space.velocity_basis.element_dofs].max(axis=0)
        return np.asarray(np.maximum(greatest, LEAST_SPEED) / self.element_size / cfl)


def problem_of(space: Discretisation, equations: Equations, boundary: BoundaryValues) -> Problem:
    """Take the prescribed unknowns out of the pattern, once for all Newton steps."""
    free = boundary.free
    pattern = equations.pattern[free][:, free].tocsc()
    pattern.sort_indices()
    rim = space.velocity_basis.get_dofs("rim_plane").flatten()
    corners = space.mesh.doflocs[:, space.mesh.t[:3]]
    order = elimination_order(equations.element_dofs, corners.mean(axis=1), free)
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    outlet = edge_tables(space, space.mesh.boundaries["shank_end"])
    vertices, nodal = int(space.pressure_basis.N), space.pressure_basis.element_dofs
    hats = np.bincount(nodal.ravel(), np.tile(space.tables.weights.sum(axis=1) / 3, 3), vertices)
    own = free[free >= space.unknowns] - space.unknowns
    return Problem(
        space=space,
        equations=equations,
        boundary=boundary,
        pattern=pattern,
        factorise=factoriser(pattern, order),
        outlet=outlet if boundary.free_outlet else None,
        rim=rim,
        rim_pattern=equations.pattern.tocsr()[rim][:, free].tocsc(),
        element_size=np.sqrt(0.5 * np.abs(first[0] * second[1] - first[1] * second[0])),
        hat_mass=float(np.linalg.norm(hats[own % vertices])),
    )


def filled(pattern: sparse.csc_matrix, entries: Floats) -> sparse.csc_matrix:
    """The matrix whose pattern says, entry by entry, which of the entries stands there."""
    return sparse.csc_matrix(
        (entries[pattern.data], pattern.indices, pattern.indptr), shape=pattern.shape
    )


def elimination_order(element_dofs: Ints, centres: Floats, free: Ints) -> Ints:
    """Nested dissection of the free unknowns, numbered among themselves."""
    place = np.full(int(element_dofs.max()) + 1, -1)
    place[free] = np.arange(len(free))
    order = place[nested_dissection(element_dofs, centres)]
    return np.asarray(order[order >= 0])
