r"""Meshes that move with the wall: the same triangles, their nodes moved smoothly.

The wall's nodes move as the wall does.  The rim plane, the shank end and the sections between the
parts stay plane: their nodes move along the axis as the section's edge does, and outward in
proportion to their radius.  Inside, each component of the motion is harmonic, by linear elements on
the triangles' corners; a node in the middle of a side moves by the mean of its ends.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import splu
from skfem import Basis, BilinearForm, ElementTriP1, MeshTri, MeshTri2, asm
from skfem.helpers import dot, grad

from borestudy.bore import Bore, Dimension, places_on_wall
from borestudy.fem import Floats


def node_velocities(mesh: MeshTri2, bore: Bore, dimensions: Sequence[Dimension]) -> Floats:
    """Motion of all nodes of a mesh with each dimension of its bore.

    Parameters
    ----------
    mesh : MeshTri2
        Mesh of the bore in metres, with its boundaries.
    bore : Bore
        What was meshed.
    dimensions : sequence of Dimension
        Dimensions of that bore.

    Returns
    -------
    ndarray, shape (n_dimensions, 2, n_nodes)
        Derivative of the position of each node of ``mesh.doflocs`` by each dimension, SI.
    """
    facets = mesh.boundaries["wall"]
    ends, middles = np.unique(mesh.facets[:, facets]), mesh.dofs.facet_dofs[0, facets]
    wall = np.concatenate([ends, middles])
    places = places_on_wall(bore, mesh.doflocs[:, wall])
    found = np.zeros((len(dimensions), 2, mesh.doflocs.shape[1]))
    for motion, dimension in zip(found, dimensions, strict=True):
        motion[:, wall] = dimension.velocity(places)
    held = [ends]
    for name, chosen in mesh.boundaries.items():
        if name in ("wall", "axis"):
            continue
        line = np.unique(mesh.facets[:, chosen])
        edge = line[np.argmax(mesh.p[1, line])]
        found[:, 0, line] = found[:, 0, edge, None]
        found[:, 1, line] = found[:, 1, edge, None] * mesh.p[1, line] / mesh.p[1, edge]
        held.append(line)
    held_axially = np.unique(np.concatenate(held))
    on_axis = np.unique(mesh.facets[:, mesh.boundaries["axis"]])
    corners = np.ascontiguousarray(mesh.doflocs[:, : mesh.nvertices])
    stiffness = asm(_laplace, Basis(MeshTri(corners, mesh.t[:3]), ElementTriP1())).tocsc()
    for component, fixed in ((0, held_axially), (1, np.union1d(held_axially, on_axis))):
        _extend(stiffness, fixed, found[:, component, : mesh.nvertices])
    edges, middle_of = mesh.facets, mesh.dofs.facet_dofs[0]
    inside = np.setdiff1d(np.arange(edges.shape[1]), facets)
    first, last = edges[:, inside]
    found[:, :, middle_of[inside]] = (found[:, :, first] + found[:, :, last]) / 2
    return found


def moved(mesh: MeshTri2, displacement: Floats) -> MeshTri2:
    """The mesh with each node displaced, shape (2, n_nodes) [m]: same triangles, same names.

    Raises
    ------
    ValueError
        If a triangle would turn inside out.
    """
    found = replace(mesh, doflocs=mesh.doflocs + displacement)
    signs = [np.sign(_areas(one)) for one in (mesh, found)]
    if (signs[0] != signs[1]).any():
        raise ValueError("the mesh cannot be moved so far: a triangle turns inside out")
    return found


@BilinearForm
def _laplace(u, v, w):  # type: ignore[no-untyped-def]
    """∫ ∇u·∇v dA"""
    return dot(grad(u), grad(v))


def _extend(stiffness: sparse.csc_matrix, fixed: Floats, values: Floats) -> None:
    """Fill values (n_motions, n_vertices) harmonically from those of fixed vertices."""
    free = np.setdiff1d(np.arange(values.shape[1]), fixed)
    load = -(stiffness[free][:, fixed] @ values[:, fixed].T)
    values[:, free] = splu(stiffness[free][:, free].tocsc()).solve(load).T


def _areas(mesh: MeshTri2) -> Floats:
    (x0, x1, x2), (r0, r1, r2) = mesh.doflocs[:, mesh.t[:3]]
    return np.asarray((x1 - x0) * (r2 - r0) - (x2 - x0) * (r1 - r0))
