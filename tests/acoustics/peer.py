"""A bore's two-port in ngsolve, which shares no code with this package, on the same triangles."""

from dataclasses import replace

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


def integrals(bent, air, frequency, p, q):
    """What is integrated of two pressures: inside, and on the wall."""
    ngsolve, _ = libraries()
    omega = 2 * np.pi * frequency
    diffusivity = air.thermal_conductivity / (air.density * air.specific_heat)
    viscous_width = (1 - 1j) * np.sqrt(air.viscosity / (2 * air.density * omega))
    thermal_width = (1 - 1j) * np.sqrt(diffusivity / (2 * omega))
    square, excess = (omega / air.sound_speed) ** 2, air.heat_capacity_ratio - 1
    radius = ngsolve.y
    curvature = ngsolve.specialcf.normal(2)[1] / radius
    volume, wall_line = ngsolve.dx(bonus_intorder=4), ngsolve.ds("wall", bonus_intorder=6)
    # written out, since a product of complex vectors would take the conjugate of one
    dp, dq = ngsolve.grad(p), ngsolve.grad(q)
    inside = (dp[0] * dq[0] + dp[1] * dq[1] - square * p * q) * radius * volume
    dp, dq = dp.Trace(), dq.Trace()
    wall = layer_coefficient(viscous_width, curvature) * (dp[0] * dq[0] + dp[1] * dq[1])
    wall += layer_coefficient(thermal_width, curvature) * excess * square * p * q
    return inside, wall * radius * wall_line


def edge_term(mesh, name, air, frequency):
    """The edge's term in a port's load, the port's effective area [m²], and where the edge is."""
    rim, cosine, place = edge_of(mesh, name)
    width = (1 - 1j) * np.sqrt(air.viscosity / (2 * air.density * 2 * np.pi * frequency))
    edge = layer_coefficient(width, cosine / rim) * rim / cosine
    return edge, 2 * np.pi * (rim**2 / 2 + edge), place


def edge_vertex(mesh, place):
    """The vertex at a place."""
    return int(np.argmin(np.hypot(*(mesh.doflocs[:, : mesh.nvertices].T - place).T)))


def solve_peer(bent, mesh, air, frequency, order, inverse):
    """Space, loads of both ports, their areas, and the pressures that they drive."""
    ngsolve, _ = libraries()
    space = ngsolve.H1(bent, order=order, complex=True)
    p, q = space.TnT()
    form = ngsolve.BilinearForm(space, symmetric=True)
    for integral in integrals(bent, air, frequency, p, q):
        form += integral
    form.Assemble()
    factors = form.mat.Inverse(space.FreeDofs(), inverse=inverse)
    loads, areas, driven = [], [], []
    for name in PORTS:
        edge, area, place = edge_term(mesh, name, air, frequency)
        load = ngsolve.LinearForm(space)
        load += ngsolve.y * q * ngsolve.ds(name, bonus_intorder=2)
        load.Assemble()
        load.vec[edge_vertex(mesh, place)] += edge
        answer = ngsolve.GridFunction(space)
        answer.vec.data = factors * load.vec
        loads.append(load.vec)
        areas.append(area)
        driven.append(answer)
    return loads, areas, driven


def peer_two_port(bent, mesh, air, frequency, order=2, inverse="sparsecholesky"):
    """Impedance matrix of the bore [Pa·s/m³], both flows into it, shape (2, 2)."""
    loads, areas, driven = solve_peer(bent, mesh, air, frequency, order, inverse)
    products = [[values(load) @ values(answer.vec) for answer in driven] for load in loads]
    scale = 2j * np.pi * frequency * air.density * 2 * np.pi
    return scale * np.array(products) / np.outer(areas, areas)


def values(vector):
    """The entries of a vector of ngsolve's."""
    return vector.FV().NumPy()


def motion(space, mesh, velocity):
    """A velocity of a second-order mesh's nodes, shape (2, n_nodes), as a vector of a space."""
    ngsolve, _ = libraries()
    found = ngsolve.GridFunction(space)
    facet_of = {tuple(sorted(ends)): facet for facet, ends in enumerate(mesh.facets.T)}
    middles = velocity[:, mesh.dofs.facet_dofs[0]]
    for part, moving in enumerate(velocity):
        component = space.components[part]
        for vertex in space.mesh.vertices:
            (number,) = component.GetDofNrs(vertex)
            found.components[part].vec[number] = moving[vertex.nr]
        for edge in space.mesh.edges:
            ends = sorted(vertex.nr for vertex in edge.vertices)
            offset = middles[part, facet_of[tuple(ends)]] - moving[ends].mean()
            (number,) = component.GetDofNrs(edge)
            found.components[part].vec[number] = offset / AT_MIDDLE
    return values(found.vec).copy()


def peer_slopes(bent, mesh, velocities, air, frequency, order=2, inverse="sparsecholesky"):
    """Derivatives of the impedance matrix along motions of the nodes, shape (n, 2, 2).

    By ngsolve's symbolic shape derivative of every integral at the two pressures: the operator is
    symmetric, so that they are their own adjoints.  The edges' terms are differences of geometry.
    """
    ngsolve, _ = libraries()
    loads, areas, driven = solve_peer(bent, mesh, air, frequency, order, inverse)
    space = ngsolve.VectorH1(bent, order=2, complex=True)
    direction = space.TestFunction()

    def along(*integrands):
        form = ngsolve.LinearForm(space)
        for integrand in integrands:
            form += integrand.DiffShape(direction)
        form.Assemble()
        return values(form.vec)

    operator = [[along(*integrals(bent, air, frequency, p, q)) for q in driven] for p in driven]
    lines = [ngsolve.ds(name, bonus_intorder=2) for name in PORTS]
    surface = [[along(ngsolve.y * p * line) for p in driven] for line in lines]
    scale = 2j * np.pi * frequency * air.density * 2 * np.pi
    products = np.array([[values(load) @ values(p.vec) for p in driven] for load in loads])
    impedance, found = scale * products / np.outer(areas, areas), []
    for velocity in velocities:
        moving = motion(space, mesh, velocity)
        step = 1e-7 / np.abs(velocity).max()
        ends = [
            [edge_term(displaced(mesh, sign * step * velocity), name, air, frequency)
             for sign in (1, -1)] for name in PORTS
        ]  # fmt: skip
        edges, widths = (
            np.array([(high[k] - low[k]) / (2 * step) for high, low in ends]) for k in (0, 1)
        )
        vertices = [edge_vertex(mesh, edge_of(mesh, name)[2]) for name in PORTS]
        load = np.array(
            [[surface[i][j] @ moving + edges[i] * driven[j].vec[vertices[i]] for j in (0, 1)]
             for i in (0, 1)]
        )  # fmt: skip
        inside = np.array([[operator[i][j] @ moving for j in (0, 1)] for i in (0, 1)])
        shares = widths / np.array(areas)
        found.append(
            scale * (load + load.T - inside) / np.outer(areas, areas)
            - impedance * (shares[:, None] + shares[None, :])
        )
    return np.array(found)


def displaced(mesh, offsets):
    """The mesh with its nodes elsewhere."""
    return replace(mesh, doflocs=mesh.doflocs + offsets)
