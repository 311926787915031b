"""The inertance of a step against mode matching (computed separately, ±5e-5)."""

import pytest

from borestudy.closed_form.area_step import end_correction, radial_zeros


@pytest.mark.parametrize(
    ("ratio", "correction"),
    [(0.1, 0.71121), (0.2, 0.60213), (0.3, 0.49587), (0.5, 0.29802), (0.7, 0.13234)],
)
def test_end_correction_is_the_tabulated_one(ratio, correction):
    assert end_correction(ratio) == pytest.approx(correction, abs=5e-5)


def test_end_correction_tends_to_that_of_a_flange():
    # linear in the ratio as the wide tube opens: extrapolated to 0 it is a flanged end
    near, far = end_correction(0.03), end_correction(0.06)
    assert 2 * near - far == pytest.approx(0.82159, abs=5e-4)


def test_no_step_has_no_inertance():
    assert end_correction(1.0) == 0
    assert end_correction(0.99) < 5e-3


def test_far_zeros_continue_the_tabulated_ones():
    spacing = radial_zeros()[195:206]
    assert (abs(spacing[1:] - spacing[:-1] - 3.14159265) < 1e-5).all()


@pytest.mark.parametrize("ratio", [0.0, 1.2, -0.5])
def test_impossible_ratio_is_refused(ratio):
    with pytest.raises(ValueError, match=r"must lie between 0\.02 and 1"):
        end_correction(ratio)
