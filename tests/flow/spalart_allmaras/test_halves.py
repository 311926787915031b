"""A rate's two halves and what is made of them, in a pipe with a section in its middle."""

from dataclasses import replace

import numpy as np
import pytest

from borestudy.air import humid_air
from borestudy.flow.models.spalart_allmaras import SpalartAllmaras
from borestudy.flow.solve import solve_flow
from borestudy.records import to_plain

DIAMETER = 3.66e-3
REYNOLDS = 5000
FRICTION = 0.0374  # Prandtl & von Karman at Re 5000


@pytest.fixture(scope="module")
def cut():
    """Where the first half ends, in diameters."""
    return float(np.linspace(1.2, 80, 64)[31])


@pytest.fixture(scope="module")
def row(long_pipe, cut):
    mesh = long_pipe(0.004)
    across = np.flatnonzero(np.abs(mesh.p[0, mesh.facets] - cut).max(axis=0) < 1e-9)
    named = {**(mesh.boundaries or {}), "section_throat_end": across}
    air = humid_air()
    rate = REYNOLDS * np.pi / 4 * DIAMETER * air.kinematic_viscosity
    mesh = replace(mesh, _boundaries=named).scaled(DIAMETER)
    (found,) = solve_flow([mesh], air, [rate], DIAMETER, model=SpalartAllmaras()).rates
    return to_plain(found)


def test_both_halves_make_the_whole_and_the_second_is_developed_friction(row, cut):
    front, back = row["pressure_drop_to_throat_end_Pa"], row["backbore_pressure_drop_Pa"]
    assert front + back == pytest.approx(row["pressure_drop_Pa"], rel=1e-12)
    # developed after some ten diameters, so that the second half has nothing of the inlet
    friction = FRICTION * (80 - cut) * row["dynamic_pressure_Pa"]
    assert back == pytest.approx(friction, rel=0.04)
    assert front > FRICTION * cut * row["dynamic_pressure_Pa"]


def test_the_mean_flow_loses_what_viscosity_and_eddy_viscosity_take(row):
    """Loss of mechanical energy is dissipation and production of turbulence, 2(ν + ν_t) S:S.

    On one mesh with cells of a diameter along the pipe; the inlet's edge is where it is lost.
    """
    budget = row["budget"]
    assert row["energy_balance"] == pytest.approx(0.0, abs=0.01)
    assert budget["loss_Pa"] == pytest.approx(budget["dissipation_Pa"], rel=0.01)
    loss = row["loss_coefficient"] * row["dynamic_pressure_Pa"]
    assert loss == pytest.approx(budget["loss_Pa"], rel=1e-12)


def test_wall_shear_along_the_wall_balances_the_pressure_gradient(row, cut):
    """Force balance of developed flow: τ = D/4 dp/dx, here of both lines as they are written."""
    wall, axis = row["wall"], row["axis"]
    place, pressure = np.array(wall["position_mm"]), np.array(wall["pressure_Pa"])
    inside = (place > 1e3 * 45 * DIAMETER) & (place < 1e3 * 75 * DIAMETER)
    gradient = -np.polyfit(1e-3 * place[inside], pressure[inside], 1)[0]
    at = np.array(wall["shear_position_mm"])
    inside = (at > 1e3 * 45 * DIAMETER) & (at < 1e3 * 75 * DIAMETER)
    shear = np.array(wall["shear_Pa"])[inside]
    assert shear.mean() == pytest.approx(DIAMETER / 4 * gradient, rel=0.01)
    # developed: pressure is the same across, and the axis faster than the mean by a quarter
    assert np.interp(150, axis["position_mm"], axis["pressure_Pa"]) == pytest.approx(
        np.interp(150, place, pressure), rel=0.01
    )
    fastest = max(axis["velocity_m_per_s"]) / row["throat_velocity_m_per_s"]
    assert 1.2 < fastest < 1.4


def test_the_ladder_of_each_figure_is_its_own(row):
    assert row["discharge_coefficient"] == pytest.approx(0.0, abs=1e-3)  # nothing is accelerated
    for key, ladder in row["levels"].items():
        assert ladder[-1] == row[key]
    # besides the loss the kinetic-energy factor grows, from the inlet's 1 to a parabola's 2 at most
    loss = row["loss_coefficient"] * row["dynamic_pressure_Pa"]
    assert loss < row["pressure_drop_Pa"] < loss + row["dynamic_pressure_Pa"]
    # friction of turbulent flow grows faster than Q and slower than Q²
    power = row["differential_resistance_kPa_s_per_L"] * 1e3 * row["flow_rate_L_per_s"]
    assert 1.5 < power / row["pressure_drop_Pa"] < 2
