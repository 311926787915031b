"""The correlation of long orifices against its published statement and its low-Reynolds limit."""

import numpy as np
import pytest

from borestudy.closed_form.long_orifice import (
    at_high_reynolds,
    at_pressure,
    discharge_coefficient,
    pressure_drop,
)


def test_coefficient_at_high_reynolds_number_is_equation_7():
    """0.827 - 0.0085 L/d, stated to 1.5 %."""
    assert at_high_reynolds(2) == pytest.approx(0.810)
    assert at_high_reynolds(10) == pytest.approx(0.742)
    assert at_pressure(2e4, 2) == pytest.approx(0.810, rel=0.015)


#: 1/Cd^2 of equation 12 worked out apart, at Reynolds numbers of the mean velocity.
WORKED_OUT = {
    2: {500: 1.936, 1000: 1.732, 2000: 1.622, 5000: 1.543, 15000: 1.529},
    4: {500: 2.315, 2000: 1.762, 5000: 1.619},
    10: {500: 3.417, 2000: 2.192, 5000: 1.867, 15000: 1.830},
}


@pytest.mark.parametrize("length", WORKED_OUT)
def test_drops_from_a_plenum(length):
    for reynolds, drop in WORKED_OUT[length].items():
        assert pressure_drop(reynolds, length)[0] == pytest.approx(drop, abs=6e-4)


@pytest.mark.parametrize("length", [2, 4, 10])
@pytest.mark.parametrize("hydraulic", [10, 30, 100])
def test_low_reynolds_numbers_come_out_at_poiseuilles_and_sampsons_drop(length, hydraulic):
    """dp/q = (64 L/d + 12 pi)/Re + 1.5 with Re = R Cd: to 0.03, where "all but a few" fit to 0.02.

    Read as that of the mean velocity, R is off by 0.09 and more.
    """
    creeping = (64 * length + 12 * np.pi) / hydraulic
    laminar = (np.sqrt(creeping**2 + 6) - creeping) / 3
    assert at_pressure(hydraulic, length) == pytest.approx(laminar, abs=0.032)
    assert abs(at_pressure(hydraulic, length) - (creeping + 1.5) ** -0.5) > 0.09


def test_reynolds_number_of_the_pressure_drop_is_that_of_the_velocity_over_the_coefficient():
    found = discharge_coefficient(3000, 4, 0.0625)
    assert at_pressure(3000 * np.sqrt(1 - 0.0625**2) / found, 4) == pytest.approx(found)


def test_a_pipes_own_velocity_lowers_the_drop():
    assert pressure_drop(5000, 2, 1 / 16)[0] / pressure_drop(5000, 2)[0] == pytest.approx(
        1 - 1 / 256, abs=2e-4
    )


def test_least_and_greatest_are_a_coefficient_0_02_off():
    drop, least, greatest = pressure_drop(5000, 2)
    coefficient = drop**-0.5
    assert least**-0.5 - coefficient == pytest.approx(0.02)
    assert coefficient - greatest**-0.5 == pytest.approx(0.02)


@pytest.mark.parametrize(("reynolds", "length"), [(5000, 1.5), (5000, 11), (0.1, 2), (3e4, 2)])
def test_beyond_the_measurements_is_refused(reynolds, length):
    with pytest.raises(ValueError, match=r"a long orifice.* allowed"):
        pressure_drop(reynolds, length)
