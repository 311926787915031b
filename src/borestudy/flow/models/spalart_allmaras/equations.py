"""Flow and working variable assembled together, element by element.

The vector of unknowns is that of :mod:`borestudy.flow.discretisation`, axial velocity, radial
velocity, pressure, followed by the working variable's vertex values.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from borestudy.fem import Floats, Ints
from borestudy.flow.by_place import ByPlace
from borestudy.flow.convection import reference_functions
from borestudy.flow.discretisation import Discretisation, inlet_edge_distance
from borestudy.flow.equations import Entries, Equations, Linearised

from .distance import NearestWall, nearest_pieces, wall_pieces
from .elements import ElementTables, element_tables
from .flux import STEP, Points, flux, flux_derivative
from .onset import Onset
from .place import flux_by_place
from .pointwise import eddy_viscosity

#: From the reference triangle's coordinates to those of an equilateral one with sides of 1.
EQUILATERAL = np.array([[1.0, 0.5], [0.0, np.sqrt(0.75)]])
#: Places of axial velocity, radial velocity, pressure, working variable among 18 element unknowns.
AXIAL, RADIAL, PRESSURE, WORKING = slice(0, 6), slice(6, 12), slice(12, 15), slice(15, 18)
#: Number of the fields that the flux is a function of: all but the pressure.
FIELDS = 3


@dataclass(frozen=True)
class CoupledEquations(Equations):
    """Everything constant on one mesh, and the weak form assembled with it.

    Attributes
    ----------
    tables : ElementTables
        Of axial velocity, radial velocity, working variable and pressure, in this order.
    points : Points
    constant : ndarray, shape (E, 18, 18)
        Element matrices of pressure, continuity and grad-div.
    scatter : ndarray, shape (E * 324,)
        Place of each element entry among those that `pattern` numbers.
    wall : NearestWall
        The piece of the wall that is nearest to each point.
    """

    tables: ElementTables
    points: Points
    constant: Floats
    scatter: Ints
    wall: NearestWall

    def working(self, unknowns: Floats) -> Floats:
        """Vertex values of the working variable χ."""
        return unknowns[self.space.unknowns :]

    def forced(self, forcing: Floats) -> "CoupledEquations":
        """The same with a right side (E, Q) of the working variable's equation."""
        return replace(self, points=replace(self.points, forcing=forcing))

    def shifted(self, factor: float) -> "CoupledEquations":
        onset = self.points.onset
        if onset is None:
            return self
        moved = replace(onset, shift=factor * onset.shift)
        return replace(self, points=replace(self.points, onset=moved))

    def turbulent_from(self, reynolds: float) -> float:
        onset = self.points.onset
        return -np.inf if onset is None else float(onset.place(reynolds))

    def state(self, unknowns: NDArray, elements: slice) -> NDArray:
        """Values and gradients at quadrature points, shape (9, e, Q)."""
        return self.tables.state(unknowns[self.element_dofs[elements]], elements, FIELDS)

    def residual(self, unknowns: Floats, reynolds: float) -> Floats:
        return self._weak_form(unknowns, unknowns, reynolds)

    def residual_slope(self, unknowns: Floats, reynolds: float, change: Floats) -> Floats:
        return self._weak_form(change, unknowns + 1j * STEP * change, reynolds + 1j * STEP)

    def jacobian_data(
        self,
        unknowns: Floats,
        reynolds: float,
        inverse_step: Floats | None = None,
        known: Sequence[Entries] | None = None,
    ) -> Floats:
        matrices = self.constant.copy()
        for number, elements in enumerate(self.chunks()):
            if known is not None:
                derivative = dict(known[number])
            else:
                part = self.points.part(elements)
                derivative = flux_derivative(self.state(unknowns, elements), part, reynolds)
            if inverse_step is not None:
                for value in range(0, 3 * FIELDS, 3):
                    derivative[value, value] = (
                        derivative[value, value] + inverse_step[elements, None]
                    )
            self.tables.add_matrices(matrices[elements], derivative, elements)
        return np.asarray(np.bincount(self.scatter, matrices.ravel(), self.pattern.nnz), float)

    def axial_places(self, elements: Ints) -> Ints:
        return self.scatter.reshape(-1, 18, 18)[elements, AXIAL, AXIAL]

    def viscosity_ratio(self, unknowns: Floats) -> Floats:
        functions = reference_functions(self.space.pressure_basis)[0]
        return np.asarray(1 + eddy_viscosity(unknowns[self.element_dofs[:, WORKING]] @ functions))

    def integrand(self, unknowns: Floats, reynolds: float) -> Floats:
        return flux(self.state(unknowns, slice(None)), self.points, reynolds)

    def field_state(self, vector: Floats, elements: slice) -> Floats:
        return self.state(vector, elements)

    def linearised(self, unknowns: Floats, reynolds: float, elements: slice) -> Linearised:
        state, points = self.state(unknowns, elements), self.points.part(elements)
        return state, flux(state, points, reynolds), flux_derivative(state, points, reynolds)

    def by_place(self, at: Linearised, reynolds: float, elements: slice) -> ByPlace:
        return flux_by_place(*at, self.points.part(elements), reynolds)

    def nearest_wall(self) -> tuple[sparse.csr_matrix, Floats]:
        place = np.asarray(self.space.velocity_basis.global_coordinates())
        return self.wall.nearest(self.space, place, self.points.distance)

    def _weak_form(self, linear: Floats, unknowns: NDArray, reynolds: complex) -> Floats:
        """Constant matrices times one vector and the flux of another, or its complex step's."""
        local = np.einsum("eij,ej->ei", self.constant, linear[self.element_dofs])
        for elements in self.chunks():
            integrand = flux(self.state(unknowns, elements), self.points.part(elements), reynolds)
            if np.iscomplexobj(integrand):
                integrand = integrand.imag / STEP
            local[elements] += self.tables.tested(integrand, elements)
        nodes = self.element_dofs.ravel()
        return np.asarray(np.bincount(nodes, local.ravel(), self.unknowns), dtype=float)


def coupled_equations(
    space: Discretisation, grad_div: float, onset: Onset | None = None
) -> CoupledEquations:
    """Set up the coupled unknowns on a mesh, with a grad-div parameter and a place of onset."""
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
    quadratic, linear = reference_functions(velocity), reference_functions(pressure)
    fields = [
        (AXIAL, *quadratic),
        (RADIAL, *quadratic),
        (WORKING, *linear),
        (PRESSURE, *linear),
    ]
    tables = element_tables(fields, weights, inverse)
    place = np.asarray(velocity.global_coordinates())
    wall = wall_pieces(space)
    distance, number = nearest_pieces(wall.begin, wall.end, place.reshape(2, -1))
    distance = distance.reshape(weights.shape)
    to_equilateral = np.einsum("ij,jdeq->ideq", EQUILATERAL, inverse)
    metric = np.einsum("iaeq,ibeq->abeq", to_equilateral, to_equilateral)
    constant_share = grad_div * inlet_edge_distance(velocity)
    pattern, scatter = _pattern(dofs, vertices + int(pressure.N))
    return CoupledEquations(
        space=space,
        stabilisation=grad_div,
        element_dofs=dofs,
        tables=tables,
        points=Points(
            place[1], distance, metric[[0, 0, 1], [0, 1, 1]], axial=place[0], onset=onset
        ),
        constant=_constant(tables, place[1], constant_share),
        pattern=pattern,
        scatter=scatter,
        wall=NearestWall(wall, number),
    )


def _constant(tables: ElementTables, radius: Floats, grad_div: Floats) -> Floats:
    """Element matrices of pressure, continuity and grad-div, whose parameter has shape (E, Q)."""
    # the divergence by component of the state
    divergence = {1: np.ones_like(radius), 3: 1 / radius, 5: np.ones_like(radius)}
    value = 3 * FIELDS
    entries = {
        (row, column): grad_div * first * second
        for row, first in divergence.items()
        for column, second in divergence.items()
    }
    entries |= {(row, value): -part for row, part in divergence.items()}
    entries |= {(value, column): -part for column, part in divergence.items()}
    matrices = np.zeros((len(radius), 18, 18))
    tables.add_matrices(matrices, entries, slice(None))
    return matrices


def _pattern(dofs: Ints, count: int) -> tuple[sparse.csc_matrix, Ints]:
    """Pattern over all unknowns, its data numbering the entries, and each element entry's place.

    Transposing a compressed matrix sorts by counting, and leaves entries of one place beside each
    other: by rows first, then by columns.
    """
    size = dofs.shape[1]
    dofs = dofs.astype(np.int32)  # half the memory, which takes longer to get than to fill
    # of element entries (element, trial, test), which are numbered as (element, test, trial)
    numbers = (
        np.arange(dofs.size * size, dtype=np.int32)
        .reshape(-1, size, size)
        .transpose(0, 2, 1)
        .ravel()
    )
    tests = np.repeat(dofs, size, axis=0).ravel()
    starts = np.arange(dofs.size + 1, dtype=np.int32) * np.int32(size)
    by_row = sparse.csr_matrix((numbers, tests, starts), (dofs.size, count)).tocsc()
    trials = dofs.ravel()[by_row.indices]
    sorted_entries = sparse.csr_matrix((by_row.data, trials, by_row.indptr), (count, count)).tocsc()
    rows, starts = sorted_entries.indices, sorted_entries.indptr
    first = np.ones(len(rows), dtype=bool)
    first[1:] = rows[1:] != rows[:-1]
    first[starts[:-1]] = True
    places = np.cumsum(first, dtype=np.int32) - 1
    scatter = np.empty(len(rows), dtype=np.int64)
    scatter[sorted_entries.data] = places
    indptr = np.append(places[starts[:-1]], places[-1] + 1)
    indices = rows[first]
    pattern = sparse.csc_matrix((np.arange(len(indices)), indices, indptr), (count, count))
    return pattern, scatter
