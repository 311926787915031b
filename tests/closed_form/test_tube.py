"""Tube with wall losses against profiles solved by collocation, without Bessel functions."""

import numpy as np
import pytest

from borestudy.closed_form.tube import (
    characteristic_impedance,
    impedance_matrix,
    kirchhoff_constant,
    loss_function,
    propagation_constant,
    thermal_end_admittance,
    transfer_matrix,
    wall_functions,
)


def mean_share(squared_wavenumber, points=161):
    """Mean over the section of h, where h'' + h'/r + k² h = 0 and h = 1 at the wall, radius 1.

    Chebyshev collocation over a whole diameter, with no node on the axis.  1 − h is the profile of
    the axial velocity of a gas that is shaken by a pressure gradient, or of its temperature by the
    pressure.
    """
    index = np.arange(points + 1)
    nodes = np.cos(np.pi * index / points)
    weight = np.where((index == 0) | (index == points), 2.0, 1.0) * (-1.0) ** index
    slope = weight[:, None] / weight / (nodes[:, None] - nodes + np.eye(points + 1))
    slope -= np.diag(slope.sum(axis=1))
    matrix = nodes[:, None] * (slope @ slope) + slope + np.diag(squared_wavenumber * nodes)
    matrix[[0, -1]] = np.eye(points + 1)[[0, -1]]
    right = np.zeros(points + 1, dtype=complex)
    right[[0, -1]] = 1
    share = np.linalg.solve(matrix, right)
    # ∫ r h dr = −h'(1)/k² by the equation itself
    return -2 * (slope[0] @ share) / squared_wavenumber


@pytest.mark.parametrize(("radius_mm", "frequency"), [(1.83, 100), (1.83, 1000), (4.60, 1000)])
def test_propagation_and_impedance_are_those_of_collocated_profiles(dry_air, radius_mm, frequency):
    """Even pressure, momentum and energy over the section (Zwikker & Kosten 1949, from memory)."""
    radius, omega = radius_mm * 1e-3, 2 * np.pi * frequency
    square = -1j * omega * dry_air.density * radius**2 / dry_air.viscosity
    prandtl = dry_air.viscosity * dry_air.specific_heat / dry_air.thermal_conductivity
    inertia = 1 / (1 - mean_share(square))
    compliance = 1 + (dry_air.heat_capacity_ratio - 1) * mean_share(prandtl * square)
    expected = 1j * omega / dry_air.sound_speed * np.sqrt(inertia * compliance)
    assert propagation_constant(radius, omega, dry_air) == pytest.approx(expected, rel=1e-9)
    plane = dry_air.density * dry_air.sound_speed / (np.pi * radius**2)
    impedance = characteristic_impedance(radius, omega, dry_air) / plane
    assert impedance == pytest.approx(np.sqrt(inertia / compliance), rel=1e-9)


def test_wide_pipe_attenuates_by_the_classical_coefficient(dry_air):
    radius, frequency = 0.5, 1000.0
    attenuation = propagation_constant(radius, 2 * np.pi * frequency, dry_air).real
    # α a/√f of the plane boundary layers; Weston (1953, Proc. Phys. Soc. B 66, 695) prints
    # 2.964e-5 SI for air that may differ from this in viscosity by a per mil
    layers = np.sqrt(np.pi * dry_air.viscosity / dry_air.density) * (1 + 0.4020 / 0.707961**0.5)
    assert layers / dry_air.sound_speed == pytest.approx(2.964e-5, rel=1e-3)
    assert attenuation * radius / np.sqrt(frequency) == pytest.approx(2.964e-5, rel=2e-3)


def test_narrow_tube_resists_as_poiseuille_says(dry_air):
    radius, omega = 1e-5, 2 * np.pi * 10.0
    viscous, _ = wall_functions(radius, omega, dry_air)
    series = 1j * omega * dry_air.density / (np.pi * radius**2 * (1 - viscous))
    assert series.real == pytest.approx(8 * dry_air.viscosity / (np.pi * radius**4), rel=1e-4)


def test_loss_function_of_a_wide_tube_does_not_overflow():
    assert np.isfinite(loss_function(1e5 * (1 - 1j)))


def test_two_short_tubes_in_a_chain_are_one_long_tube(dry_air):
    omega = 2 * np.pi * np.array([60.0, 700.0, 4000.0])
    half = transfer_matrix(3e-3, 0.04, omega, dry_air)
    np.testing.assert_allclose(half @ half, transfer_matrix(3e-3, 0.08, omega, dry_air), rtol=1e-11)


def test_chain_matrix_is_reciprocal(dry_air):
    omega = 2 * np.pi * np.array([60.0, 700.0, 4000.0])
    chain = transfer_matrix(3e-3, 0.04, omega, dry_air)
    np.testing.assert_allclose(np.linalg.det(chain), 1, rtol=1e-12)
    impedance = impedance_matrix(chain)
    np.testing.assert_allclose(impedance[:, 0, 1], impedance[:, 1, 0], rtol=1e-12)


def test_thermal_end_absorbs_like_a_thin_slice_of_tube_wall(dry_air):
    # a tube far wider than its thermal layer: the shunt of its wall per area of wall
    radius, omega = 0.1, 2 * np.pi * 1000.0
    _, thermal = wall_functions(radius, omega, dry_air)
    stiffness = dry_air.density * dry_air.sound_speed**2
    per_wall_area = 1j * omega * 0.402 * thermal * radius / 2 / stiffness
    end = thermal_end_admittance(radius, omega, dry_air) / (np.pi * radius**2)
    assert end == pytest.approx(per_wall_area, rel=1e-3)


def test_kirchhoffs_relation_is_the_even_pressure_in_a_throat(dry_air):
    omega = 2 * np.pi * np.geomspace(100, 3000, 20)
    full = kirchhoff_constant(1.83e-3, omega, dry_air)
    even = propagation_constant(1.83e-3, omega, dry_air)
    np.testing.assert_allclose(full.real, even.real, rtol=3e-4)
    assert np.abs(full.real / even.real - 1).max() > 1e-5


@pytest.mark.parametrize("frequency", [1000.0, 3000.0])
def test_bulge_of_the_pressure_takes_its_share_of_the_propagation(dry_air, frequency):
    """To first order Γ² loses κ⁴a²/8/(1 − f(kv a)), κ² = k² + Γ²: J0 in place of a constant."""
    radius, omega = 8e-3, 2 * np.pi * frequency
    even = propagation_constant(radius, omega, dry_air)
    viscous, _ = wall_functions(radius, omega, dry_air)
    pull = even**2 + (omega / dry_air.sound_speed) ** 2
    expected = np.sqrt(even**2 - pull**2 * radius**2 / 8 / (1 - viscous))
    full = kirchhoff_constant(radius, omega, dry_air)[0]
    assert full.real - even.real == pytest.approx(expected.real - even.real, rel=0.1)
