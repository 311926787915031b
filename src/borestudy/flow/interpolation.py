"""Values of a finite-element velocity or pressure at any points: other meshes, sections, lines.

Elements are found through the nearest centroids and treated as straight-sided; beside a curved
wall a point may fall just outside every straight triangle, and then the nearest element's
polynomial is continued to it.
"""

import numpy as np
from scipy.spatial import cKDTree

from borestudy.fem import Floats, Ints

from .discretisation import Discretisation

#: How many nearest centroids are searched, widening for points not found: flat elements need more.
CANDIDATES = (8, 32, 128)
INSIDE = -1e-9


def locate(space: Discretisation, points: Floats) -> tuple[Ints, Floats]:
    """Element and reference coordinates of scaled points.

    Parameters
    ----------
    space : Discretisation
        Finite-element space of the unknowns.
    points : ndarray, shape (2, n)
        Scaled positions.

    Returns
    -------
    element : ndarray, shape (n,)
    local : ndarray, shape (2, n)
    """
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


def quadratic_functions(local: Floats) -> Floats:
    """The six quadratic basis functions at reference points (2, n), shape (6, n)."""
    second, third = local
    first = 1 - second - third
    return np.stack(
        [
            first * (2 * first - 1),
            second * (2 * second - 1),
            third * (2 * third - 1),
            4 * first * second,
            4 * second * third,
            4 * first * third,
        ]
    )


def velocity_at(space: Discretisation, unknowns: Floats, points: Floats) -> Floats:
    """Scaled velocity at scaled points, shape (2, n)."""
    element, local = locate(space, points)
    nodal = space.velocity(unknowns)[:, space.velocity_basis.element_dofs[:, element]]
    return np.einsum("cin,in->cn", nodal, quadratic_functions(local))


def transfer(source: Discretisation, fields: Floats, target: Discretisation) -> Floats:
    """Carry unknowns from one mesh to another.

    Parameters
    ----------
    source, target : Discretisation
        Finite-element spaces of the given unknowns and of the result.
    fields : ndarray, shape (k, unknowns on the source's mesh)
        Several states at once, of any model: all fields after the velocity are linear.

    Returns
    -------
    ndarray, shape (k, unknowns on the target's mesh)
    """
    nodes = source.nodes
    element, local = locate(source, target.velocity_basis.doflocs)
    functions = quadratic_functions(local)
    dofs = source.velocity_basis.element_dofs[:, element]
    velocity = np.einsum(
        "kcin,in->kcn", fields[:, : 2 * nodes].reshape(-1, 2, nodes)[:, :, dofs], functions
    )
    element, local = locate(source, target.pressure_basis.doflocs)
    barycentric = np.stack([1 - local[0] - local[1], local[0], local[1]])
    dofs = source.pressure_basis.element_dofs[:, element]
    linear = fields[:, 2 * nodes :].reshape(len(fields), -1, source.pressure_basis.N)
    others = np.einsum("kcin,in->kcn", linear[:, :, dofs], barycentric)
    return np.concatenate([part.reshape(len(fields), -1) for part in (velocity, others)], axis=1)
