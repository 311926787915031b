"""The weak form against a test vector, and its derivatives by the unknowns and by the mesh."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from scipy import sparse

from borestudy.fem import Floats, Ints
from borestudy.flow.boundary import outlet_derivative, outlet_residual
from borestudy.flow.by_place import ByPlace
from borestudy.flow.convection import reference_functions
from borestudy.flow.discretisation import inlet_edge_distance
from borestudy.flow.equations import Entries
from borestudy.flow.problem import Problem

#: Derivatives that follow those by the nodes: by the four numbers of `Model.ramp`, and by the
#: logarithm of the throat's diameter.
OF_MODEL = 5


@dataclass(frozen=True)
class MovingPoints:
    """What the quadrature points of a mesh take from nodes elsewhere; E elements, Q points.

    Attributes
    ----------
    radius, share, by_offset : ndarray, shape (E, Q), the last (2, E, Q)
        Distance from the axis, share of the grad-div term, and its derivative by the offset from
        the rim's edge.
    rim_edge, shank_edge : int
        Nodes where the wall meets the rim plane and the shank end.
    beside_rim, given : sequences of ndarray, of int and of shape (3 f, e, Q)
        In each chunk of the equations' elements the numbers of those at the rim plane, and in them
        values and slopes of the velocity that is given there, zero at all other nodes.
    feet : csr matrix, shape (E * Q, nodes), or None
        What the nearest points of the wall take of each node's motion.
    away : ndarray, shape (2, E, Q), or None
        Unit vectors from there.
    """

    radius: Floats
    share: Floats
    by_offset: Floats
    rim_edge: int
    shank_edge: int
    beside_rim: Sequence[Ints]
    given: Sequence[Floats]
    feet: sparse.csr_matrix | None = None
    away: Floats | None = None


def moving_points(problem: Problem) -> MovingPoints:
    """Prepare a mesh, once for all states on it."""
    basis = problem.space.velocity_basis
    place = np.asarray(basis.global_coordinates())
    share = inlet_edge_distance(basis)
    wall = basis.get_dofs("wall").flatten()
    edges = [
        int(np.intersect1d(basis.get_dofs(name).flatten(), wall)[0])
        for name in ("rim_plane", "shank_end")
    ]
    corner = basis.doflocs[:, edges[0]]
    offset = 2 * (place - corner[:, None, None]) / corner[1] ** 2
    at_rim = np.asarray(np.isin(basis.element_dofs, problem.rim).any(axis=0))
    chunks = problem.equations.chunks()
    beside_rim = [np.flatnonzero(at_rim[chunk]) for chunk in chunks]
    inflow = np.zeros_like(problem.boundary.values)
    inflow[problem.rim] = problem.boundary.values[problem.rim]
    given = [
        problem.equations.field_state(inflow, chunk)[:, rows]
        for chunk, rows in zip(chunks, beside_rim, strict=True)
    ]
    feet, away = problem.equations.nearest_wall() or (None, None)
    by_offset = np.where(share < 1, offset, 0)
    at_edges = edges[0], edges[1], beside_rim, given
    return MovingPoints(place[1], share, by_offset, *at_edges, feet, away)


@dataclass(frozen=True)
class _Chunk:
    """Some elements: their state, and the integrand and its derivative there.

    `by_test` is the integrand by values and slopes of its tests, pressure and grad-div among it,
    and `grad_div` their parameter at the points.
    """

    elements: slice
    beside_rim: Ints
    given: Floats
    state: Floats
    entries: Entries
    place: ByPlace
    grad_div: Floats
    pressure: Floats
    divergence: Floats
    by_test: Floats


class LinearForm:
    """The weak form's derivatives at one state.

    Parameters
    ----------
    problem : Problem
        Equations and given values on a mesh.
    points : MovingPoints
        Those of that mesh.
    unknowns : ndarray, shape (unknowns,)
        The state.
    reynolds : float
        Its Reynolds number.
    """

    def __init__(
        self, problem: Problem, points: MovingPoints, unknowns: Floats, reynolds: float
    ) -> None:
        self.problem, self.points, self.unknowns = problem, points, unknowns
        space, equations = problem.space, problem.equations
        self.linear = reference_functions(space.pressure_basis)
        self.vertices = space.pressure_basis.element_dofs.T
        self.chunks = []
        chunks = zip(equations.chunks(), points.beside_rim, points.given, strict=True)
        for elements, beside_rim, given in chunks:
            at = equations.linearised(unknowns, reynolds, elements)
            place, (state, flux, entries) = equations.by_place(at, reynolds, elements), at
            grad_div = equations.stabilisation * points.share[elements]
            divergence = self._divergence(state, elements)
            pressure = self._pressure(unknowns, elements)
            _add_divergence(flux, grad_div * divergence - pressure, points.radius[elements])
            of_flow = grad_div, pressure, divergence
            self.chunks.append(
                _Chunk(elements, beside_rim, given, state, entries, place, *of_flow, flux)
            )
        self._tested: tuple[Floats, list[tuple[Floats, ...]]] | None = None

    @property
    def derivatives(self) -> list[Entries]:
        """The integrand's derivative by the state on each chunk of elements."""
        return [chunk.entries for chunk in self.chunks]

    def by_unknowns(self, tests: Floats) -> Floats:
        """Derivative of the residual's product with a test vector by every unknown, (unknowns,)."""
        space, outlet = self.problem.space, self.problem.outlet
        tables, nodes, vertices = space.tables, space.nodes, int(space.pressure_basis.N)
        found = np.zeros_like(self.unknowns)
        own = range(space.unknowns, len(found), vertices)
        quadratic = tables.element_dofs, (tables.functions, tables.slopes)
        fields = [(0, *quadratic), (nodes, *quadratic)]
        fields += [(start, self.vertices, self.linear) for start in own]
        for chunk, (_, divergence, _, by_state) in self._against_tests(tests):
            weights = tables.weights[chunk.elements]
            inverse = tables.inverse_jacobian[:, :, chunk.elements]
            for field, (start, dofs, functions) in enumerate(fields):
                parts = by_state[3 * field : 3 * field + 3] * weights
                _add(found, start + dofs[chunk.elements], _against(parts, functions, inverse))
            by_pressure = -(divergence * weights) @ self.linear[0].T
            _add(found, 2 * nodes + self.vertices[chunk.elements], by_pressure)
        if outlet is not None:
            slope = outlet_derivative(outlet, space.velocity(self.unknowns))
            local = np.einsum("fij,fi->fj", slope, tests[outlet.velocity_dofs])
            _add(found, outlet.velocity_dofs, local)
        return found

    def by_shape(self, tests: Floats) -> tuple[Floats, Floats]:
        """Derivative of that product by the nodes' positions and the model's own numbers.

        The second one is for a further derivative along the branch: see `ByPlace.of_ramp`.

        Returns
        -------
        pair of ndarray, shape (2 * nodes + 5,)
            By axial positions, radial positions (which hold for motions that keep the rim plane
            and the shank end plane, and stretch them), the numbers of `Model.ramp` and the
            logarithm of the throat's diameter.
        """
        problem, space, points = self.problem, self.problem.space, self.points
        tables, nodes = space.tables, space.nodes
        by_nodes, of_model = np.zeros((2, nodes)), np.zeros(OF_MODEL)
        by_distance, of_ramp = np.zeros_like(points.radius), np.zeros((2, 2 * nodes + OF_MODEL))
        rim_radius, shank_radius = space.velocity_basis.doflocs[
            1, [points.rim_edge, points.shank_edge]
        ]
        work = 0.0
        for chunk, (test, divergence, q, by_state) in self._against_tests(tests):
            elements, state, by_test = chunk.elements, chunk.state, chunk.by_test
            weights, r = tables.weights[elements], points.radius[elements]
            inverse = tables.inverse_jacobian[:, :, elements]
            integrand = np.sum(by_test * test, axis=0) - q * chunk.divergence
            place = chunk.place.against(test)
            work += np.sum(integrand * weights)

            slopes = np.zeros((2, 2, *r.shape)) if place.slopes is None else place.slopes
            slopes[0, 0] += integrand
            slopes[1, 1] += integrand
            for first in range(0, len(state), 3):
                of_state, of_test = state[first + 1 : first + 3], test[first + 1 : first + 3]
                for j in (0, 1):
                    slopes[:, j] -= by_state[first + 1 + j] * of_state
                    slopes[:, j] -= by_test[first + 1 + j] * of_test

            by_share = chunk.grad_div * chunk.divergence * divergence
            of_model[-1] -= np.sum(by_share * weights)
            beyond = points.share[elements] < 1
            by_edge = np.where(beyond, by_share, 0)
            toward = problem.equations.stabilisation * chunk.divergence * divergence
            toward = toward * points.by_offset[:, elements]
            by_nodes[:, points.rim_edge] -= np.sum(toward * weights, axis=(1, 2))
            by_nodes[1, points.rim_edge] -= 2 / rim_radius * np.sum(by_edge * weights)

            value = toward
            both = chunk.grad_div * chunk.divergence - chunk.pressure
            hoop = (chunk.grad_div * divergence - q) * state[3] + both * test[3]
            value[1] += integrand / r + place.radius - hoop / r**2
            if place.distance is not None and points.away is not None:
                value += place.distance * points.away[:, elements]
                by_distance[elements] = place.distance * weights
            for component in (0, 1):
                parts = np.stack([value[component], *slopes[component]]) * weights
                local = _against(parts, (tables.functions, tables.slopes), inverse)
                _add(by_nodes[component], tables.element_dofs[elements], local)
            for blur, total in enumerate(of_ramp):
                chosen, found = chunk.place.of_ramp(test, bool(blur))
                found = found * weights[chosen]
                dofs = tables.element_dofs[elements][chosen]
                _add(total, dofs, found[0] @ tables.functions.T)
                total[2 * nodes : -1] += found[1:].sum(axis=(1, 2))
            # the given velocity, and the tests' over the flux, fall with the rim plane's area
            rows = chunk.beside_rim
            work += np.sum(by_state[:, rows] * chunk.given * weights[rows])
        if points.feet is not None and points.away is not None:
            for component, along in enumerate(points.away):
                by_nodes[component] -= points.feet.T @ (by_distance * along).ravel()
        if problem.outlet is not None:
            velocity = space.velocity(self.unknowns)
            held = float(outlet_residual(problem.outlet, velocity) @ tests[:nodes])
            by_nodes[1, points.shank_edge] += 2 / shank_radius * held
            work += held
        by_nodes[1, points.rim_edge] -= 2 / rim_radius * work
        sharp, blurred = np.concatenate([by_nodes.ravel(), of_model]) + of_ramp
        return sharp, blurred

    def _pressure(self, vector: Floats, elements: slice) -> Floats:
        nodal = self.problem.space.pressure(vector)[self.vertices[elements]]
        return np.asarray(nodal @ self.linear[0])

    def _divergence(self, state: Floats, elements: slice) -> Floats:
        return np.asarray(state[1] + state[5] + state[3] / self.points.radius[elements])

    def _against_tests(self, tests: Floats) -> Iterator[tuple[_Chunk, tuple[Floats, ...]]]:
        """Each chunk, with values and slopes of tests, their divergence, the pressure's test.

        Last the derivative of the integrand times them by values and slopes of the unknowns.  Both
        derivatives by the same tests find what the first one has made.
        """
        if self._tested is None or self._tested[0] is not tests:
            self._tested = tests, [self._of_tests(chunk, tests) for chunk in self.chunks]
        return zip(self.chunks, self._tested[1], strict=True)

    def _of_tests(self, chunk: _Chunk, tests: Floats) -> tuple[Floats, ...]:
        elements = chunk.elements
        test = self.problem.equations.field_state(tests, elements)
        divergence, q = self._divergence(test, elements), self._pressure(tests, elements)
        found = np.zeros_like(chunk.state)
        for (row, column), entry in chunk.entries.items():
            found[column] += entry * test[row]
        _add_divergence(found, chunk.grad_div * divergence - q, self.points.radius[elements])
        return test, divergence, q, found


def _add_divergence(found: Floats, factor: Floats, radius: Floats) -> None:
    """Add a factor of the divergence to what stands against values and slopes."""
    found[1] += factor
    found[3] += factor / radius
    found[5] += factor


def _against(parts: Floats, functions: tuple[Floats, Floats], inverse: Floats) -> Floats:
    """Weighted value and slopes (3, e, Q) against the functions of an element, shape (e, k)."""
    values, slopes = functions
    found = parts[0] @ values.T
    for along, slope in enumerate(slopes):
        found += (parts[1] * inverse[along, 0] + parts[2] * inverse[along, 1]) @ slope.T
    return np.asarray(found)


def _add(found: Floats, dofs: Ints, local: Floats) -> None:
    found += np.bincount(dofs.ravel(), local.ravel(), minlength=len(found))
