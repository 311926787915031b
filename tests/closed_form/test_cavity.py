"""Cavity frequencies against zeros of Bessel functions, found here from their series.

The printed digits are those of Abramowitz & Stegun (1964), tables 9.5 and 10.6, from memory; each
test shows them to be zeros.
"""

from math import factorial

import numpy as np
import pytest

from borestudy.closed_form.cavity import cut_on_frequencies, cylinder_frequency, sphere_frequency

FULL_CIRCLE = 2 * np.pi
LAST_DIGIT = 1e-7


def bessel(order, x):
    """The ascending series of J, good to 1e-12 for the small x here."""
    terms = (
        (-1) ** k * (x / 2) ** (2 * k + order) / (factorial(k) * factorial(k + order))
        for k in range(40)
    )
    return sum(terms)


def changes_sign(function, x):
    """Whether a zero lies within the last printed digit of x."""
    return function(x - LAST_DIGIT) * function(x + LAST_DIGIT) < 0


@pytest.mark.parametrize(("radial", "zero"), [(1, 3.8317060), (2, 7.0155867)])
def test_radial_modes_sit_at_the_zeros_of_j1(radial, zero):
    assert changes_sign(lambda x: bessel(1, x), zero)
    assert cylinder_frequency(1.0, 1.0, radial, 0, FULL_CIRCLE) == pytest.approx(
        zero, abs=LAST_DIGIT
    )


def test_axial_mode_is_half_a_wavelength():
    assert cylinder_frequency(1.0, 0.5, 0, 1, 343.0) == pytest.approx(343.0)


@pytest.mark.parametrize(
    ("order", "zero", "slope"),
    [
        # of sin x / x, and of sin x / x² − cos x / x, times powers of x
        (0, 4.4934095, lambda x: x * np.cos(x) - np.sin(x)),
        (1, 2.0815760, lambda x: (x**2 - 2) * np.sin(x) + 2 * x * np.cos(x)),
    ],
)
def test_sphere_modes_sit_at_the_zeros_of_the_spherical_slope(order, zero, slope):
    assert changes_sign(slope, zero)
    assert sphere_frequency(1.0, order, FULL_CIRCLE) == pytest.approx(zero, abs=LAST_DIGIT)


def test_first_higher_modes_cut_on_at_their_zeros():
    """J1' = (J0 − J2)/2."""
    assert changes_sign(lambda x: bessel(0, x) - bessel(2, x), 1.8411838)
    found = cut_on_frequencies(1.0, FULL_CIRCLE)
    assert found == pytest.approx((1.8411838, 3.8317060), abs=LAST_DIGIT)
