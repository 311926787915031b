"""The steady pressure drop between, before and beyond the flow rates that are known."""

import numpy as np
import pytest

from borestudy.playing.steady import SteadyDrop

RATES = np.array([0.05e-3, 0.1e-3, 0.2e-3, 0.3e-3])


def of_terms(linear, square):
    """The drop a U + b U² known at four rates."""
    return SteadyDrop.of(RATES, linear * RATES + square * RATES**2, linear + 2 * square * RATES)


def bent():
    """A drop that is no polynomial, as where a flow turns turbulent."""
    return SteadyDrop.of(RATES, 3e7 * RATES**1.4, 4.2e7 * RATES**0.4)


EVERYWHERE = np.linspace(0.0, 0.6e-3, 301)


def test_a_drop_of_two_terms_is_reproduced_at_every_rate():
    known = of_terms(2e5, 4e9)
    assert known.drop(EVERYWHERE) == pytest.approx(2e5 * EVERYWHERE + 4e9 * EVERYWHERE**2)
    assert known.slope(EVERYWHERE) == pytest.approx(2e5 + 8e9 * EVERYWHERE)


def test_the_known_rates_have_their_drops_and_slopes():
    known = bent()
    assert known.drop(RATES) == pytest.approx(known.drops, rel=1e-14)
    assert known.slope(RATES) == pytest.approx(known.slopes, rel=1e-14)


def test_the_slope_is_the_drops_derivative():
    known, step = bent(), 1e-9
    places = EVERYWHERE[1:]
    # Central differences across a known rate see two curves: only their second derivatives jump.
    difference = (known.drop(places + step) - known.drop(places - step)) / (2 * step)
    bend = np.abs(np.diff(known.slope(EVERYWHERE))).max() / np.diff(EVERYWHERE)[0]
    # Rounding of the drop, and the second derivative's jump times the step.
    allowed = 2e-16 * known.drop(0.6e-3) / step + bend * step
    assert np.abs(difference - known.slope(places)).max() < allowed


def test_a_cubics_error_is_of_fourth_order_between_two_rates():
    def error(spacing):
        middle = 0.25e-3
        rates = middle + np.array([-0.5, 0.5]) * spacing
        known = SteadyDrop.of(rates, 3e7 * rates**1.4, 4.2e7 * rates**0.4)
        return abs(known.drop(middle) - 3e7 * middle**1.4)

    assert np.log2(error(0.1e-3) / error(0.05e-3)) == pytest.approx(4.0, abs=0.2)


def test_no_flow_has_no_drop_and_a_drop_goes_on_beyond_the_greatest_rate():
    known = bent()
    assert known.drop(0.0) == 0.0
    assert known.greatest_rate == 0.3e-3
    beyond = known.drop([0.3e-3 * (1 + 1e-9), 0.5e-3])
    assert beyond[0] == pytest.approx(known.drops[-1], rel=1e-8)
    # a U + b U² with the last value and slope: U D' - D = b U², 2 D - U D' = a U.
    ratio = 0.5 / 0.3
    linear = 2 * known.drops[-1] - 0.3e-3 * known.slopes[-1]
    square = 0.3e-3 * known.slopes[-1] - known.drops[-1]
    assert beyond[1] == pytest.approx(ratio * linear + ratio**2 * square)


def test_values_have_the_shape_of_the_rates():
    assert bent().drop(np.full((2, 3), 0.1e-3)).shape == (2, 3)
    assert np.shape(bent().slope(0.1e-3)) == ()


def test_without_a_drop_there_is_neither_drop_nor_resistance():
    assert np.all(SteadyDrop.none().drop(EVERYWHERE) == 0)
    assert np.all(SteadyDrop.none().slope(EVERYWHERE) == 0)


@pytest.mark.parametrize(
    ("rates", "drops", "slopes", "key"),
    [
        ([], [], [], "flow rates"),
        ([0.0, 1e-4], [0.0, 1.0], [1.0, 1.0], "flow rates"),
        ([2e-4, 1e-4], [1.0, 2.0], [1.0, 1.0], "flow rates"),
        ([1e-4, 1e-4], [1.0, 1.0], [1.0, 1.0], "flow rates"),
        ([np.nan], [1.0], [1.0], "flow rates"),
        ([1e-4, np.inf], [1.0, 2.0], [1.0, 1.0], "flow rates"),
        ([1e-4], [1.0, 2.0], [1.0], "drops"),
        ([1e-4], [np.nan], [1.0], "drops"),
        ([1e-4, 2e-4], [1.0, 2.0], [1.0], "slopes"),
        ([1e-4], [1.0], [np.inf], "slopes"),
    ],
)
def test_rates_that_are_none_are_refused_in_words(rates, drops, slopes, key):
    with pytest.raises(ValueError, match=rf"^{key}: found .*; allowed .*for example"):
        SteadyDrop.of(rates, drops, slopes)
