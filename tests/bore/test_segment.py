"""Rational Bézier segments against what is known of circles and polynomials."""

import numpy as np
import pytest

from borestudy.bore import Bore, Segment
from borestudy.bore.segment import conic, line

QUARTER = conic((0.0, 2.0), (1.0, 2.0), (1.0, 1.0), np.sqrt(0.5), "cup")


def test_a_conic_of_weight_root_a_half_is_a_quarter_circle() -> None:
    points = QUARTER(np.linspace(0, 1, 33))
    np.testing.assert_allclose(np.hypot(points[:, 0], points[:, 1] - 1), 1.0, rtol=1e-14)
    assert QUARTER.arc_length() == pytest.approx(np.pi / 2, rel=1e-12)


def test_a_quarter_circle_turned_about_the_axis_has_pappus_volume() -> None:
    # disc quarter of radius 1 about (0, 1): area π/4, centroid 1 + 4/(3π); and the strip below
    exact = 2 * np.pi * (np.pi / 4) * (1 + 4 / (3 * np.pi)) + np.pi
    assert QUARTER.volume() == pytest.approx(exact, rel=1e-12)


def test_the_pieces_of_a_split_lie_on_the_whole() -> None:
    first, last = QUARTER.split(0.3)
    for piece in (first, last):
        points = piece(np.linspace(0, 1, 9))
        np.testing.assert_allclose(np.hypot(points[:, 0], points[:, 1] - 1), 1.0, rtol=1e-13)
    np.testing.assert_array_equal(first.stop, last.start)
    assert first.volume() + last.volume() == pytest.approx(QUARTER.volume(), rel=1e-12)


def test_the_derivative_is_that_of_finite_differences() -> None:
    cubic = Segment(np.array([[0, 1], [1, 3], [2, 2], [3, 4.0]]), np.array([1, 2, 0.5, 1]), "cup")
    t, step = np.linspace(0.1, 0.9, 5), 1e-6
    slope = (cubic(t + step) - cubic(t - step)) / (2 * step)
    np.testing.assert_allclose(cubic.derivative(t), slope, rtol=1e-8)


@pytest.mark.parametrize(
    ("segments", "words"),
    [
        ([line((0, 1), (1, 1), "cup"), line((1.1, 1), (2, 1), "throat")], "do not join"),
        ([line((0, 1), (1, 1), "cup"), line((1, 1), (0.5, 1), "throat")], "goes back"),
        ([line((0, 1), (1, 0), "cup")], "meets the axis"),
    ],
)
def test_segments_that_make_no_generatrix_are_refused(segments: list, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        Bore(segments)
