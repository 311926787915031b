"""Closed forms of laminar pipe flow against one another."""

import numpy as np
import pytest
from fluids.flow_meter import C_long_radius_nozzle

from borestudy.air import humid_air
from borestudy.closed_form.pipe_flow import (
    DEVELOPING_FLOW_TABLE,
    contraction_excess,
    developed_flow_drop,
    developing_flow_drop,
    expansion_reattachment,
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


@pytest.mark.parametrize("reynolds", [3e4, 1e5, 1e6])
def test_nozzle_discharge_is_the_standards_as_an_independent_library_has_it(reynolds):
    """`fluids` writes ISO 5167-3:2003 on the pipe: C = 0.9965 − 0.00653 √(β 10⁶/Re_D)."""
    pipe, throat, density, viscosity = 0.07, 0.03, 1.2, 1.8e-5
    mass = reynolds * np.pi / 4 * throat * viscosity
    published = C_long_radius_nozzle(D=pipe, Do=throat, rho=density, mu=viscosity, m=mass)
    assert long_radius_nozzle_discharge(reynolds) == pytest.approx(published, rel=1e-12)


def test_contraction_costs_the_parabolas_energy_and_nearly_sampsons_creeping_flow():
    """Past inertia at least 2 (1 − β⁴), past friction a wall 3 times as wide as the hole, not ∞.

    Sampson (1891): 3 μ Q/a³ through a hole in a thin wall, half of it a side, 6π/Re in units of q.
    The step to that of an infinite wall is of the order of β³, 4 %.
    """
    inertial = contraction_excess(1e9)
    creeping = (contraction_excess(20.0) - inertial) * 20.0
    assert 2 * (1 - 3.0**-4) < inertial < 2 * (1 - 3.0**-4) + 0.5
    assert creeping == pytest.approx(6 * np.pi, rel=0.04)


def test_reattachment_after_an_expansion_is_the_published_one():
    """Hammad, Ötügen & Arik (1999, Exp. Fluids 26, 266), measured: 0.0876 Re; from memory."""
    assert expansion_reattachment(100.0) == pytest.approx(8.76, rel=0.02)
