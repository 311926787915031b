"""A rate's two halves and what is made of them, in a pipe with a section in its middle."""

from dataclasses import replace

import numpy as np
import pytest

from borestudy.air import humid_air
from borestudy.closure.solve import solve_closure

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
    return solve_closure([mesh], air, [rate], DIAMETER)["rates"][0]


def test_both_halves_make_the_whole_and_the_second_is_developed_friction(row, cut):
    front, back = row["pressure_drop_to_throat_end_Pa"], row["backbore_pressure_drop_Pa"]
    assert front + back == pytest.approx(row["pressure_drop_Pa"], rel=1e-12)
    # developed after some ten diameters, so that the second half has nothing of the inlet
    friction = FRICTION * (80 - cut) * row["dynamic_pressure_Pa"]
    assert back == pytest.approx(friction, rel=0.04)
    assert front > FRICTION * cut * row["dynamic_pressure_Pa"]


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
