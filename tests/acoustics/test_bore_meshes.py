"""Bores meshed as a study meshes them, against pipes, cones and steps."""

import numpy as np
import pytest
from skfem import MeshTri2

from borestudy.acoustics.assembly import assemble
from borestudy.acoustics.operator import impedance_matrix
from borestudy.acoustics.resonances import impedance_peaks
from borestudy.acoustics.solve import power_balance, reciprocity
from borestudy.acoustics.termination import build_termination
from borestudy.acoustics.two_port import solve_two_port, two_port_matrix
from borestudy.bore import bore_from_stations, cylinder
from borestudy.closed_form import tube
from borestudy.closed_form.area_step import end_correction
from borestudy.closed_form.cone import cone_transfer_matrix

FREQUENCIES = np.concatenate([np.geomspace(50, 3000, 60), np.linspace(900, 3000, 60)])
COARSE, MEDIUM, FINE = 0, 1, 2


def with_extremes(transfer, lowest, highest):
    """The frequencies of the curve, and every minimum and maximum of Z11 and Z12 among them."""

    def curve(entry, power):
        return lambda f: tube.impedance_matrix(transfer(2 * np.pi * f))[:, 0, entry] ** power

    found = [
        impedance_peaks(curve(entry, power), lowest, highest)[0]
        for entry in (0, 1)
        for power in (1, -1)
    ]
    return np.concatenate([FREQUENCIES, *found])


@pytest.mark.parametrize("level", [COARSE, MEDIUM, FINE], ids=["coarse", "medium", "fine"])
@pytest.mark.parametrize(("radius", "length"), [(1.83e-3, 0.05), (4.6e-3, 0.088)])
def test_straight_tube_is_its_transfer_matrix_also_at_minima(
    dry_air, meshed, radius, length, level
):
    def exact(omega):
        return tube.transfer_matrix(radius, length, omega, dry_air, theory="Kirchhoff")

    omega = 2 * np.pi * with_extremes(exact, 50, 3000)
    found = impedance_matrix(assemble(meshed(cylinder(radius, length), level)), omega, dry_air)
    # measured: 9e-6 in the throat, in the wide pipe 1.9e-5 on the coarse mesh, 2e-6 on the fine
    np.testing.assert_allclose(found, tube.impedance_matrix(exact(omega)), rtol=4e-5)


def test_even_pressure_over_a_wide_section_is_what_finer_meshes_do_not_agree_with(dry_air, meshed):
    """The textbook chain matrix leaves out 1.6e-4; the finite elements have it on any mesh."""
    omega = 2 * np.pi * FREQUENCIES
    even, full = (
        tube.impedance_matrix(tube.transfer_matrix(4.6e-3, 0.088, omega, dry_air, theory=theory))
        for theory in ("even pressure", "Kirchhoff")
    )
    found = impedance_matrix(assemble(meshed(cylinder(4.6e-3, 0.088), FINE)), omega, dry_air)
    assert np.abs(full / even - 1).max() == pytest.approx(1.6e-4, rel=0.05)
    assert np.abs(found / full - 1).max() < 0.05 * np.abs(found / even - 1).max()


def rolled_into_a_cone(mesh, first, last, length):
    """A pipe of radius 1 and length 1 bent: x becomes the distance from the apex, r the angle."""
    angle = np.arctan2(last - first, length)
    start, end = first / np.sin(angle), last / np.sin(angle)
    x, r = mesh.doflocs
    distance, polar = start + (end - start) * x, angle * r
    places = np.array([distance * np.cos(polar), distance * np.sin(polar)])
    share = np.sqrt(2 * (1 - np.cos(angle))) / np.sin(angle)
    caps = first * share, last * share, length / np.cos(angle)
    return MeshTri2(places, mesh.t, _boundaries=mesh.boundaries), caps


def test_lossless_cone_between_spherical_caps_is_spherical_waves(dry_air, meshed):
    shape = (1.83e-3, 4.6e-3, 0.072)
    # triangles as long as they are wide once the pipe has been rolled
    pipe = meshed(cylinder(3.2e-3, 0.072), 3)
    unit = MeshTri2(pipe.doflocs / [[0.072], [3.2e-3]], pipe.t, _boundaries=pipe.boundaries)
    mesh, caps = rolled_into_a_cone(unit, *shape)
    omega = 2 * np.pi * np.geomspace(50, 3000, 25)
    exact = cone_transfer_matrix(*caps, omega, dry_air, lossless=True)
    found = impedance_matrix(assemble(mesh, "lossless"), omega, dry_air)
    np.testing.assert_allclose(found, tube.impedance_matrix(exact), rtol=1e-6)


@pytest.mark.parametrize("level", [COARSE, FINE], ids=["coarse", "fine"])
@pytest.mark.parametrize("ratio", [0.3, 0.5, 0.7])
def test_area_step_is_the_tabulated_inertance(dry_air, meshed, tmp_path, ratio, level):
    narrow, lengths = 3e-3, (0.02, 0.04)
    radii, places = (narrow, narrow / ratio), np.cumsum([0, *lengths])
    rows = [(places[0], radii[0]), (places[1], radii[0]), (places[1], radii[1])]
    rows += [(places[2], radii[1])]
    stations = tmp_path / "step.csv"
    lines = [f"{1e3 * x:.9f},{2e3 * r:.9f}" for x, r in rows]
    stations.write_text("\n".join(["position_mm,diameter_mm", *lines]))
    operator = assemble(meshed(bore_from_stations(stations), level), "lossless")
    omega = 2 * np.pi * np.array([100.0])
    pieces = [
        tube.transfer_matrix(radius, length, omega, dry_air, lossless=True)
        for radius, length in zip(radii, lengths, strict=True)
    ]
    step = np.eye(2, dtype=complex)[None].copy()
    step[:, 0, 1] = 1j * omega * dry_air.density * end_correction(ratio) / (np.pi * narrow)
    exact = tube.impedance_matrix(pieces[0] @ step @ pieces[1])
    np.testing.assert_allclose(impedance_matrix(operator, omega, dry_air), exact, rtol=1e-4)


@pytest.fixture(scope="module")
def bores(demo, meshed):
    """Two-ports of the demo's first and last case on coarse meshes."""
    return [
        solve_two_port([meshed(case.build_bore(), COARSE)], case.build_air(), 50, 5000)
        for case in (demo.cases()[0], demo.cases()[-1])
    ]


@pytest.mark.parametrize("kind", ["closed", "open", "open flanged", "anechoic pipe"])
def test_power_into_the_demo_bore_is_lost_at_the_wall_or_leaves(bores, kind):
    for bore in bores:
        termination = build_termination(kind, bore.shank_radius)
        assert np.abs(power_balance(bore, termination, np.geomspace(60, 4800, 40))).max() < 1e-9


def test_demo_bore_is_reciprocal_with_determinant_one(bores):
    frequencies = np.geomspace(60, 4800, 40)
    for bore in bores:
        assert reciprocity(bore, frequencies).max() < 1e-9
        matrix = two_port_matrix(bore, frequencies)
        chain = np.array([[matrix[:, 0, 0], np.linalg.det(matrix)], [np.ones(40), matrix[:, 1, 1]]])
        determinant = np.linalg.det(np.moveaxis(chain / matrix[:, 1, 0], -1, 0))
        np.testing.assert_allclose(determinant, 1, rtol=1e-9)
