"""The pressure field and the file ParaView reads."""

import meshio
import numpy as np
import pytest

from borestudy.acoustics.solve import pressure_field, write_field
from borestudy.acoustics.termination import build_termination
from borestudy.closed_form.tube import propagation_constant
from borestudy.fem.vtu import linear_triangles


def test_field_of_a_closed_tube_is_a_standing_wave(dry_air, meshes):
    mesh = meshes.tube(4.6e-3, 0.08, 40, 2)
    frequency = 1500.0
    field = pressure_field(mesh, dry_air, frequency, build_termination("closed", 4.6e-3))
    constant = propagation_constant(4.6e-3, 2 * np.pi * frequency, dry_air)
    exact = np.cosh(constant * (0.08 - mesh.doflocs[0])) / np.cosh(constant * 0.08)
    np.testing.assert_allclose(field, exact, atol=2e-3)


def test_sub_triangles_fill_the_bore(meshes):
    mesh = meshes.mouthpiece(1.0)
    corners = mesh.doflocs[:, linear_triangles(mesh.dofs.element_dofs)]
    (ax, ay), (bx, by) = corners[..., 1] - corners[..., 0], corners[..., 2] - corners[..., 0]
    signed = (ax * by - ay * bx) / 2
    x, r = meshes.corners.T
    assert np.abs(signed).sum() == pytest.approx(np.sum(np.diff(x) * (r[1:] + r[:-1]) / 2))


def test_file_holds_magnitude_and_phase(dry_air, meshes, tmp_path):
    mesh = meshes.mouthpiece(1.0)
    field = pressure_field(mesh, dry_air, 800.0, build_termination("anechoic pipe", 4.5e-3))
    write_field(mesh, field, tmp_path / "fields" / "first.vtu")
    data = meshio.read(tmp_path / "fields" / "first.vtu").point_data
    pressure = data["pressure_abs_Pa"] * np.exp(1j * np.radians(data["pressure_phase_deg"]))
    np.testing.assert_allclose(pressure.real, data["pressure_real_Pa"], atol=1e-12)
    np.testing.assert_allclose(pressure.imag, data["pressure_imag_Pa"], atol=1e-12)
