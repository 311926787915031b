"""The inertance of a step against mode matching without functions that know the edge."""

import numpy as np
import pytest
from scipy.special import jn_zeros

from borestudy.closed_form.area_step import end_correction, radial_zeros

from .mode_matching import step_correction


@pytest.mark.parametrize("ratio", [0.1, 0.2, 0.3, 0.5, 0.7])
def test_end_correction_is_that_of_plain_mode_matching(ratio):
    """Its own extrapolation is good to 3e-5, as three times as many modes show."""
    assert end_correction(ratio) == pytest.approx(step_correction(ratio), abs=5e-5)


def test_end_correction_tends_to_that_of_a_flange():
    # linear in the ratio as the wide tube opens: extrapolated to 0 it is a flanged end, 0.82159
    # (Norris & Sheng 1989, J. Sound Vib. 135, 85; from memory)
    near, far = end_correction(0.03), end_correction(0.06)
    assert 2 * near - far == pytest.approx(0.82159, abs=5e-4)


def test_no_step_has_no_inertance():
    assert end_correction(1.0) == 0
    assert end_correction(0.99) < 5e-3


def test_far_zeros_are_those_of_the_bessel_function():
    """McMahon's expansion against the library's zeros, both to rounding of numbers near 800."""
    np.testing.assert_allclose(radial_zeros()[200:260], jn_zeros(1, 260)[200:], rtol=0, atol=1e-12)


def test_far_zeros_continue_the_tabulated_ones():
    spacing = radial_zeros()[195:206]
    assert (abs(spacing[1:] - spacing[:-1] - 3.14159265) < 1e-5).all()


@pytest.mark.parametrize("ratio", [0.0, 1.2, -0.5])
def test_impossible_ratio_is_refused(ratio):
    with pytest.raises(ValueError, match=r"must lie between 0\.02 and 1"):
        end_correction(ratio)
