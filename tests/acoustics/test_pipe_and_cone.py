"""The finite-element two-port against pipes, cones and cavities."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.sparse.linalg import eigsh
from skfem import asm

from borestudy.acoustics import forms
from borestudy.acoustics.assembly import assemble, pressure_basis
from borestudy.acoustics.operator import impedance_matrix
from borestudy.closed_form import cavity, tube
from borestudy.closed_form.area_step import end_correction
from borestudy.closed_form.cone import cone_transfer_matrix
from borestudy.fem.facets import facet_basis

FREQUENCIES = np.concatenate([np.geomspace(50, 3000, 60), np.linspace(900, 3000, 60)])
OMEGA = 2 * np.pi * FREQUENCIES


@pytest.mark.parametrize(("axial", "radial"), [(30, 2), (60, 4)], ids=["coarse", "fine"])
@pytest.mark.parametrize(("radius", "length"), [(1.83e-3, 0.05), (4.6e-3, 0.088)])
def test_straight_tube_is_its_transfer_matrix_also_at_minima(
    dry_air, meshes, radius, length, axial, radial
):
    operator = assemble(meshes.tube(radius, length, axial, radial))
    found = impedance_matrix(operator, OMEGA, dry_air)
    exact = tube.transfer_matrix(radius, length, OMEGA, dry_air, theory="Kirchhoff")
    np.testing.assert_allclose(found, tube.impedance_matrix(exact), rtol=1e-4)


def attenuation(operator, length, omega, air):
    omega = np.asarray(omega)
    matrix = impedance_matrix(operator, omega, air)
    return np.abs(np.arccosh(matrix[:, 0, 0] / matrix[:, 1, 0]).real) / length


def test_throat_attenuates_as_exact_theory_says(dry_air, meshes):
    omega = 2 * np.pi * np.geomspace(100, 3000, 12)
    operator = assemble(meshes.tube(1.83e-3, 0.05, 40, 3))
    exact = tube.propagation_constant(1.83e-3, omega, dry_air).real
    np.testing.assert_allclose(attenuation(operator, 0.05, omega, dry_air), exact, rtol=1e-3)


@pytest.mark.parametrize("frequency", [1000.0, 2000.0, 3000.0])
def test_wide_tube_attenuates_as_kirchhoffs_full_equation_says(dry_air, meshes, frequency):
    radius, omega = 8e-3, 2 * np.pi * frequency
    exact = tube.kirchhoff_constant(radius, omega, dry_air).real[0]
    found = attenuation(assemble(meshes.tube(radius, 0.05, 60, 6)), 0.05, [omega], dry_air)[0]
    plane = tube.propagation_constant(radius, omega, dry_air).real
    assert found == pytest.approx(exact, rel=1e-4)
    assert abs(found - exact) < 0.5 * abs(plane - exact)


def test_plain_walls_attenuate_too_much_by_the_known_amounts(dry_air, meshes):
    frequencies, excess = np.array([100.0, 400.0, 1000.0]), np.array([6.7, 3.3, 2.05])
    omega = 2 * np.pi * frequencies
    operator = assemble(meshes.tube(1.83e-3, 0.05, 40, 3), "plain")
    exact = tube.propagation_constant(1.83e-3, omega, dry_air).real
    found = attenuation(operator, 0.05, omega, dry_air)
    np.testing.assert_allclose(100 * (found / exact - 1), excess, atol=0.06)


def spherical(first, last, length):
    """Radii and length of the same cone in sections equal to its caps, along the slant."""
    angle = np.arctan2(last - first, length)
    share = np.sqrt(2 * (1 - np.cos(angle))) / np.sin(angle)
    return first * share, last * share, length / np.cos(angle)


def test_lossless_cone_between_caps_is_spherical_waves(dry_air, meshes):
    shape = (1.83e-3, 4.6e-3, 0.072)
    operator = assemble(meshes.cone(*shape, 80, 6), "lossless")
    omega = 2 * np.pi * np.geomspace(50, 3000, 25)
    exact = cone_transfer_matrix(*spherical(*shape), omega, dry_air, lossless=True)
    found = impedance_matrix(operator, omega, dry_air)
    np.testing.assert_allclose(found, tube.impedance_matrix(exact), rtol=1e-6)


def test_cone_with_losses_is_its_slices(dry_air, meshes):
    shape = (1.83e-3, 4.6e-3, 0.072)
    operator = assemble(meshes.cone(*shape, 60, 4))
    omega = 2 * np.pi * np.array([60.0, 200.0, 600.0, 1300.0, 2500.0])
    exact = cone_transfer_matrix(*spherical(*shape), omega, dry_air, ratio_per_slice=1.005)
    found = impedance_matrix(operator, omega, dry_air)
    np.testing.assert_allclose(found, tube.impedance_matrix(exact), rtol=2e-4)


@pytest.mark.parametrize("order", [2, 3])
def test_impedance_converges_at_twice_the_order_of_the_element(dry_air, meshes, order):
    shape, omega = (4e-3, 12e-3, 0.03), 2 * np.pi * np.array([4000.0])
    exact = tube.impedance_matrix(
        cone_transfer_matrix(*spherical(*shape), omega, dry_air, lossless=True)
    )
    errors = []
    for axial in (4, 8):
        operator = assemble(meshes.cone(*shape, axial, axial // 2), "lossless", order)
        errors.append(np.abs(impedance_matrix(operator, omega, dry_air) / exact - 1).max())
    # the second-order boundary limits cubic pressures to order 4 as well
    assert np.log2(errors[0] / errors[1]) > 3.7


@pytest.mark.parametrize("ratio", [0.3, 0.5, 0.7])
def test_area_step_is_the_tabulated_inertance(dry_air, meshes, ratio):
    narrow, lengths = 3e-3, (0.02, 0.04)
    wide = narrow / ratio
    operator = assemble(meshes.step(narrow, wide, lengths), "lossless")
    omega = 2 * np.pi * np.array([100.0])
    found = impedance_matrix(operator, omega, dry_air)
    pieces = [
        tube.transfer_matrix(radius, length, omega, dry_air, lossless=True)
        for radius, length in zip((narrow, wide), lengths, strict=True)
    ]
    step = np.eye(2, dtype=complex)[None].copy()
    step[:, 0, 1] = 1j * omega * dry_air.density * end_correction(ratio) / (np.pi * narrow)
    exact = tube.impedance_matrix(pieces[0] @ step @ pieces[1])
    np.testing.assert_allclose(found, exact, rtol=1e-4)
    # the inertance alone, what the tubes on either side leave of the chain matrix
    chain = np.empty((2, 2), dtype=complex)
    chain[0] = found[0, 0, 0], np.linalg.det(found[0])
    chain[1] = 1, found[0, 1, 1]
    chain /= found[0, 1, 0]
    alone = np.linalg.inv(pieces[0][0]) @ chain @ np.linalg.inv(pieces[1][0])
    length = (alone[0, 1] / (1j * omega[0] * dry_air.density) * np.pi * narrow).real
    assert length == pytest.approx(end_correction(ratio), abs=5e-4)


def sphere_matrices(meshes, count):
    """Stiffness and mass of a half disc, a square bent round."""

    def mapping(x, r):
        return x * np.sqrt(1 - r**2 / 2), r * np.sqrt(1 - x**2 / 2)

    mesh = meshes.mapped(np.linspace(-1, 1, 2 * count + 1), np.linspace(0, 1, count + 1), mapping)
    basis = pressure_basis(mesh)
    return asm(forms.stiffness, basis), asm(forms.mass, basis)


@pytest.mark.parametrize("order", [0, 1])
def test_sphere_rings_at_the_zeros_of_the_spherical_bessel_slope(meshes, order):
    stiffness, mass = sphere_matrices(meshes, 24)
    target = cavity.sphere_frequency(1.0, order, 2 * np.pi)
    squared = eigsh(stiffness, k=1, M=mass, sigma=target**2 * 0.999, return_eigenvectors=False)
    assert np.sqrt(squared[0]) == pytest.approx(target, rel=1e-5)


@pytest.mark.parametrize(("radial", "axial"), [(1, 0), (0, 1), (1, 2)])
def test_cylinder_rings_at_its_closed_form(meshes, radial, axial):
    operator = assemble(meshes.tube(0.8, 1.0, 32, 20), "lossless")
    stiffness, mass = operator.matrices
    target = cavity.cylinder_frequency(0.8, 1.0, radial, axial, 2 * np.pi)
    squared = eigsh(stiffness, k=1, M=mass, sigma=target**2 * 0.9999, return_eigenvectors=False)
    assert np.sqrt(squared[0]) == pytest.approx(target, rel=1e-5)


def test_thermal_loss_of_a_plane_wall_is_that_of_its_admittance(dry_air, meshes):
    """An end wall is a wall like the side: make the shank end one and compare."""
    mesh = meshes.tube(4.6e-3, 0.03, 20, 3)
    omega = 2 * np.pi * np.array([300.0, 2000.0])
    closed = {**mesh.boundaries}
    closed["wall"] = np.concatenate([closed["wall"], closed["shank_end"]])
    operator = assemble(mesh)
    walled = assemble_with_end_wall(mesh, closed)
    admittance = tube.thermal_end_admittance(4.6e-3, omega, dry_air)
    matrix = impedance_matrix(operator, omega, dry_air)
    expected = matrix[:, 0, 0] - matrix[:, 0, 1] * matrix[:, 1, 0] * admittance / (
        1 + matrix[:, 1, 1] * admittance
    )
    found = impedance_matrix(walled, omega, dry_air)[:, 0, 0]
    np.testing.assert_allclose(found, expected, rtol=2e-5)


def assemble_with_end_wall(mesh, boundaries):
    """The operator with thermal loss on the end wall too, where its curvature is 0."""
    basis = pressure_basis(mesh)
    wall = facet_basis(mesh, basis.elem, boundaries["wall"], intorder=8)
    thermal = tuple(asm(forms.thermal_wall(power), wall).tocsc() for power in range(5))
    operator = assemble(mesh)
    return replace(operator, matrices=(*operator.matrices[:-5], *thermal))
