"""Assemble the real symmetric matrices of the acoustic operator on a mesh."""

import numpy as np
from numpy.typing import NDArray
from skfem import Basis, MeshTri2, asm
from skfem.element import ElementTriP2, ElementTriP3

from borestudy.acoustics import forms
from borestudy.acoustics.operator import AffineOperator, Port
from borestudy.acoustics.walls import Real, Walls, power_count
from borestudy.fem.facets import facet_basis

Whole = NDArray[np.int64]
PORT_NAMES = ("rim_plane", "shank_end")
#: Degrees of quadrature for pressures of order 2, in the bore, on ports and on the wall.
VOLUME_ORDER, FACET_ORDER, WALL_ORDER = 6, 8, 8


def pressure_basis(mesh: MeshTri2, order: int = 2) -> Basis:
    """Continuous pressures of polynomial ``order`` 2 or 3 on the curved triangles."""
    if order not in (2, 3):
        raise ValueError(f"element order must be 2 or 3, found {order} (example: 2)")
    element = ElementTriP2() if order == 2 else ElementTriP3()
    # the curved map and the weight r raise the degree of the integrand above 2·order
    return Basis(mesh, element, intorder=2 * order + 2)


def port_edge(mesh: MeshTri2, name: str) -> tuple[Whole, Whole]:
    """Nodes of the wall's and of the port's facet that meet at the port's edge.

    Each the edge itself, the facet's other end and its middle, shape (3,).
    """
    facets = np.atleast_1d(mesh.boundaries[name])
    wall_facets = np.atleast_1d(mesh.boundaries["wall"])
    shared = np.intersect1d(mesh.facets[:, facets], mesh.facets[:, wall_facets])
    if len(shared) != 1:
        raise ValueError(f"boundary '{name}' must meet 'wall' at one edge, found {len(shared)}")
    found = []
    for chosen in (wall_facets, facets):
        (first, second), facet = next(
            (mesh.facets[:, f], f) for f in chosen if shared[0] in mesh.facets[:, f]
        )
        other = second if first == shared[0] else first
        # the facet's own middle node: geometry degrees of freedom are vertices, then facets
        found.append(np.array([shared[0], other, mesh.dofs.facet_dofs[0, facet]]))
    return found[0], found[1]


def edge_figures(points: Real) -> tuple[float, float, float]:
    """Radius, curvature and weight of an edge at the nodes of `port_edge` after another, (2, 6)."""
    tangents = (
        3 * points[:, 0] - 4 * middle + other
        for other, middle in (points[:, 1:3].T, points[:, 4:].T)
    )
    along, across = (each / np.linalg.norm(each) for each in tangents)
    normal = np.array([across[1], -across[0]])
    radius = float(points[1, 0])
    # the wall is the graph of a radius: the radial part of its normal is its axial direction
    curvature = abs(float(along[0])) / radius
    return radius, curvature, 2 * np.pi * radius / abs(float(along @ normal))


def build_port(mesh: MeshTri2, basis: Basis, name: str) -> Port:
    """Loads and edge geometry of the port called ``name``."""
    facets = np.atleast_1d(mesh.boundaries[name])
    surface = asm(forms.port_flow, facet_basis(mesh, basis.elem, facets, intorder=FACET_ORDER))
    nodes = np.concatenate(port_edge(mesh, name))
    radius, curvature, weight = edge_figures(mesh.doflocs[:, nodes])
    edge = np.zeros(basis.N)
    edge[basis.nodal_dofs[0, nodes[0]]] = weight
    return Port(
        area=float(surface.sum()),
        edge_radius=radius,
        edge_curvature=curvature,
        edge_weight=weight,
        surface=np.asarray(surface),
        edge=edge,
    )


def assemble(mesh: MeshTri2, walls: Walls = "curved", order: int = 2) -> AffineOperator:
    """The bore's sparse matrices, assembled once for every frequency and every air.

    Parameters
    ----------
    mesh : MeshTri2
        Mesh in metres with the boundaries ``rim_plane``, ``wall`` and ``shank_end``.
    walls : {"lossless", "plain", "curved"}
        No losses, plane-wall layers, or layers of the local tube.
    order : int
        Degree of the pressure's polynomials, 2 or 3.

    Raises
    ------
    ValueError
        If a word or the order is not one of these, or a port does not meet the wall at one edge.
    """
    count = power_count(walls)
    basis = pressure_basis(mesh, order)
    wall = facet_basis(mesh, basis.elem, mesh.boundaries["wall"], intorder=2 * order + 4)
    curvature = np.asarray(wall.normals[1] / wall.global_coordinates()[1])
    return AffineOperator(
        matrices=(
            asm(forms.stiffness, basis).tocsc(),
            asm(forms.mass, basis).tocsc(),
            *(asm(forms.viscous_wall(power), wall).tocsc() for power in range(count)),
            *(asm(forms.thermal_wall(power), wall).tocsc() for power in range(count)),
        ),
        ports=tuple(build_port(mesh, basis, name) for name in PORT_NAMES),
        walls=walls,
        largest_curvature=float(curvature.max()),
    )
