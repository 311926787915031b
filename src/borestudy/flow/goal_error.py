r"""Dual-weighted residual estimate: the pressure drop's error from residual and adjoint solution.

The goal :math:`J` is the work of the traction at the rim plane on the stream, which is the mean
pressure that the stream's flux carries in, and with no traction at the shank end the pressure drop.
With :math:`R(u)(v)` the weak form of :mod:`borestudy.flow.forms`, and any :math:`w` that at the rim
plane is the stream's velocity over its flux and elsewhere on the boundary zero,
:math:`J(u) = R(u)(w)`.  The adjoint solution :math:`z` is the one such :math:`w` with

.. math:: R'(u_h)(v, z) = 0 \quad\text{for all } v \text{ that vanish on the boundary,}

so that, but for a term of second order in the error, :math:`J(u) = R(u_h)(z)`, and

.. math:: J(u) - J(u_h) = R(u_h)(z - z_h)

with the finite-element adjoint :math:`z_h` (Becker & Rannacher 2001, Acta Numerica 10, 1).  The
exact :math:`z` is taken as the one recovered from :math:`z_h` in elements of one order more
(:mod:`borestudy.fem.recovery`), which cannot know what :math:`z_h` does not show: errors at the
singular inlet edge, and of whatever the mesh is far too coarse for, are seen in part only.
"""

from dataclasses import dataclass

import numpy as np
from scipy import sparse
from skfem import ElementTriP3

from borestudy.fem import Floats, Ints
from borestudy.fem.recovery import embedding, recovery

from .convection import reference_functions, value_and_gradient, velocity_and_gradient
from .discretisation import inlet_edge_distance
from .problem import Problem, State


@dataclass(frozen=True)
class GoalError:
    """Estimator of one mesh: the tables that a weighted residual needs.

    Attributes
    ----------
    problem : Problem
    nodes : ndarray, shape (E, 10)
        Nodes of the adjoint velocity's gain, cubic as that of the linear fields is quadratic.
    functions : pair of ndarray
        The cubic basis functions and their reference derivatives.  The quadrature is that of the
        solution, of order 6 where the weighted convection on straight triangles is of order 7.
    velocity_gain : pair of sparse matrices
        Maps from the adjoint's axial and radial velocity to what recovery adds; zero where the
        velocity is given.
    pressure_gain, own_gain : sparse matrix
        Such maps from its pressure and, zero where it is given, from each field of the model.
    """

    problem: Problem
    nodes: Ints
    functions: tuple[Floats, Floats]
    velocity_gain: tuple[sparse.csr_matrix, sparse.csr_matrix]
    pressure_gain: sparse.csr_matrix
    own_gain: sparse.csr_matrix

    def estimate(self, state: State) -> float:
        """The dual-weighted residual: the exact pressure drop less the computed one, scaled.

        Raises
        ------
        ValueError
            If the state was solved without its adjoint.
        """
        if state.adjoint is None:
            raise ValueError("the state has no adjoint; solve it with adjoint=True")
        problem, space, tables = self.problem, self.problem.space, self.problem.space.tables
        linear, quadratic = space.pressure_basis, space.velocity_basis
        adjoint = space.velocity(state.adjoint)
        gain = np.stack([part @ z for part, z in zip(self.velocity_gain, adjoint, strict=True)])
        values, slopes = value_and_gradient(
            gain[:, self.nodes], *self.functions, tables.inverse_jacobian
        )
        own = state.adjoint[space.unknowns :].reshape(-1, linear.N) @ self.own_gain.T
        if len(own):
            more = velocity_and_gradient(tables, own)
            values, slopes = np.concatenate([values, more[0]]), np.concatenate([slopes, more[1]])
        tests = np.concatenate([values[:, None], slopes], axis=1).reshape(-1, *values.shape[1:])
        integrand = np.sum(problem.equations.integrand(state.unknowns, state.reynolds) * tests, 0)
        (_, w), ((u_x, _), (_, w_r)) = velocity_and_gradient(tables, space.velocity(state.unknowns))
        p = space.pressure(state.unknowns)[linear.element_dofs.T] @ reference_functions(linear)[0]
        q = (self.pressure_gain @ space.pressure(state.adjoint))[quadratic.element_dofs.T]
        r = np.asarray(quadratic.global_coordinates())[1]
        divergence, of_test = u_x + w_r + w / r, tests[1] + tests[5] + tests[3] / r
        grad_div = problem.equations.stabilisation * inlet_edge_distance(quadratic)
        integrand += (grad_div * divergence - p) * of_test - q @ tables.functions * divergence
        return float(np.sum(integrand * tables.weights))


def goal_error(problem: Problem) -> GoalError:
    """Prepare a mesh for estimates of the pressure drop's error."""
    quadratic, linear = problem.space.velocity_basis, problem.space.pressure_basis
    cubic = quadratic.with_element(ElementTriP3())
    gain = recovery(quadratic, cubic, 3) - embedding(quadratic, cubic)
    held = np.ones((2, cubic.N))
    for boundary in ("rim_plane", "wall", "shank_end"):
        held[:, cubic.get_dofs(boundary).flatten()] = 0
    held[1, cubic.get_dofs("axis").flatten()] = 0
    axial, radial = (sparse.csr_matrix(sparse.diags(row) @ gain) for row in held)
    of_linear = recovery(linear, quadratic, 2) - embedding(linear, quadratic)
    free = np.ones(quadratic.N)
    free[quadratic.get_dofs({"rim_plane", "wall"}).flatten()] = 0
    return GoalError(
        problem,
        cubic.element_dofs.T,
        reference_functions(cubic),
        (axial, radial),
        of_linear,
        sparse.csr_matrix(sparse.diags(free) @ of_linear),
    )
