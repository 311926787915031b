"""Flow and working variable assembled together, element by element.

The vector of unknowns is that of :mod:`borestudy.flow.discretisation`, axial velocity, radial
velocity, pressure, followed by the working variable's vertex values.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from skfem import Basis

from borestudy.fem import Floats, Ints
from borestudy.flow.convection import reference_functions
from borestudy.flow.discretisation import Discretisation, inlet_edge_distance
from borestudy.flow.problem import Equations

from .distance import wall_distance, wall_pieces
from .flux import STEP, Points, flux, flux_derivative
from .pointwise import eddy_viscosity

#: Elements whose integrands are worked on at once: their arrays stay in the processor's cache.
CHUNK = 400
#: From the reference triangle's coordinates to those of an equilateral one with sides of 1.
EQUILATERAL = np.array([[1.0, 0.5], [0.0, np.sqrt(0.75)]])
#: Places of axial velocity, radial velocity, pressure, working variable among 18 element unknowns.
AXIAL, RADIAL, PRESSURE, WORKING = slice(0, 6), slice(6, 12), slice(12, 15), slice(15, 18)


@dataclass(frozen=True)
class CoupledEquations(Equations):
    """Everything constant on one mesh, and the weak form assembled with it.

    Attributes
    ----------
    quadratic, linear : ndarray, shape (E, Q, 3, 6) and (E, Q, 3, 3)
        Value, axial and radial derivative of the basis functions at quadrature points.
    weights : ndarray, shape (E, Q)
        Quadrature weight times Jacobian determinant times radius.
    points : Points
    constant : ndarray, shape (E, 18, 18)
        Element matrices of pressure, continuity and grad-div.
    scatter : ndarray, shape (E * 324,)
        Place of each element entry among those that `pattern` numbers.
    """

    quadratic: Floats
    linear: Floats
    weights: Floats
    points: Points
    constant: Floats
    scatter: Ints

    def working(self, unknowns: Floats) -> Floats:
        """Vertex values of the working variable χ."""
        return unknowns[self.space.unknowns :]

    def forced(self, forcing: Floats) -> "CoupledEquations":
        """The same with a right side (E, Q) of the working variable's equation."""
        return replace(self, points=replace(self.points, forcing=forcing))

    def chunks(self) -> list[slice]:
        """Slices of elements that are assembled together."""
        return [slice(start, start + CHUNK) for start in range(0, len(self.element_dofs), CHUNK)]

    def state(self, unknowns: NDArray, elements: slice) -> NDArray:
        """Values and gradients at quadrature points, shape (9, e, Q)."""
        local = unknowns[self.element_dofs[elements]]
        quadratic, linear = self.quadratic[elements], self.linear[elements]
        parts = [
            np.matmul(table, local[:, None, place, None])[..., 0]
            for table, place in ((quadratic, AXIAL), (quadratic, RADIAL), (linear, WORKING))
        ]
        return np.ascontiguousarray(np.concatenate(parts, axis=2).transpose(2, 0, 1))

    def residual(self, unknowns: Floats, reynolds: float) -> Floats:
        return self._weak_form(unknowns, unknowns, reynolds)

    def residual_slope(self, unknowns: Floats, reynolds: float, change: Floats) -> Floats:
        return self._weak_form(change, unknowns + 1j * STEP * change, reynolds + 1j * STEP)

    def jacobian_data(
        self, unknowns: Floats, reynolds: float, inverse_step: Floats | None = None
    ) -> Floats:
        matrices = self.constant.copy()
        for elements in self.chunks():
            part = self.points.part(elements)
            _, derivative = flux_derivative(self.state(unknowns, elements), part, reynolds)
            if inverse_step is not None:
                for value in (0, 3, 6):
                    derivative[value, value] += inverse_step[elements, None]
            derivative *= self.weights[elements]
            matrices[elements] += self._matrices(derivative, elements)
        return np.asarray(np.bincount(self.scatter, matrices.ravel(), self.pattern.nnz), float)

    def axial_places(self, elements: Ints) -> Ints:
        return self.scatter.reshape(-1, 18, 18)[elements, AXIAL, AXIAL]

    def viscosity_ratio(self, unknowns: Floats) -> Floats:
        nodal = unknowns[self.element_dofs[:, WORKING]]
        return np.asarray(1 + eddy_viscosity(np.einsum("eqi,ei->eq", self.linear[:, :, 0], nodal)))

    def integrand(self, unknowns: Floats, reynolds: float) -> Floats:
        return flux(self.state(unknowns, slice(None)), self.points, reynolds)

    def _weak_form(self, linear: Floats, unknowns: NDArray, reynolds: complex) -> Floats:
        """Constant matrices times one vector and the flux of another, or its complex step's."""
        local = np.einsum("eij,ej->ei", self.constant, linear[self.element_dofs])
        for elements in self.chunks():
            integrand = flux(self.state(unknowns, elements), self.points.part(elements), reynolds)
            if np.iscomplexobj(integrand):
                integrand = integrand.imag / STEP
            local[elements] += self._tested(integrand, elements)
        nodes = self.element_dofs.ravel()
        return np.asarray(np.bincount(nodes, local.ravel(), self.unknowns), dtype=float)

    def _tested(self, integrand: Floats, elements: slice) -> Floats:
        weighted = (integrand * self.weights[elements]).transpose(1, 2, 0)
        tested = np.zeros((len(weighted), 18))
        for place, table, first in self._fields(elements):
            part = weighted[:, :, first : first + 3]
            tested[:, place] = np.einsum("eqi,eqik->ek", part, table, optimize=True)
        return tested

    def _matrices(self, derivative: Floats, elements: slice) -> Floats:
        by_point = np.ascontiguousarray(derivative.transpose(2, 3, 0, 1))
        count, points = by_point.shape[:2]
        matrices = np.zeros((count, 18, 18))
        for trial_place, trial, column in self._fields(elements):
            columns = by_point[..., column : column + 3] @ trial
            for test_place, test, row in self._fields(elements):
                rows = columns[:, :, row : row + 3].reshape(count, 3 * points, -1)
                tests = test.reshape(count, 3 * points, -1)
                matrices[:, test_place, trial_place] = tests.transpose(0, 2, 1) @ rows
        return matrices

    def _fields(self, elements: slice) -> list[tuple[slice, Floats, int]]:
        quadratic, linear = self.quadratic[elements], self.linear[elements]
        return [(AXIAL, quadratic, 0), (RADIAL, quadratic, 3), (WORKING, linear, 6)]


def coupled_equations(space: Discretisation, grad_div: float) -> CoupledEquations:
    """Set up the coupled unknowns on a mesh, with a grad-div parameter."""
    velocity, pressure = space.velocity_basis, space.pressure_basis
    nodes, vertices = space.nodes, space.unknowns
    dofs = np.concatenate(
        [
            velocity.element_dofs,
            velocity.element_dofs + nodes,
            pressure.element_dofs + 2 * nodes,
            pressure.element_dofs + vertices,
        ]
    ).T.astype(np.int64)
    weights, inverse = space.tables.weights, space.tables.inverse_jacobian

    def table(basis: Basis) -> Floats:
        functions, slopes = reference_functions(basis)
        whole = np.empty((*weights.shape, 3, len(functions)))
        whole[:, :, 0] = functions.T
        whole[:, :, 1:] = np.einsum("kiq,kdeq->eqdi", slopes, inverse, optimize=True)
        return whole

    place = np.asarray(velocity.global_coordinates())
    begin, end = wall_pieces(space)
    distance = wall_distance(begin, end, place.reshape(2, -1)).reshape(weights.shape)
    to_equilateral = np.einsum("ij,jdeq->ideq", EQUILATERAL, inverse)
    metric = np.einsum("iaeq,ibeq->abeq", to_equilateral, to_equilateral)
    quadratic, linear = table(velocity), table(pressure)
    constant_share = grad_div * inlet_edge_distance(velocity)
    pattern, scatter = _pattern(dofs, vertices + int(pressure.N))
    return CoupledEquations(
        space=space,
        stabilisation=grad_div,
        element_dofs=dofs,
        quadratic=quadratic,
        linear=linear,
        weights=weights,
        points=Points(place[1], distance, metric[[0, 0, 1], [0, 1, 1]]),
        constant=_constant(quadratic, linear, weights, place[1], constant_share),
        pattern=pattern,
        scatter=scatter,
    )


def _constant(
    quadratic: Floats, linear: Floats, weights: Floats, radius: Floats, grad_div: Floats
) -> Floats:
    """Element matrices of pressure, continuity and grad-div, whose parameter has shape (E, Q)."""
    hoop = quadratic[:, :, 0] / radius[:, :, None]
    divergence = np.concatenate([quadratic[:, :, 1], quadratic[:, :, 2] + hoop], axis=2)
    matrices = np.zeros((len(weights), 18, 18))
    weighted = divergence * weights[:, :, None]
    mixed = -np.matmul(linear[:, :, 0].transpose(0, 2, 1), weighted)
    matrices[:, PRESSURE, :12] = mixed
    matrices[:, :12, PRESSURE] = mixed.transpose(0, 2, 1)
    weighted = weighted * grad_div[:, :, None]
    matrices[:, :12, :12] = np.matmul(divergence.transpose(0, 2, 1), weighted)
    return matrices


def _pattern(dofs: Ints, count: int) -> tuple[sparse.csc_matrix, Ints]:
    size = dofs.shape[1]
    rows = np.repeat(dofs, size, axis=1).ravel()
    columns = np.tile(dofs, (1, size)).ravel()
    keys = columns * np.int64(count) + rows
    entries, scatter = np.unique(keys, return_inverse=True)
    indptr = np.searchsorted(entries, np.arange(count + 1) * np.int64(count))
    pattern = sparse.csc_matrix(
        (np.arange(len(entries)), entries % count, indptr), shape=(count, count)
    )
    return pattern, scatter.ravel()
