"""Values of a finite-element velocity or pressure at any points: other meshes, sections, lines.

Elements are found through the nearest centroids and treated as straight-sided; beside a curved
wall a point may fall just outside every straight triangle, and then the nearest element's
polynomial is continued to it.
"""

import numpy as np
from scipy.spatial import cKDTree
from skfem import Basis

from borestudy.fem import Floats, Ints

from .convection import reference_functions
from .discretisation import Discretisation

#: How many nearest centroids are searched, widening for points not found: flat elements need more.
CANDIDATES = (8, 32, 128)
INSIDE = -1e-9


def locate(space: Discretisation, points: Floats) -> tuple[Ints, Floats]:
    """Element (n,) and reference coordinates (2, n) of scaled points (2, n)."""
    corners = space.mesh.doflocs[:, space.mesh.t[:3]]
    origin = corners[:, 0]
    edges = corners[:, 1:] - origin[:, None]
    determinant = edges[0, 0] * edges[1, 1] - edges[0, 1] * edges[1, 0]
    # distances are compared in the metric of the whole mesh; flat elements get more candidates
    tree = cKDTree(corners.mean(axis=1).T)
    element = np.zeros(points.shape[1], dtype=np.int64)
    local = np.zeros_like(points)
    missing = np.arange(points.shape[1])
    for count in CANDIDATES:
        nearest = tree.query(points[:, missing].T, k=min(count, corners.shape[2]))[1]
        offset = points[:, missing, None] - origin[:, nearest]
        first, second = edges[:, 0][:, nearest], edges[:, 1][:, nearest]
        a = (offset[0] * second[1] - offset[1] * second[0]) / determinant[nearest]
        b = (first[0] * offset[1] - first[1] * offset[0]) / determinant[nearest]
        depth = np.minimum(np.minimum(a, b), 1 - a - b)
        best = np.argmax(depth, axis=1)
        row = np.arange(len(missing))
        element[missing] = nearest[row, best]
        local[:, missing] = a[row, best], b[row, best]
        missing = missing[depth[row, best] < INSIDE]
        if not len(missing):
            break
    return element, local


def velocity_at(space: Discretisation, unknowns: Floats, points: Floats) -> Floats:
    """Scaled velocity at scaled points, shape (2, n)."""
    element, local = locate(space, points)
    nodal = space.velocity(unknowns)[:, space.velocity_basis.element_dofs[:, element]]
    return np.einsum("cin,in->cn", nodal, reference_functions(space.velocity_basis, local)[0])


def transfer(source: Discretisation, fields: Floats, target: Discretisation) -> Floats:
    """Carry states (k, unknowns) of any model from one mesh to another.

    Several are carried at once; all fields after the velocity are linear.
    """

    def carried(nodal: Floats, basis: Basis, wanted: Basis) -> Floats:
        element, local = locate(source, wanted.doflocs)
        values = nodal.reshape(len(fields), -1, basis.N)[:, :, basis.element_dofs[:, element]]
        functions = reference_functions(basis, local)[0]
        return np.einsum("kcin,in->kcn", values, functions).reshape(len(fields), -1)

    split = 2 * source.nodes
    velocity = carried(fields[:, :split], source.velocity_basis, target.velocity_basis)
    others = carried(fields[:, split:], source.pressure_basis, target.pressure_basis)
    return np.concatenate([velocity, others], axis=1)
