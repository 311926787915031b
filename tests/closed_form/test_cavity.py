"""Cavity frequencies against zeros of Bessel functions in the handbooks."""

import numpy as np
import pytest

from borestudy.closed_form.cavity import cut_on_frequencies, cylinder_frequency, sphere_frequency

TURN = 2 * np.pi


@pytest.mark.parametrize(("radial", "zero"), [(1, 3.8317060), (2, 7.0155867)])
def test_radial_modes_sit_at_the_zeros_of_j1(radial, zero):
    assert cylinder_frequency(1.0, 1.0, radial, 0, TURN) == pytest.approx(zero, abs=1e-7)


def test_axial_mode_is_half_a_wavelength():
    assert cylinder_frequency(1.0, 0.5, 0, 1, 343.0) == pytest.approx(343.0)


@pytest.mark.parametrize(("order", "zero"), [(0, 4.4934095), (1, 2.0815760)])
def test_sphere_modes_sit_at_the_zeros_of_the_spherical_slope(order, zero):
    assert sphere_frequency(1.0, order, TURN) == pytest.approx(zero, abs=1e-7)


def test_first_higher_modes_cut_on_at_their_zeros():
    assert cut_on_frequencies(1.0, TURN) == pytest.approx((1.8411838, 3.8317060), abs=1e-7)
