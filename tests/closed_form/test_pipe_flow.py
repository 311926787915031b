"""Closed forms of laminar pipe flow against one another."""

import numpy as np
import pytest

from borestudy.air import humid_air
from borestudy.closed_form.pipe_flow import (
    DEVELOPING_FLOW_TABLE,
    developed_flow_drop,
    developing_flow_drop,
    long_radius_nozzle_discharge,
)


def test_developing_flow_of_shah_agrees_with_the_computed_table_within_2_percent():
    shah = developing_flow_drop(list(DEVELOPING_FLOW_TABLE))
    np.testing.assert_allclose(shah, list(DEVELOPING_FLOW_TABLE.values()), rtol=0.02)


def test_developing_flow_falls_like_developed_flow_far_downstream():
    near, far = developing_flow_drop([1.0, 2.0])
    assert far - near == pytest.approx(64.0, rel=1e-3)


def test_developed_flow_has_darcy_friction_64_over_reynolds():
    air = humid_air()
    radius, length, flow_rate = 1.83e-3, 0.01, 2e-5
    velocity = flow_rate / (np.pi * radius**2)
    reynolds = 2 * radius * velocity / air.kinematic_viscosity
    dynamic = 0.5 * air.density * velocity**2
    expected = 64 / reynolds * length / (2 * radius) * dynamic
    assert developed_flow_drop(air, radius, length, flow_rate) == pytest.approx(expected)


def test_nozzle_loss_falls_with_the_root_of_the_reynolds_number():
    lost = 0.9965 - long_radius_nozzle_discharge([1e4, 4e4])
    assert lost[0] / lost[1] == pytest.approx(2.0)
