"""A bore's two-port in ngsolve, which shares no code with this package, on the same triangles."""

import numpy as np
import pytest

#: I1(z)/I0(z) for large z (Abramowitz & Stegun 9.7.1, divided out)
BESSEL_RATIO = [1, -1 / 2, -1 / 8, -1 / 8, -25 / 128]
PORTS = ("rim_plane", "shank_end")
NAMES = (*PORTS, "wall", "axis")
#: ngsolve's second-order edge function is −1/8 at the middle of its edge
AT_MIDDLE = -1 / 8


def libraries():
    """ngsolve and netgen's meshing, or a skip that says why."""
    reason = "ngsolve is not installed here: the independent finite-element check is left out"
    ngsolve = pytest.importorskip("ngsolve", reason=reason)
    return ngsolve, pytest.importorskip("netgen.meshing", reason=reason)


def peer_mesh(mesh):
    """The triangles of a second-order mesh, their sides bent through the same middle nodes."""
    ngsolve, meshing = libraries()
    flat = meshing.Mesh(dim=2)
    corners = mesh.doflocs[:, : mesh.nvertices].T
    points = [flat.Add(meshing.MeshPoint(meshing.Pnt(*corner, 0))) for corner in corners]
    flat.Add(meshing.FaceDescriptor(surfnr=1, domin=1, bc=1))
    sides = set()
    for triangle in mesh.t.T:
        (ax, ay), (bx, by) = corners[triangle[1:]] - corners[triangle[0]]
        order = triangle if ax * by > ay * bx else triangle[[0, 2, 1]]
        flat.Add(meshing.Element2D(1, [points[vertex] for vertex in order]))
        sides |= set(zip(order.tolist(), np.roll(order, -1).tolist(), strict=True))
    for number, name in enumerate(NAMES, 1):
        for ends in mesh.facets[:, mesh.boundaries[name]].T.tolist():
            # round the air against the clock, so that normals point out of it
            ends = ends if tuple(ends) in sides else ends[::-1]
            flat.Add(meshing.Element1D([points[vertex] for vertex in ends], index=number))
        flat.SetBCName(number - 1, name)
    bent = ngsolve.Mesh(flat)

    facet_of = {tuple(sorted(ends)): facet for facet, ends in enumerate(mesh.facets.T)}
    middles = mesh.doflocs[:, mesh.dofs.facet_dofs[0]].T
    space = ngsolve.VectorH1(bent, order=2)
    bend = ngsolve.GridFunction(space)
    for edge in bent.edges:
        ends = sorted(vertex.nr for vertex in edge.vertices)
        offset = middles[facet_of[tuple(ends)]] - corners[ends].mean(axis=0)
        for part, move in zip((0, 1), offset, strict=True):
            (number,) = space.components[part].GetDofNrs(edge)
            bend.components[part].vec[number] = move / AT_MIDDLE
    bent.SetDeformation(bend)
    bent.bend = bend  # ngsolve keeps no reference to it
    return bent


def layer_coefficient(width, curvature):
    """a_V or a_T of a wall with azimuthal curvature."""
    return -sum(c * width ** (n + 1) * curvature**n for n, c in enumerate(BESSEL_RATIO))


def edge_of(mesh, name):
    """Radius of the edge between wall and a plane port, and the wall's cosine to the axis there."""
    wall = mesh.boundaries["wall"]
    ends = mesh.doflocs[:, mesh.facets[:, wall]]
    place = mesh.doflocs[0, mesh.facets[0, mesh.boundaries[name][0]]]
    end, facet = np.argwhere(np.isclose(ends[0], place, atol=1e-9))[-1]
    here, there = ends[:, end, facet], ends[:, 1 - end, facet]
    middle = mesh.doflocs[:, mesh.dofs.facet_dofs[0, wall[facet]]]
    tangent = 3 * here - 4 * middle + there
    return float(here[1]), float(abs(tangent[0]) / np.hypot(*tangent)), here


def peer_two_port(bent, mesh, air, frequency, order=2, inverse="sparsecholesky"):
    """Impedance matrix of the bore [Pa·s/m³], both flows into it, shape (2, 2)."""
    ngsolve, _ = libraries()
    omega = 2 * np.pi * frequency
    diffusivity = air.thermal_conductivity / (air.density * air.specific_heat)
    viscous_width = (1 - 1j) * np.sqrt(air.viscosity / (2 * air.density * omega))
    thermal_width = (1 - 1j) * np.sqrt(diffusivity / (2 * omega))
    square, excess = (omega / air.sound_speed) ** 2, air.heat_capacity_ratio - 1

    space = ngsolve.H1(bent, order=order, complex=True)
    p, q = space.TnT()
    radius = ngsolve.y
    curvature = ngsolve.specialcf.normal(2)[1] / radius
    form = ngsolve.BilinearForm(space, symmetric=True)
    volume, wall_line = ngsolve.dx(bonus_intorder=4), ngsolve.ds("wall", bonus_intorder=6)
    form += (ngsolve.grad(p) * ngsolve.grad(q) - square * p * q) * radius * volume
    along = ngsolve.InnerProduct(ngsolve.grad(p).Trace(), ngsolve.grad(q).Trace())
    wall = layer_coefficient(viscous_width, curvature) * along
    wall += layer_coefficient(thermal_width, curvature) * excess * square * p * q
    form += wall * radius * wall_line
    form.Assemble()
    factors = form.mat.Inverse(space.FreeDofs(), inverse=inverse)

    loads, areas = [], []
    for name in PORTS:
        rim, cosine, place = edge_of(mesh, name)
        edge = layer_coefficient(viscous_width, cosine / rim) * rim / cosine
        load = ngsolve.LinearForm(space)
        load += radius * q * ngsolve.ds(name, bonus_intorder=2)
        load.Assemble()
        vertex = int(np.argmin(np.hypot(*(mesh.doflocs[:, : mesh.nvertices].T - place).T)))
        load.vec[vertex] += edge
        loads.append(load.vec)
        areas.append(2 * np.pi * (rim**2 / 2 + edge))
    matrix = np.empty((2, 2), dtype=complex)
    for column in range(2):
        answer = loads[column].CreateVector()
        answer.data = factors * loads[column]
        for row in range(2):
            product = np.dot(loads[row].FV().NumPy(), answer.FV().NumPy())
            matrix[row, column] = 2 * np.pi * product / (areas[row] * areas[column])
    return 1j * omega * air.density * matrix
