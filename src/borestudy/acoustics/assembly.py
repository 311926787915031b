"""Assemble the real symmetric matrices of the acoustic operator on a mesh."""

import numpy as np
from skfem import Basis, MeshTri2, asm
from skfem.element import ElementTriP2, ElementTriP3

from borestudy.acoustics import forms
from borestudy.acoustics.operator import AffineOperator, Port
from borestudy.acoustics.walls import Real, Walls, power_count
from borestudy.fem.facets import facet_basis

PORT_NAMES = ("rim_plane", "shank_end")


def pressure_basis(mesh: MeshTri2, order: int = 2) -> Basis:
    """Continuous pressures of polynomial ``order`` 2 or 3 on the curved triangles."""
    if order not in (2, 3):
        raise ValueError(f"element order must be 2 or 3, found {order} (example: 2)")
    element = ElementTriP2() if order == 2 else ElementTriP3()
    # the curved map and the weight r raise the degree of the integrand above 2·order
    return Basis(mesh, element, intorder=2 * order + 2)


def _outward_tangent(mesh: MeshTri2, facet: int, vertex: int) -> Real:
    """Direction of a curved facet at one of its ends, pointing out through that end."""
    first, second = mesh.facets[:, facet]
    other = second if first == vertex else first
    # the facet's own middle node: geometry degrees of freedom are vertices, then facets
    middle = mesh.doflocs[:, mesh.dofs.facet_dofs[0, facet]]
    here, there = mesh.doflocs[:, vertex], mesh.doflocs[:, other]
    tangent = 3 * here - 4 * middle + there
    return np.asarray(tangent / np.linalg.norm(tangent))


def build_port(mesh: MeshTri2, basis: Basis, name: str) -> Port:
    """Loads and edge geometry of the port called ``name``."""
    facets = np.atleast_1d(mesh.boundaries[name])
    surface = asm(forms.port_flow, facet_basis(mesh, basis.elem, facets, intorder=8))
    wall_facets = np.atleast_1d(mesh.boundaries["wall"])
    port_vertices = np.unique(mesh.facets[:, facets])
    shared = np.intersect1d(port_vertices, np.unique(mesh.facets[:, wall_facets]))
    if len(shared) != 1:
        raise ValueError(f"boundary '{name}' must meet 'wall' at one edge, found {len(shared)}")
    vertex = int(shared[0])
    wall_facet = next(f for f in wall_facets if vertex in mesh.facets[:, f])
    port_facet = next(f for f in facets if vertex in mesh.facets[:, f])
    along = _outward_tangent(mesh, wall_facet, vertex)
    across = _outward_tangent(mesh, port_facet, vertex)
    normal = np.array([across[1], -across[0]])
    radius = float(mesh.p[1, vertex])
    weight = 2 * np.pi * radius / abs(float(along @ normal))
    edge = np.zeros(basis.N)
    edge[basis.nodal_dofs[0, vertex]] = weight
    # the wall is the graph of a radius: the radial part of its normal is its axial direction
    return Port(
        area=float(surface.sum()),
        edge_radius=radius,
        edge_curvature=abs(float(along[0])) / radius,
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
