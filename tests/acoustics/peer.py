"""The two-port of a straight-walled bore in ngsolve, which shares no code with this package."""

import numpy as np
import pytest

#: I1(z)/I0(z) for large z (Abramowitz & Stegun 9.7.1, divided out)
BESSEL_RATIO = [1, -1 / 2, -1 / 8, -1 / 8, -25 / 128, -13 / 32]


def libraries():
    """ngsolve and netgen's plane geometry, or a skip that says why."""
    reason = "ngsolve is not installed here: the independent finite-element check is left out"
    ngsolve = pytest.importorskip("ngsolve", reason=reason)
    return ngsolve, pytest.importorskip("netgen.geom2d", reason=reason)


def peer_mesh(corners, largest=1.5e-3, smallest=4e-5):
    """Straight-sided triangles, fine at the wall's corners inside the bore."""
    ngsolve, geom2d = libraries()
    geometry = geom2d.SplineGeometry()
    outline = [(0.0, 0.0), (corners[-1, 0], 0.0), *[tuple(point) for point in corners[::-1]]]
    names = ["axis", "shank", *["wall"] * (len(corners) - 1), "rim"]
    inside = [False, False, False, *[True] * (len(corners) - 2), False]
    points = [
        geometry.AppendPoint(*point, smallest if fine else largest)
        for point, fine in zip(outline, inside, strict=True)
    ]
    for index, name in enumerate(names):
        geometry.Append(["line", points[index], points[(index + 1) % len(points)]], bc=name)
    return ngsolve.Mesh(geometry.GenerateMesh(maxh=largest, grading=0.25))


def layer_coefficient(width, curvature):
    """a_V or a_T of a wall with azimuthal curvature."""
    return -sum(c * width ** (n + 1) * curvature**n for n, c in enumerate(BESSEL_RATIO))


def peer_two_port(mesh, corners, air, frequency, order=4):
    """Impedance matrix of the bore [Pa·s/m³], both flows into it, shape (2, 2)."""
    ngsolve, _ = libraries()
    omega = 2 * np.pi * frequency
    diffusivity = air.thermal_conductivity / (air.density * air.specific_heat)
    viscous_width = (1 - 1j) * np.sqrt(air.viscosity / (2 * air.density * omega))
    thermal_width = (1 - 1j) * np.sqrt(diffusivity / (2 * omega))
    square, excess = (omega / air.sound_speed) ** 2, air.heat_capacity_ratio - 1

    space = ngsolve.H1(mesh, order=order, complex=True)
    p, q = space.TnT()
    radius, curvature = ngsolve.y, ngsolve.specialcf.normal(2)[1] / ngsolve.y
    form = ngsolve.BilinearForm(space, symmetric=True)
    form += (ngsolve.grad(p) * ngsolve.grad(q) - square * p * q) * radius * ngsolve.dx
    along = ngsolve.InnerProduct(ngsolve.grad(p).Trace(), ngsolve.grad(q).Trace())
    wall = layer_coefficient(viscous_width, curvature) * along
    wall += layer_coefficient(thermal_width, curvature) * excess * square * p * q
    form += wall * radius * ngsolve.ds("wall")
    form.Assemble()
    inverse = form.mat.Inverse(space.FreeDofs(), inverse="sparsecholesky")

    loads, areas = [], []
    for name, here, there in (
        ("rim", corners[0], corners[1]),
        ("shank", corners[-1], corners[-2]),
    ):
        cosine = abs(there[0] - here[0]) / np.hypot(*(there - here))
        edge = layer_coefficient(viscous_width, cosine / here[1]) * here[1] / cosine
        load = ngsolve.LinearForm(space)
        load += radius * q * ngsolve.ds(name)
        load.Assemble()
        vertex = next(v.nr for v in mesh.vertices if np.allclose(v.point, here, atol=1e-9))
        load.vec[vertex] += edge
        loads.append(load.vec)
        areas.append(2 * np.pi * (here[1] ** 2 / 2 + edge))
    matrix = np.empty((2, 2), dtype=complex)
    for column in range(2):
        answer = loads[column].CreateVector()
        answer.data = inverse * loads[column]
        for row in range(2):
            product = np.dot(loads[row].FV().NumPy(), answer.FV().NumPy())
            matrix[row, column] = 2 * np.pi * product / (areas[row] * areas[column])
    return 1j * omega * air.density * matrix
