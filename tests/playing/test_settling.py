"""Tones that settle, tones that die away, and where a tone starts and ends."""

import dataclasses

import numpy as np
import pytest

from borestudy.intervals import cents
from borestudy.playing.growth import growth_rates, nearest, threshold_pressure
from borestudy.playing.settling import COURSE_STEP, END_KNOWN, STEP, course, settled
from borestudy.playing.tone import disturbed

SOUNDING = 470.0


@pytest.fixture(scope="module")
def threshold(oscillator):
    return threshold_pressure(oscillator, SOUNDING, 4000.0)


def test_a_small_vibration_below_the_threshold_dies_away(oscillator, threshold):
    pressure = 0.8 * threshold
    found = settled(oscillator, pressure, disturbed(oscillator, pressure, 0.01), SOUNDING)
    assert found.frequency is None
    assert found.cup_pressure == 0


def test_a_tone_settles_to_the_same_from_small_and_from_large(oscillator, threshold):
    pressure = 1.5 * threshold
    small, large = (
        settled(oscillator, pressure, disturbed(oscillator, pressure, kick), SOUNDING, enough=1e-4)
        for kick in (0.05, 1.0)
    )
    assert max(small.left, large.left) < 1e-4
    # both are within what is left
    assert small.cup_pressure == pytest.approx(large.cup_pressure, rel=3e-4)
    assert abs(cents(small.frequency / large.frequency)) < 0.01


def test_the_step_of_the_course_is_as_good_as_is_said(oscillator, threshold):
    pressure = 1.5 * threshold
    fine, coarse = (
        settled(oscillator, pressure, disturbed(oscillator, pressure, 0.5), SOUNDING, step=step)
        for step in (STEP, COURSE_STEP)
    )
    assert abs(cents(fine.frequency / coarse.frequency)) < 0.05


def test_time_that_is_too_short_leaves_something(oscillator, threshold):
    pressure = 1.05 * threshold
    start = disturbed(oscillator, pressure, 0.01)
    found = settled(oscillator, pressure, start, SOUNDING, longest=0.2, enough=1e-4)
    assert found.left > 0.1
    assert found.frequency is not None


@pytest.fixture(scope="module")
def followed(oscillator, threshold):
    return course(oscillator, threshold, 1.5 * threshold, SOUNDING)


def test_with_rising_pressure_a_tone_starts_at_the_threshold(followed, oscillator, threshold):
    for pressure, found in followed.rising:
        rate = nearest(growth_rates(oscillator, pressure), SOUNDING).real
        assert (found is not None) == (rate > 0) == (pressure > threshold)


def test_with_falling_pressure_it_ends_between_two_that_are_close(followed, threshold):
    low, high = followed.ends_between
    assert 0 < high - low <= END_KNOWN * threshold
    assert high <= threshold * 1.02
    for pressure, found in followed.falling:
        assert (found is not None) == (pressure > low)
    pressures = [pressure for pressure, _ in followed.falling]
    assert pressures == sorted(pressures, reverse=True)
    assert np.all(np.diff([found.cup_pressure for _, found in followed.falling if found]) < 0)


def test_lips_that_nothing_starts_have_no_course(oscillator):
    # Far below every mode, and blown at a pressure that starts nothing.
    low = dataclasses.replace(oscillator, lips_frequency=30.0)
    found = course(low, 200.0, 300.0, 90.0)
    assert all(one is None for _, one in found.rising)
    assert found.falling == found.rising[-1:]
    assert found.ends_between is None
