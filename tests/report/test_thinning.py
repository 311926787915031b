"""What is left of a curve looks like the curve."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from borestudy.report.interactive.thinning import thinned

HEIGHTS = st.lists(st.floats(-1e3, 1e3), min_size=3, max_size=80)


@given(HEIGHTS, st.floats(1e-4, 0.2))
def test_no_point_is_farther_from_the_lines_left_than_the_tolerance(
    heights: list[float], tolerance: float
) -> None:
    y = np.array(heights)
    x = np.arange(len(y), dtype=float) ** 1.5
    kept = thinned(x, y, tolerance)
    away = np.abs(np.interp(x, x[kept], y[kept]) - y)
    assert away.max() <= tolerance * np.ptp(y) + 1e-9 * np.abs(y).max()


@given(HEIGHTS)
def test_every_peak_and_both_ends_are_kept(heights: list[float]) -> None:
    y = np.array(heights)
    kept = thinned(np.arange(len(y)), y, 0.5)
    peaks = [
        place for place in range(1, len(y) - 1) if y[place - 1] < y[place] > y[place + 1]
    ]  # fmt: skip
    assert {0, len(y) - 1, *peaks} <= set(kept.tolist())


def test_a_narrow_peak_of_many_points_survives() -> None:
    frequency = np.linspace(50, 5000, 991)
    curve = 1 / np.abs(1 - (frequency / 811.7) ** 2 + 1j * frequency / 811.7 / 40)
    kept = thinned(frequency, np.log(curve))
    assert int(np.argmax(curve)) in kept
    assert len(kept) < 120


def test_a_straight_line_is_its_ends_and_gaps_are_left_out() -> None:
    x = np.arange(6.0)
    assert thinned(x, 2 * x).tolist() == [0, 5]
    assert thinned(x, [0, 1, np.nan, 3, 4, 5]).tolist() == [0, 5]


@pytest.mark.parametrize("y", [[], [1.0], [1.0, 2.0], [np.nan, 1.0]])
def test_what_is_no_curve_is_kept_as_it_is(y: list[float]) -> None:
    kept = thinned(np.arange(len(y)), y)
    assert kept.tolist() == [place for place, value in enumerate(y) if np.isfinite(value)]
