"""Velocity, its gradient and pressure along lines of element edges, curved ones included.

The reference coordinates of a point on an edge are known outright, so nothing is inverted; that
holds on flat curved elements too, where inverting the mapping by iteration can fail.
"""

from dataclasses import dataclass

import numpy as np

from borestudy.fem import Floats, Ints

from .convection import reference_functions
from .discretisation import Discretisation

#: Reference corners of the edges 01, 12, 02 of a triangle.
REFERENCE_EDGES = np.array([[[0, 0], [1, 0]], [[1, 0], [0, 1]], [[0, 0], [0, 1]]], dtype=float)


@dataclass(frozen=True)
class EdgeTables:
    """Basis functions on F edges with q Gauss points each.

    Attributes
    ----------
    element : ndarray, shape (F,)
        The element each edge is seen from.
    position, normal : ndarray, shape (2, F, q)
        Scaled position and unit normal out of the element the edge is seen from.
    length : ndarray, shape (F, q)
        Quadrature weight times line element.
    functions, slopes : ndarray, shape (F, q, 6) and (2, F, q, 6)
        Velocity basis functions and their derivatives by position.
    pressure_functions : ndarray, shape (F, q, 3)
    velocity_dofs, pressure_dofs : ndarray, shape (F, 6) and (F, 3)
    """

    element: Ints
    position: Floats
    normal: Floats
    length: Floats
    functions: Floats
    slopes: Floats
    pressure_functions: Floats
    velocity_dofs: Ints
    pressure_dofs: Ints

    @property
    def weights(self) -> Floats:
        """Line element times radius, shape (F, q)."""
        return self.length * self.position[1]

    def velocity(self, nodal: Floats) -> Floats:
        """Values of nodal velocity components (c, n), shape (c, F, q)."""
        return np.einsum("fqi,cfi->cfq", self.functions, nodal[..., self.velocity_dofs])

    def gradient(self, nodal: Floats) -> Floats:
        """Gradients of nodal velocity components (c, n), shape (c, 2, F, q)."""
        return np.einsum("dfqi,cfi->cdfq", self.slopes, nodal[..., self.velocity_dofs])

    def pressure(self, nodal: Floats) -> Floats:
        """Values of a nodal pressure (m,), shape (F, q)."""
        return np.einsum("fqi,fi->fq", self.pressure_functions, nodal[self.pressure_dofs])


def edge_tables(space: Discretisation, edges: Ints, points: int = 4) -> EdgeTables:
    """Tables on the mesh edges with the given numbers, in that order; Gauss points an edge."""
    mesh = space.mesh
    element = mesh.f2t[0, edges]
    which = np.argmax(mesh.t2f[:, element] == edges, axis=0)
    knots, knot_weights = np.polynomial.legendre.leggauss(points)
    share = 0.5 * (knots + 1)
    start, stop = REFERENCE_EDGES[:, 0], REFERENCE_EDGES[:, 1]
    local = start[:, :, None] + (stop - start)[:, :, None] * share
    basis = space.velocity_basis
    tables = [reference_functions(basis, points_of) for points_of in local]
    functions = np.array([values for values, _ in tables]).transpose(0, 2, 1)
    slopes = np.array([slopes for _, slopes in tables]).transpose(1, 0, 3, 2)
    linear = space.pressure_basis
    barycentric = np.array([reference_functions(linear, points_of)[0].T for points_of in local])
    geometry = mesh.doflocs[:, basis.element_dofs[:, element]]
    position = np.einsum("fqi,cif->cfq", functions[which], geometry)
    jacobian = np.einsum("kfqi,cif->ckfq", slopes[:, which], geometry)
    inverse = np.linalg.inv(jacobian.transpose(2, 3, 0, 1)).transpose(2, 3, 0, 1)
    direction = (stop - start)[which]
    tangent = np.einsum("ckfq,fk->cfq", jacobian, direction)
    speed = np.hypot(*tangent)
    normal = np.stack([tangent[1], -tangent[0]]) / speed
    inside = geometry[:, :3].mean(axis=1)[:, :, None]
    outward = np.sign(np.sum((position - inside) * normal, axis=0))
    return EdgeTables(
        element=element,
        position=position,
        normal=normal * outward,
        length=speed * (0.5 * knot_weights),
        functions=functions[which],
        slopes=np.einsum("kfqi,kdfq->dfqi", slopes[:, which], inverse),
        pressure_functions=barycentric[which],
        velocity_dofs=basis.element_dofs[:, element].T,
        pressure_dofs=linear.element_dofs[:, element].T,
    )
