r"""Derivatives of the bore's matrices and ports when the nodes of its mesh move.

The pressures at the nodes go with the nodes.  A velocity :math:`V` of the nodes, spread over the
triangles as the geometry itself is, changes a gradient by :math:`-(\nabla V)^T\nabla p` and an area
by :math:`\nabla\cdot V`, so that

.. math::
    \dot K = 2\pi\int \nabla p\cdot[(r\,\nabla\cdot V + V_r) I - r(\nabla V + \nabla V^T)]\nabla q
    \,dA, \qquad
    \dot M = 2\pi\int (r\,\nabla\cdot V + V_r)\,p\,q\,dA .

On the wall a facet :math:`x(t)` has the length :math:`J = |x'|` and the curvature
:math:`\kappa = n_r/r`, of which :math:`\dot J = x'\cdot V'/J` and
:math:`\dot n_r = \pm V_x'/J - n_r\dot J/J`.  With the quadrature of the matrices themselves these
are the exact derivatives of the matrices.

Reference: Delfour, M. C. & Zolésio, J.-P. (2011), Shapes and Geometries, SIAM, ch. 9 (material
derivative; from memory).
"""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix
from skfem import MeshTri2
from skfem.element import ElementLineP2, ElementTriP2
from skfem.quadrature import get_quadrature

from borestudy.acoustics.assembly import (
    FACET_ORDER,
    PORT_NAMES,
    VOLUME_ORDER,
    WALL_ORDER,
    edge_figures,
    port_edge,
)
from borestudy.acoustics.operator import AffineOperator, Port
from borestudy.acoustics.walls import Real, Walls, power_count

TWO_PI = 2 * np.pi
#: Motions whose integrands are kept at once: more take memory, and time to fetch it.
AT_ONCE = 24
#: Share of a facet that the port's edge is moved by for its derivative, which is then good to 1e-9.
EDGE_STEP = 1e-5


def operator_derivatives(
    mesh: MeshTri2, walls: Walls, velocities: Real, basis: Real | None = None
) -> tuple[AffineOperator, ...]:
    """Derivatives of what `assemble` makes of a mesh, by each of some motions of its nodes.

    Parameters
    ----------
    mesh : MeshTri2
        Mesh in metres, whose pressures are of order 2.
    walls : {"lossless", "plain", "curved"}
        As in `assemble`.
    velocities : ndarray, shape (n_motions, 2, n_nodes)
        Of every node of ``mesh.doflocs``.
    basis : ndarray, shape (n_nodes, n_reduced), optional
        Reduced basis that the matrices are projected on; they stay sparse without.

    Returns
    -------
    tuple of AffineOperator
        For each motion, every matrix and port by one unit of the motion.
    """
    return tuple(
        one
        for first in range(0, len(velocities), AT_ONCE)
        for one in _derivatives(mesh, walls, velocities[first : first + AT_ONCE], basis)
    )


def _derivatives(
    mesh: MeshTri2, walls: Walls, velocities: Real, basis: Real | None
) -> tuple[AffineOperator, ...]:
    """Those of a few motions, which are taken together."""
    count, unknowns = len(velocities), mesh.doflocs.shape[1]
    volume, dofs = _volume(mesh, velocities), mesh.dofs.element_dofs
    matrices = [_gathered(local, dofs, unknowns, basis) for local in volume]
    facets = _facet_nodes(mesh, mesh.boundaries["wall"])
    wall, curvature = _wall(mesh, facets, velocities, power_count(walls))
    matrices += [_gathered(local, facets, unknowns, basis) for local in wall]
    ports = [_ports(mesh, name, velocities, basis) for name in PORT_NAMES]
    return tuple(
        AffineOperator(
            matrices=tuple(each[motion] for each in matrices),
            ports=tuple(port[motion] for port in ports),
            walls=walls,
            largest_curvature=float(curvature[motion]),
        )
        for motion in range(count)
    )


def _volume(mesh: MeshTri2, velocities: Real) -> tuple[Real, Real]:
    """Stiffness and mass of every triangle, shape (n_elements, 6, 6, n_motions) each."""
    element = ElementTriP2()
    points, weights = get_quadrature(element.refdom, VOLUME_ORDER)
    values, slopes = (
        np.stack(each) for each in zip(*(element.lbasis(points, a) for a in range(6)), strict=True)
    )  # (6, q), (6, 2, q)
    nodes = mesh.doflocs[:, mesh.dofs.element_dofs]  # (2, 6, e)
    (xs, xt), (rs, rt) = np.tensordot(nodes, slopes, axes=(1, 0)).transpose(0, 2, 1, 3)
    determinant = xs * rt - xt * rs
    total, places, count = nodes.shape[2], len(weights), len(velocities)
    along, outward = slopes.transpose(1, 2, 0)  # (q, 6) each, by the reference coordinates
    gradient = np.empty((total, 2, places, 6))
    for found, (first, second) in zip(
        gradient.transpose(1, 0, 2, 3), ((rt, -rs), (-xt, xs)), strict=True
    ):
        np.multiply(first[..., None], along, out=found)
        found += second[..., None] * outward
    gradient /= determinant[:, None, :, None]
    area = TWO_PI * weights * np.abs(determinant)  # (e, q)
    radius = area * np.tensordot(nodes[1].T, values, 1)
    moving = velocities[:, :, mesh.dofs.element_dofs].transpose(3, 2, 1, 0)  # (e, 6, 2, d)
    moving = np.ascontiguousarray(moving).reshape(total, 6, 2 * count)
    steep = (gradient.reshape(total, 2 * places, 6) @ moving).reshape(total, 2, places, 2, count)
    steep *= radius[:, None, :, None, None]  # [e, j, q, i, d]: of component i by x_j
    growth = (values.T @ moving[..., count:]) * area[..., None]
    growth += steep[:, 0, :, 0] + steep[:, 1, :, 1]
    tensor = np.empty((total, 3, places, count))
    np.subtract(growth, 2 * steep[:, 0, :, 0], out=tensor[:, 0])
    np.add(steep[:, 0, :, 1], steep[:, 1, :, 0], out=tensor[:, 1])
    np.negative(tensor[:, 1], out=tensor[:, 1])
    np.subtract(growth, 2 * steep[:, 1, :, 1], out=tensor[:, 2])
    one, other = np.triu_indices(6)
    by_x, by_r = gradient[:, 0], gradient[:, 1]
    products = np.empty((total, 3, places, len(one)))
    np.multiply(by_x[..., one], by_x[..., other], out=products[:, 0])
    np.multiply(by_x[..., one], by_r[..., other], out=products[:, 1])
    products[:, 1] += by_r[..., one] * by_x[..., other]
    np.multiply(by_r[..., one], by_r[..., other], out=products[:, 2])
    stiffness = products.reshape(total, -1, len(one)).transpose(0, 2, 1) @ tensor.reshape(
        total, -1, count
    )
    mass = (values[one] * values[other]) @ growth
    both = np.empty((6, 6), dtype=int)
    both[one, other] = both[other, one] = np.arange(len(one))
    return stiffness[:, both], mass[:, both]


def _facet_nodes(mesh: MeshTri2, facets: Any) -> NDArray[np.int64]:
    """Both ends and the middle of each facet, shape (3, n_facets)."""
    chosen = np.atleast_1d(facets)
    return np.vstack([mesh.facets[:, chosen], mesh.dofs.facet_dofs[0, chosen]])


def _line(order: int) -> tuple[Real, Real, Real]:
    """Values and slopes of a facet's functions at its quadrature points, (3, q), and weights."""
    element = ElementLineP2()
    points, weights = get_quadrature(element.refdom, order)
    parts = zip(*(element.lbasis(points, a) for a in range(3)), strict=True)
    values, slopes = (np.stack(each) for each in parts)
    return values, slopes[:, 0], weights


def _wall(
    mesh: MeshTri2, facets: NDArray[np.int64], velocities: Real, count: int
) -> tuple[list[Real], Real]:
    """Viscous and thermal matrix of each facet for every power of curvature; and κ where greatest.

    Shapes (n_facets, 3, 3, n_motions), and (n_motions,).
    """
    values, slopes, weights = _line(WALL_ORDER)
    points, moving = mesh.doflocs[:, facets], velocities[:, :, facets]  # (2, 3, f), (d, 2, 3, f)
    tangent = np.einsum("iaf,aq->ifq", points, slopes)
    length, radius = np.linalg.norm(tangent, axis=0), np.einsum("af,aq->fq", points[1], values)
    # the sign that makes (-t_r, t_x) point away from the triangle's inside
    elements = mesh.f2t[0, mesh.boundaries["wall"]]
    inside = mesh.p[:, mesh.t[:3, elements]].mean(axis=1) - points[:, 2]
    chord = points[:, 1] - points[:, 0]
    sign = -np.sign(chord[0] * inside[1] - chord[1] * inside[0])[:, None]
    normal = sign * tangent[0] / length
    turning = np.einsum("diaf,aq->difq", moving, slopes)
    outward = np.einsum("daf,aq->dfq", moving[:, 1], values)
    stretch = (tangent * turning).sum(axis=1) / length
    curvature = normal / radius
    tilt = (sign * turning[:, 0] - normal * stretch) / length
    bend = (tilt - curvature * outward) / radius
    found = []
    for shapes, scale, change in (
        (slopes, radius / length, outward / length - radius * stretch / length**2),
        (values, radius * length, outward * length + radius * stretch),
    ):
        squares = (shapes[:, None] * shapes[None]).reshape(9, -1) * TWO_PI * weights
        for power in range(count):
            rate = curvature**power * change
            if power:
                rate = rate + power * curvature ** (power - 1) * bend * scale
            local = np.einsum("sq,dfq->fsd", squares, rate)
            found.append(local.reshape(facets.shape[1], 3, 3, -1))
    greatest = np.unravel_index(np.argmax(curvature), curvature.shape)
    return found, bend[:, *greatest]


def _gathered(
    local: Real, dofs: NDArray[np.int64], unknowns: int, basis: Real | None
) -> Sequence[Any]:
    """One matrix for each motion, from those of elements (n_elements, k, k, n_motions)."""
    elements, size, _, count = local.shape
    if basis is None:
        rows = np.repeat(dofs.T[:, :, None], size, axis=2).ravel()
        columns = np.repeat(dofs.T[:, None, :], size, axis=1).ravel()
        shape = (unknowns, unknowns)
        return [
            coo_matrix((local[..., motion].ravel(), (rows, columns)), shape).tocsc()
            for motion in range(count)
        ]
    there = basis[dofs.T]  # (e, k, r)
    width = there.shape[2]
    stacked = local.transpose(0, 1, 3, 2).reshape(elements, size * count, size)
    applied = (stacked @ there).reshape(elements * size, count * width)
    dense = (there.reshape(-1, width).T @ applied).reshape(width, count, width)
    return [(each + each.T) / 2 for each in dense.transpose(1, 0, 2)]


def _ports(mesh: MeshTri2, name: str, velocities: Real, basis: Real | None) -> list[Port]:
    """Derivative of a port by each motion."""
    values, slopes, weights = _line(FACET_ORDER)
    facets = _facet_nodes(mesh, mesh.boundaries[name])
    points, moving = mesh.doflocs[:, facets], velocities[:, :, facets]
    tangent = np.einsum("iaf,aq->ifq", points, slopes)
    length, radius = np.linalg.norm(tangent, axis=0), np.einsum("af,aq->fq", points[1], values)
    stretch = (tangent * np.einsum("diaf,aq->difq", moving, slopes)).sum(axis=1) / length
    outward = np.einsum("daf,aq->dfq", moving[:, 1], values)
    local = TWO_PI * np.einsum(
        "aq,q,dfq->daf", values, weights, outward * length + radius * stretch
    )
    wall, port = port_edge(mesh, name)
    nodes = np.concatenate([wall, port])
    place = mesh.doflocs[:, nodes]
    size = np.linalg.norm(place[:, 1] - place[:, 0])
    found = []
    for velocity, each in zip(velocities, local, strict=True):
        surface = np.zeros(mesh.doflocs.shape[1])
        np.add.at(surface, facets, each)
        area = float(surface.sum())
        motion = velocity[:, nodes]
        step = EDGE_STEP * size / max(float(np.abs(motion).max()), 1e-300)
        ends = (np.array(edge_figures(place + side * step * motion)) for side in (1, -1))
        radius_slope, curvature, weight = np.subtract(*ends) / (2 * step)
        edge = np.zeros(len(surface))
        edge[nodes[0]] = weight
        if basis is not None:
            surface, edge = basis.T @ surface, basis.T @ edge
        slopes_of = (area, float(radius_slope), float(curvature), float(weight))
        found.append(Port(*slopes_of, surface=surface, edge=edge))
    return found
