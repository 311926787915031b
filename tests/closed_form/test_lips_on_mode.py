"""Lips on one mode: where roots become imaginary, and what is published of lossless resonators."""

import numpy as np
import pytest

from borestudy.closed_form.lips_on_mode import LipsOnMode

LIPS = {"mass_per_area": 2.0, "lips_quality": 7.0, "width": 8e-3, "opening_at_rest": 0.5e-3}
MODE = {"mode_frequency": 466.0, "mode_quality": 30.0, "height": 40e6, "density": 1.18}


@pytest.fixture(scope="module")
def known():
    return LipsOnMode(**LIPS, **MODE)


@pytest.mark.parametrize("ratio", [0.7, 0.85, 1.0])
def test_at_the_threshold_two_roots_are_imaginary_and_the_others_decay(known, ratio):
    lips = ratio * MODE["mode_frequency"]
    pressure = known.threshold(lips)
    roots = np.roots(known.polynomial(pressure, lips))
    omega = 2 * np.pi * known.sounding_frequency(pressure, lips)
    on_axis = np.abs(roots.real) < 1e-8 * omega
    assert np.sort(roots[on_axis].imag) == pytest.approx([-omega, omega], rel=1e-9)
    assert np.all(roots[~on_axis].real < 0)
    assert known.growth(0.99 * pressure, lips).real < 0 < known.growth(1.01 * pressure, lips).real


def test_the_least_threshold_is_less_than_those_beside_it(known):
    pressure, lips = known.least_threshold()
    for beside in (0.999 * lips, 1.001 * lips):
        assert known.threshold(beside) > pressure
    assert pressure == known.threshold(lips)


def test_the_polynomial_is_the_equations_solved_by_an_exponential(known):
    # The three equations one after another, for an s that is no root: what is left is the same.
    pressure, lips, s = 3000.0, 420.0, 20 + 2800j
    own, mode = 2 * np.pi * lips, 2 * np.pi * MODE["mode_frequency"]
    velocity = np.sqrt(2 * pressure / MODE["density"])
    opening = LIPS["opening_at_rest"] + pressure / (LIPS["mass_per_area"] * own**2)
    inverse = s**2 + own / LIPS["lips_quality"] * s + own**2
    moved = -1.0 / (LIPS["mass_per_area"] * inverse)  # by a pressure of 1 in the cup
    flow = LIPS["width"] * (velocity * moved - opening / (MODE["density"] * velocity))
    damping = mode / MODE["mode_quality"]
    left = s**2 + damping * s + mode**2 - MODE["height"] * damping * s * flow
    assert np.polyval(known.polynomial(pressure, lips), s) == pytest.approx(inverse * left)


@pytest.mark.parametrize("lips_quality", [3.0, 7.0, 12.0])
def test_without_losses_a_tone_starts_between_1_and_root_3_times_the_lips_resonance(lips_quality):
    """Silva, Kergomard & Vergez 2007 (abstract), of a resonator without losses."""
    lossless = LipsOnMode(**LIPS | {"lips_quality": lips_quality},
                          **MODE | {"mode_quality": 1e6, "height": 1e12})  # fmt: skip
    pressure, lips = lossless.least_threshold()
    assert 1 < lossless.sounding_frequency(pressure, lips) / lips < np.sqrt(3)


def test_no_pressure_starts_a_tone_of_lips_far_above_the_mode(known):
    assert known.threshold(3 * MODE["mode_frequency"]) == np.inf
