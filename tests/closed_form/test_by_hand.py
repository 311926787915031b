"""The hand formulas against integrals, limits and one another."""

import math

import numpy as np
import pytest
from scipy.integrate import quad

from borestudy.air import humid_air
from borestudy.bore import bore_from_dimensions
from borestudy.bore.entry import Entry
from borestudy.closed_form import by_hand
from borestudy.closed_form.pipe_flow import developed_flow_drop

RIM, THROAT, DEPTH = 8.1e-3, 1.83e-3, 10.8e-3


@pytest.mark.parametrize(("shape", "formula"), [(0, "cone_volume"), (1, "bowl_volume")])
def test_a_cup_at_either_end_of_its_shapes_has_the_volume_of_the_formula(shape, formula):
    bore = bore_from_dimensions(
        length=88e-3, cup_diameter=2 * RIM, cup_depth=DEPTH, cup_shape=shape,
        throat_diameter=2 * THROAT, throat_length=5e-3, entry=Entry(),
        backbore_end_diameter=9e-3,
    )  # fmt: skip
    # Both are exact: what is left is rounding of the quadrature over the conic.
    found = getattr(by_hand, formula)(RIM, THROAT, DEPTH)
    assert found == pytest.approx(bore.volume("cup"), rel=1e-9)
    # and the throat is a cone of equal radii
    assert by_hand.cone_volume(THROAT, THROAT, 5e-3) == pytest.approx(bore.volume("throat"))


def test_a_cones_inertance_is_the_integral_of_length_over_area():
    def per_length(x: float) -> float:
        return 1 / (math.pi * (THROAT + (4.5e-3 - THROAT) * x / 70e-3) ** 2)

    found = by_hand.cone_inertance(THROAT, 4.5e-3, 70e-3)
    assert found == pytest.approx(quad(per_length, 0, 70e-3, epsabs=0)[0], rel=1e-9)
    assert by_hand.cone_inertance(THROAT, THROAT, 5e-3) == by_hand.neck_inertance(THROAT, 5e-3)


def test_a_resonator_swings_as_a_spring_and_a_mass():
    air, volume, length = humid_air(298.15, 0.5), 1.3e-6, 5e-3
    area = math.pi * THROAT**2
    mass = air.density * area * (length + 2 * by_hand.end_length(THROAT))
    spring = air.density * air.sound_speed**2 * area**2 / volume
    inertance = by_hand.neck_inertance(THROAT, length, ends=2)
    found = by_hand.resonator_frequency(volume, inertance, air.sound_speed)
    assert found == pytest.approx(math.sqrt(spring / mass) / (2 * math.pi), rel=1e-12)


def test_a_quarter_wave_has_its_pressure_node_at_the_open_end():
    found = by_hand.quarter_wave(0.1, 340.0)
    assert np.cos(2 * np.pi * found / 340.0 * 0.1) == pytest.approx(0, abs=1e-12)


def test_laminar_friction_is_64_over_the_reynolds_number_of_the_dynamic_pressure():
    air, length, rate = humid_air(298.15, 0.5), 5e-3, 5e-5
    reynolds = 2 * THROAT * by_hand.mean_velocity(THROAT, rate) / air.kinematic_viscosity
    drop = 64 / reynolds * length / (2 * THROAT) * by_hand.dynamic_pressure(air, THROAT, rate)
    assert developed_flow_drop(air, THROAT, length, rate) == pytest.approx(drop, rel=1e-12)
