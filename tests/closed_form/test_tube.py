"""Tube with wall losses against values worked out with 30 digits by another program."""

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


@pytest.mark.parametrize(
    ("radius_mm", "frequency", "attenuation", "phase", "impedance"),
    [
        (1.83, 100, 0.177099896, 1.991214838, 1.03106552 - 0.03973213j),
        (1.83, 1000, 0.526955689, 18.81241547, 1.00989037 - 0.01072748j),
        (4.60, 1000, 0.206148247, 18.50405309, 1.00393678 - 0.00406809j),
    ],
)
def test_propagation_and_impedance_are_the_tabulated_ones(
    dry_air, radius_mm, frequency, attenuation, phase, impedance
):
    radius, omega = radius_mm * 1e-3, 2 * np.pi * frequency
    constant = propagation_constant(radius, omega, dry_air)
    plane = dry_air.density * dry_air.sound_speed / (np.pi * radius**2)
    assert constant.real == pytest.approx(attenuation, rel=2e-8)
    assert constant.imag == pytest.approx(phase, rel=2e-9)
    assert characteristic_impedance(radius, omega, dry_air) / plane == pytest.approx(
        impedance, rel=2e-8
    )


def test_wide_pipe_attenuates_by_the_classical_coefficient(dry_air):
    radius, frequency = 0.5, 1000.0
    attenuation = propagation_constant(radius, 2 * np.pi * frequency, dry_air).real
    # α a/√f = 2.966e-5 SI; Weston (1953) prints 2.964e-5
    assert attenuation * radius / np.sqrt(frequency) == pytest.approx(2.966e-5, rel=2e-3)


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
