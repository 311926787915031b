r"""Convection and its derivative, assembled from precomputed basis tables.

.. math::
   c(u; v) = \int (u\cdot\nabla u)\cdot v\; r\,dx\,dr, \qquad
   c'(u)(w, v) = \int \big[(u\cdot\nabla w) + (w\cdot\nabla u)\big]\cdot v\; r\,dx\,dr.

On the reference triangle every product of two basis functions is the same table for all
elements, so the element matrices of the whole mesh are four dense matrix products of the shape
(elements × 3 points) · (3 points × 36).  That is what makes a Newton step cost little more than
its factorisation.
"""

from dataclasses import dataclass

import numpy as np
from skfem import Basis

from borestudy.fem import Floats, Ints


@dataclass(frozen=True)
class ConvectionTables:
    """What convection needs of a mesh; E elements, Q quadrature points, 6 functions.

    Attributes
    ----------
    element_dofs : ndarray, shape (E, 6)
        Nodes of each element, numbered as in the scalar basis.
    functions, slopes : ndarray, shape (6, Q) and (2, 6, Q)
        Basis functions and their reference derivatives.
    weights : ndarray, shape (E, Q)
        Quadrature weight times Jacobian determinant times radius.
    inverse_jacobian : ndarray, shape (2, 2, E, Q)
        Reference coordinate by physical coordinate.
    products : ndarray, shape (3 Q, 36)
        Test function times: first and second reference derivative of the trial, the trial.
    """

    element_dofs: Ints
    functions: Floats
    slopes: Floats
    weights: Floats
    inverse_jacobian: Floats
    products: Floats


def convection_tables(basis: Basis) -> ConvectionTables:
    """Tables of a scalar quadratic basis on a (curved) triangle mesh in the (x, r) plane."""
    points, point_weights = basis.quadrature
    functions, slopes = reference_functions(basis)
    inverse = np.asarray(basis.mapping.invDF(points))
    radius = np.asarray(basis.global_coordinates())[1]
    weights = np.abs(basis.mapping.detDF(points)) * point_weights * radius
    trials = np.concatenate([slopes, functions[None]])
    products = np.einsum("iq,kjq->kqij", functions, trials).reshape(-1, 36)
    nodes = np.ascontiguousarray(basis.element_dofs.T)
    return ConvectionTables(nodes, functions, slopes, weights, inverse, products)


def reference_functions(basis: Basis, points: Floats | None = None) -> tuple[Floats, Floats]:
    """Basis functions (k, Q) and their reference derivatives (2, k, Q).

    They are taken at reference points (2, Q), by default those of the basis' quadrature.
    """
    points = basis.quadrature[0] if points is None else points
    local = [basis.elem.lbasis(points, number) for number in range(basis.Nbfun)]
    slopes = np.array([slope for _, slope in local]).transpose(1, 0, 2)
    return np.array([function for function, _ in local]), slopes


def velocity_and_gradient(tables: ConvectionTables, velocity: Floats) -> tuple[Floats, Floats]:
    """As `value_and_gradient`, of fields (c, n) by their values at the velocity's nodes."""
    nodal = velocity[:, tables.element_dofs]
    return value_and_gradient(nodal, tables.functions, tables.slopes, tables.inverse_jacobian)


def value_and_gradient(
    nodal: Floats, functions: Floats, slopes: Floats, inverse: Floats
) -> tuple[Floats, Floats]:
    """Values (c, E, Q) and gradients (c, 2, E, Q) of c fields at the quadrature points.

    `nodal` has shape (c, E, k); the tables are as in `ConvectionTables`, of k functions.
    """
    gradient = (nodal @ slopes[0])[:, None] * inverse[0]
    gradient += (nodal @ slopes[1])[:, None] * inverse[1]
    return nodal @ functions, gradient


def convection_residual(tables: ConvectionTables, velocity: Floats) -> Floats:
    """c(u; v) for every test function, shape (2, n_nodes)."""
    value, gradient = velocity_and_gradient(tables, velocity)
    acceleration = (value[0] * gradient[:, 0] + value[1] * gradient[:, 1]) * tables.weights
    local = acceleration @ tables.functions.T
    count = velocity.shape[1]
    nodes = tables.element_dofs.ravel()
    return np.stack([np.bincount(nodes, part.ravel(), minlength=count) for part in local])


def convection_derivative(
    tables: ConvectionTables, velocity: Floats, inverse_step: Floats | None = None
) -> Floats:
    """Element matrices of c'(u), shape (4, E, 36): blocks xx, xr, rx, rr, test before trial.

    With `inverse_step`, shape (E,), that many mass matrices are added to blocks xx and rr.
    """
    value, gradient = velocity_and_gradient(tables, velocity)
    value = value * tables.weights
    gradient = gradient * tables.weights
    inverse = tables.inverse_jacobian
    along = [value[0] * inverse[k, 0] + value[1] * inverse[k, 1] for k in range(2)]
    count = tables.weights.shape[1]
    transport, shear = tables.products[: 2 * count], tables.products[2 * count :]
    carried = np.concatenate(along, axis=1) @ transport
    blocks = np.empty((4, *carried.shape))
    for block, (test, trial) in enumerate(((0, 0), (0, 1), (1, 0), (1, 1))):
        np.matmul(gradient[test, trial], shear, out=blocks[block])
    if inverse_step is not None:
        carried += (inverse_step[:, None] * tables.weights) @ shear
    blocks[0] += carried
    blocks[3] += carried
    return blocks
