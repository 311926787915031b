"""The exact creeping flow in a cone satisfies the equations it is meant to solve."""

import numpy as np
import pytest
from scipy.integrate import quad

from borestudy.closed_form.cone_flow import CreepingCone

CONE = CreepingCone(half_angle=0.25, apex=-2.0, flow_rate=1.5, viscosity=0.7)
POINT = np.array([[0.4], [0.3]])
STEP = 1e-3


def shifted(direction, step):
    return POINT + step * np.eye(2)[direction][:, None]


def first_difference(field, direction):
    return (field(shifted(direction, STEP)) - field(shifted(direction, -STEP))) / (2 * STEP)


def laplacian(field):
    second = [
        (field(shifted(d, STEP)) - 2 * field(POINT) + field(shifted(d, -STEP))) / STEP**2
        for d in range(2)
    ]
    return sum(second) + first_difference(field, 1) / POINT[1]


def test_velocity_is_free_of_divergence():
    axial_stretch = first_difference(CONE.velocity, 0)[0]
    radial = first_difference(CONE.velocity, 1)[1] + CONE.velocity(POINT)[1] / POINT[1]
    assert axial_stretch + radial == pytest.approx(0, abs=1e-5)


def test_viscous_force_balances_the_pressure_gradient():
    viscous = CONE.viscosity * laplacian(CONE.velocity)
    viscous[1] -= CONE.viscosity * CONE.velocity(POINT)[1] / POINT[1] ** 2
    gradient = np.array([first_difference(CONE.pressure, direction) for direction in range(2)])
    np.testing.assert_allclose(viscous, gradient, rtol=1e-4)


def test_velocity_vanishes_on_the_wall():
    wall = np.array([[1.0], [3.0 * np.tan(0.25)]])
    np.testing.assert_allclose(CONE.velocity(wall), 0, atol=1e-15)


@pytest.mark.parametrize("widening", [True, False])
@pytest.mark.parametrize("station", [0.0, 1.0])
def test_flux_through_any_section_is_the_flow_rate(station, widening):
    cone = CreepingCone(0.25, -2.0 if widening else 3.0, 1.5, 0.7, widening)
    radius = abs(station - cone.apex) * np.tan(0.25)
    flux = quad(
        lambda r: 2 * np.pi * r * cone.velocity(np.array([[station], [r]]))[0, 0], 0, radius
    )[0]
    assert flux == pytest.approx(1.5)


def mean_pressure(cone, station):
    """Area mean of the pressure over a plane section."""
    radius = abs(station - cone.apex) * np.tan(cone.half_angle)
    mean = quad(lambda r: 2 * r * cone.pressure(np.array([[station], [r]]))[0], 0, radius)[0]
    return mean / radius**2


def lubrication_drop(angle):
    """8 μ Q / (3 π tan t₀) (R₁⁻³ − R₂⁻³), in error by tan² t₀, with μ, Q and R₁ 1, R₂ 2."""
    return 8 * (1 - 1 / 8) / (3 * np.pi * np.tan(angle))


@pytest.mark.parametrize("angle", [0.02, 0.04])
def test_slender_cone_drops_the_pressure_of_lubrication_theory(angle):
    cone = CreepingCone(angle, -1 / np.tan(angle), 1.0, 1.0)
    exact = mean_pressure(cone, 0.0) - mean_pressure(cone, 1 / np.tan(angle))
    assert exact == pytest.approx(lubrication_drop(angle), rel=angle**2)


def test_dissipation_in_a_slender_cone_is_the_flow_rate_times_the_pressure_drop():
    angle = 0.02
    cone = CreepingCone(angle, -1 / np.tan(angle), 1.0, 1.0)
    power = cone.dissipation(0.0, 1 / np.tan(angle))
    assert power == pytest.approx(lubrication_drop(angle), rel=3 * angle**2)
