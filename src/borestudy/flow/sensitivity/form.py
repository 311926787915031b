"""The weak form against a test vector, and its derivatives by the unknowns and by the mesh."""

from dataclasses import dataclass

import numpy as np
from scipy import sparse

from borestudy.fem import Floats, Ints
from borestudy.flow.boundary import outlet_derivative, outlet_residual
from borestudy.flow.convection import reference_functions
from borestudy.flow.discretisation import inlet_edge_distance
from borestudy.flow.problem import Problem

#: Derivatives that follow those by the nodes: by the four numbers of `Model.ramp_in`, and by the
#: logarithm of the throat's diameter.
OF_MODEL = 5


@dataclass(frozen=True)
class MovingPoints:
    """What the quadrature points of a mesh take from nodes elsewhere; E elements, Q points.

    Attributes
    ----------
    share, by_offset : ndarray, shape (E, Q) and (2, E, Q)
        Share of the grad-div term, and its derivative by the offset from the rim's edge.
    rim_edge, shank_edge : int
        Nodes where the wall meets the rim plane and the shank end.
    feet : csr matrix, shape (E * Q, nodes), or None
        What the nearest points of the wall take of each node's motion.
    away : ndarray, shape (2, E, Q), or None
        Unit vectors from there.
    """

    share: Floats
    by_offset: Floats
    rim_edge: int
    shank_edge: int
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
    feet, away = problem.equations.nearest_wall() or (None, None)
    return MovingPoints(share, np.where(share < 1, offset, 0), edges[0], edges[1], feet, away)


@dataclass(frozen=True)
class _Group:
    """Some elements: where they are, and the integrand and its derivative there."""

    elements: slice
    state: Floats
    flux: Floats
    entries: list[tuple[int, int, Floats]]
    pressure: Floats
    divergence: Floats


class LinearForm:
    """The weak form's derivatives at one state.

    Parameters
    ----------
    problem : Problem
    points : MovingPoints
        Those of the problem.
    unknowns : ndarray, shape (unknowns,)
    reynolds : float
    """

    def __init__(
        self, problem: Problem, points: MovingPoints, unknowns: Floats, reynolds: float
    ) -> None:
        self.problem, self.points = problem, points
        self.unknowns, self.reynolds = unknowns, reynolds
        space = problem.space
        self.radius = np.asarray(space.velocity_basis.global_coordinates())[1]
        self.linear = reference_functions(space.pressure_basis)
        self.vertices = space.pressure_basis.element_dofs.T
        self.groups = []
        for elements in problem.equations.chunks():
            state, flux, entries = problem.equations.linearised(unknowns, reynolds, elements)
            divergence = state[1] + state[5] + state[3] / self.radius[elements]
            pressure = self._pressure(unknowns, elements)
            listed = [(row, column, entry) for (row, column), entry in entries.items()]
            self.groups.append(_Group(elements, state, flux, listed, pressure, divergence))

    def by_unknowns(self, tests: Floats) -> Floats:
        """Derivative of the residual's product with a test vector by every unknown, (unknowns,)."""
        problem, space = self.problem, self.problem.space
        tables, nodes = space.tables, space.nodes
        found = np.zeros_like(self.unknowns)
        for group in self.groups:
            _, by_state, by_pressure = self._tested(group, tests)
            weights = tables.weights[group.elements]
            inverse = tables.inverse_jacobian[:, :, group.elements]
            starts = [0, nodes, *range(space.unknowns, len(found), int(space.pressure_basis.N))]
            for field, start in enumerate(starts):
                quadratic = field < 2
                functions = (tables.functions, tables.slopes) if quadratic else self.linear
                dofs = (tables.element_dofs if quadratic else self.vertices)[group.elements]
                local = _against(by_state[3 * field : 3 * field + 3] * weights, functions, inverse)
                _add(found, start + dofs, local)
            local = (by_pressure * weights) @ self.linear[0].T
            _add(found, 2 * nodes + self.vertices[group.elements], local)
        outlet = problem.outlet
        if outlet is not None:
            slope = outlet_derivative(outlet, space.velocity(self.unknowns))
            local = np.einsum("fij,fi->fj", slope, tests[outlet.velocity_dofs])
            _add(found, outlet.velocity_dofs, local)
        return found

    def by_shape(self, tests: Floats, by_unknowns: Floats) -> Floats:
        """Derivative of that product by the nodes' positions and the model's own numbers.

        `by_unknowns` are the unknowns' derivatives of the same tests, of which those of the given
        velocity count.

        Returns
        -------
        ndarray, shape (2 * nodes + 5,)
            By axial positions, radial positions (which hold for motions that keep the rim plane
            and the shank end plane, and stretch them), the numbers of `Model.ramp_in` and the
            logarithm of the throat's diameter.
        """
        problem, space, points = self.problem, self.problem.space, self.points
        tables, nodes = space.tables, space.nodes
        by_nodes, of_model = np.zeros((2, nodes)), np.zeros(OF_MODEL)
        work, by_distance = 0.0, np.zeros_like(self.radius)
        of_edge = np.zeros(2)
        (edge_radius, end_radius) = space.velocity_basis.doflocs[
            1, [points.rim_edge, points.shank_edge]
        ]
        for group in self.groups:
            elements, state = group.elements, group.state
            weights, r = tables.weights[elements], self.radius[elements]
            test, by_state, _ = self._tested(group, tests)
            by_test = self._against_tests(group)
            of_tests = test[1] + test[5] + test[3] / r
            product = group.divergence * of_tests
            integrand = np.sum(by_test * test, axis=0)
            q = self._pressure(tests, elements)
            integrand -= q * group.divergence
            place = problem.equations.by_place(state, test, self.reynolds, elements)
            stabilised = problem.equations.stabilisation * points.share[elements]
            hoop = (stabilised * of_tests - q) * state[3]
            hoop += (stabilised * group.divergence - group.pressure) * test[3]

            by_slopes = np.zeros((2, 2, *r.shape))  # of V's component k along j
            by_slopes[0, 0] = by_slopes[1, 1] = integrand
            for field in range(0, len(state), 3):
                for j in range(2):
                    by_slopes[:, j] -= by_state[field + 1 + j] * state[field + 1 : field + 3]
                    by_slopes[:, j] -= by_test[field + 1 + j] * test[field + 1 : field + 3]
            by_value = np.zeros((2, *r.shape))
            by_value[1] = integrand / r + place.radius - hoop / r**2
            of_share = problem.equations.stabilisation * product
            toward = of_share * points.by_offset[:, elements]
            by_value += toward
            inside = points.share[elements] < 1
            of_edge -= np.sum(toward * weights, axis=(1, 2))
            of_edge[1] -= np.sum(
                (2 / edge_radius * of_share * points.share[elements] * weights)[inside]
            )
            if place.metric is not None:
                by_slopes -= self._of_metric(place.metric, elements)
            if place.axial is not None:
                by_value[0] += place.axial
            if place.distance is not None and points.away is not None:
                by_value += place.distance * points.away[:, elements]
                by_distance[elements] = place.distance * weights
            if place.ramp is not None:
                of_model[:-1] += np.sum(place.ramp * weights, axis=(1, 2))
            of_model[-1] -= np.sum(stabilised * product * weights)
            work += np.sum(integrand * weights)
            inverse = tables.inverse_jacobian[:, :, elements]
            dofs, functions = tables.element_dofs[elements], (tables.functions, tables.slopes)
            for component in range(2):
                parts = np.stack([by_value[component], *by_slopes[component]]) * weights
                _add(by_nodes[component], dofs, _against(parts, functions, inverse))
        if points.feet is not None and points.away is not None:
            for component, along in enumerate(points.away):
                by_nodes[component] -= points.feet.T @ (by_distance * along).ravel()
        by_nodes[:, points.rim_edge] += of_edge
        if problem.outlet is not None:
            velocity = space.velocity(self.unknowns)
            held = float(outlet_residual(problem.outlet, velocity) @ tests[:nodes])
            work += held
            by_nodes[1, points.shank_edge] += 2 / end_radius * held
        given = by_unknowns[problem.rim] @ self.unknowns[problem.rim]
        by_nodes[1, points.rim_edge] -= 2 / edge_radius * (given + work)
        return np.concatenate([by_nodes.ravel(), of_model])

    def _pressure(self, vector: Floats, elements: slice) -> Floats:
        nodal = self.problem.space.pressure(vector)[self.vertices[elements]]
        return np.asarray(nodal @ self.linear[0])

    def _tested(self, group: _Group, tests: Floats) -> tuple[Floats, Floats, Floats]:
        """Values and slopes of tests, and derivative of the integrand by the state's and by p."""
        equations, elements = self.problem.equations, group.elements
        r = self.radius[elements]
        test = equations.field_state(tests, elements)
        of_tests = test[1] + test[5] + test[3] / r
        by_state = np.zeros_like(group.state)
        for row, column, entry in group.entries:
            by_state[column] += entry * test[row]
        both = equations.stabilisation * self.points.share[elements] * of_tests
        both -= self._pressure(tests, elements)
        by_state[1] += both
        by_state[3] += both / r
        by_state[5] += both
        return test, by_state, -of_tests

    def _against_tests(self, group: _Group) -> Floats:
        """The integrand by values and slopes of its tests, pressure and grad-div among it."""
        found = group.flux.copy()
        share = self.problem.equations.stabilisation * self.points.share[group.elements]
        both = share * group.divergence - group.pressure
        found[1] += both
        found[3] += both / self.radius[group.elements]
        found[5] += both
        return found

    def _of_metric(self, by_metric: Floats, elements: slice) -> Floats:
        """What is taken off the derivative by V's slopes: the metric falls as the element grows."""
        metric = self.problem.equations.metric(elements)
        (xx, xr, rr), (by_xx, by_xr, by_rr) = metric, by_metric
        whole = np.array([[xx, xr], [xr, rr]])
        return np.stack(
            [
                2 * whole[0] * by_xx + whole[1] * by_xr,
                whole[0] * by_xr + 2 * whole[1] * by_rr,
            ],
            axis=1,
        )


def _against(parts: Floats, functions: tuple[Floats, Floats], inverse: Floats) -> Floats:
    """Weighted value and slopes (3, e, Q) against the functions of an element, shape (e, k)."""
    values, slopes = functions
    found = parts[0] @ values.T
    for along, slope in enumerate(slopes):
        found += (parts[1] * inverse[along, 0] + parts[2] * inverse[along, 1]) @ slope.T
    return np.asarray(found)


def _add(found: Floats, dofs: Ints, local: Floats) -> None:
    found += np.bincount(dofs.ravel(), local.ravel(), minlength=len(found))
