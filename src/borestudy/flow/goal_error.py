r"""What the mesh leaves of the pressure drop: the residual, weighted by the adjoint solution.

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
from numpy.typing import NDArray
from scipy import sparse
from skfem import ElementTriP3

from borestudy.fem.recovery import embedding, recovery

from .convection import reference_functions, value_and_gradient, velocity_and_gradient
from .discretisation import inlet_edge_distance
from .newton import FlowState, Problem


@dataclass(frozen=True)
class GoalError:
    """One mesh with what a weighted residual needs of it.

    Attributes
    ----------
    task : Problem
        The mesh's problem.
    nodes : ndarray, shape (E, 10)
        Of the adjoint velocity's gain, which is cubic, as its pressure's is quadratic.
    functions : pair of ndarray
        The cubic basis functions and their reference derivatives.  The quadrature is that of the
        solution, of order 6 where the weighted convection on straight triangles is of order 7.
    velocity_gain : pair of sparse matrices
        From the adjoint's axial and radial velocity to what recovery adds to it; zero where the
        velocity is given.
    pressure_gain : sparse matrix
        The same for its pressure.
    """

    task: Problem
    nodes: NDArray[np.int64]
    functions: tuple[NDArray[np.float64], NDArray[np.float64]]
    velocity_gain: tuple[sparse.csr_matrix, sparse.csr_matrix]
    pressure_gain: sparse.csr_matrix

    def missing(self, state: FlowState) -> float:
        """The exact pressure drop less the computed one, scaled."""
        task, space, tables = self.task, self.task.space, self.task.space.tables
        (u, w), ((u_x, u_r), (w_x, w_r)) = velocity_and_gradient(
            tables, space.velocity(state.unknowns)
        )
        adjoint = space.velocity(state.adjoint)
        gain = np.stack([part @ z for part, z in zip(self.velocity_gain, adjoint, strict=True)])
        (v, y), ((v_x, v_r), (y_x, y_r)) = value_and_gradient(
            gain[:, self.nodes], *self.functions, tables.inverse_jacobian
        )
        linear, quadratic = space.pressure_basis, space.velocity_basis
        p = space.pressure(state.unknowns)[linear.element_dofs.T] @ reference_functions(linear)[0]
        q = (self.pressure_gain @ space.pressure(state.adjoint))[quadratic.element_dofs.T]
        q = q @ tables.functions
        r = np.asarray(quadratic.global_coordinates())[1]
        divergence, of_test = u_x + w_r + w / r, v_x + y_r + y / r
        strain = 2 * u_x * v_x + 2 * w_r * y_r + (u_r + w_x) * (v_r + y_x) + 2 * w * y / r**2
        integrand = (
            (u * u_x + w * u_r) * v
            + (u * w_x + w * w_r) * y
            + strain / state.reynolds
            - p * of_test
            - q * divergence
            + task.stabilisation * inlet_edge_distance(quadratic) * divergence * of_test
        )
        return float(np.sum(integrand * tables.weights))


def goal_error(task: Problem) -> GoalError:
    """Prepare a mesh for estimates of the pressure drop's error."""
    quadratic, linear = task.space.velocity_basis, task.space.pressure_basis
    cubic = quadratic.with_element(ElementTriP3())
    gain = recovery(quadratic, cubic, 3) - embedding(quadratic, cubic)
    held = np.ones((2, cubic.N))
    for boundary in ("rim_plane", "wall", "shank_end"):
        held[:, cubic.get_dofs(boundary).flatten()] = 0
    held[1, cubic.get_dofs("axis").flatten()] = 0
    axial, radial = (sparse.csr_matrix(sparse.diags(row) @ gain) for row in held)
    of_pressure = recovery(linear, quadratic, 2) - embedding(linear, quadratic)
    return GoalError(
        task, cubic.element_dofs.T, reference_functions(cubic), (axial, radial), of_pressure
    )
