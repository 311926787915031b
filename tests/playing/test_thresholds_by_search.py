"""Least thresholds on tubes with an instrument behind them, against a search by brute force.

The impedance at the frequency that was found is computed anew from chain matrices, and nothing of
the search is shared with the code: every pressure is tried at every frequency of a register.
"""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from borestudy.air import Air
from borestudy.closed_form.air_column import air_column, chain_matrix, end_state
from borestudy.closed_form.tube import impedance_matrix
from borestudy.playing.lips import Lips, lips_set
from borestudy.playing.load import Load
from borestudy.playing.onset import least_thresholds
from borestudy.playing.steady import SteadyDrop

#: Humid air at 25 °C, from memory.
AIR = Air(1.184, 346.3, 1.84e-5, 0.0262, 1006.0, 1.4)
#: Stations of a bore and an air column of the trumpet class, invented [m].
FRONT = air_column(np.array([0, 4.6, 9.2, 11.7]) / 1e3, np.array([16.2, 14.5, 3.66, 3.66]) / 2e3)
BACK = air_column(
    np.array([0, 2.5, 76, 1000, 1250, 1370, 1420, 1440]) / 1e3,
    np.array([3.66, 3.66, 9.0, 11.7, 20.0, 45.0, 85.0, 120.0]) / 2e3,
)
#: A steady drop of the size of such a bore's: 12 Pa at 0.05 L/s, 2.4 kPa at 1 L/s.
RATES = np.array([0.05e-3, 0.2e-3, 0.5e-3, 1e-3])
STEADY = SteadyDrop.of(RATES, 1e5 * RATES + 2.3e9 * RATES**2, 1e5 + 4.6e9 * RATES)
FREQUENCIES = np.arange(60.0, 1100.0, 0.5)
LIPS = (Lips(), *lips_set(40)[10::15])


def load_at(frequencies, steady=STEADY):
    """The load at any frequencies."""
    omega = 2 * np.pi * np.atleast_1d(frequencies)
    end = end_state(BACK, omega, AIR)
    pressure, flow = (chain_matrix(BACK, omega, AIR) @ end[:, :, None])[:, :, 0].T
    return Load(
        frequencies=np.atleast_1d(frequencies),
        front=impedance_matrix(chain_matrix(FRONT, omega, AIR)),
        behind=pressure / flow,
        to_shank=np.ones(len(omega), dtype=complex),
        correction=np.zeros(len(omega), dtype=complex),
        steady=steady,
        throat_diameter=3.66e-3,
        density=AIR.density,
    )


@cache
def sampled():
    """The load at the samples."""
    return load_at(FREQUENCIES)


@cache
def found(throat="with"):
    """Least thresholds of the lips, with the steady drop and without."""
    steady = STEADY if throat == "with" else SteadyDrop.none()
    return least_thresholds(replace(sampled(), steady=steady), LIPS, registers=8)


def flow_and_slope(lips, drop, lips_omega):
    """Flow through lips that stand open by a steady drop [m³/s], and its derivative by the drop."""
    opening = lips.opening_at_rest + drop / (lips.mass_per_area * lips_omega**2)
    flow = lips.width * opening * np.sqrt(2 * drop / AIR.density)
    return flow, lips.width * opening / np.sqrt(2 * AIR.density * drop)


def valve_admittance(lips, drop, omega, lips_omega):
    """Flow out of the lips by the pressure in the cup, of small oscillations [m³/(Pa·s)]."""
    damping = 1j * omega * lips_omega / lips.quality_factor
    moved = lips.mass_per_area * (lips_omega**2 - omega**2 + damping)
    speed = np.sqrt(2 * drop / AIR.density)
    return -lips.width * speed / moved - flow_and_slope(lips, drop, lips_omega)[1]


CASES = [(i, register) for i in range(len(LIPS)) for register in (2, 4, 7)]


@pytest.mark.parametrize(("index", "register"), CASES)
def test_valve_and_bore_answer_alike_at_a_threshold_with_the_resistance_of_its_own_flow(
    index, register
):
    lips, one = LIPS[index], found()[index][register - 1]
    omega, lips_omega = 2 * np.pi * one.frequency, 2 * np.pi * one.lips_frequency
    drop = one.mouth_pressure - STEADY.drop(one.flow_rate)
    flow, _ = flow_and_slope(lips, drop, lips_omega)
    assert flow == pytest.approx(one.flow_rate, rel=1e-9)
    assert one.throat_resistance == pytest.approx(STEADY.slope(flow), rel=1e-9)
    bore = 1 / load_at(one.frequency).impedance(STEADY.slope(flow))[0]
    valve = valve_admittance(lips, drop, omega, lips_omega)
    # Impedances between the samples are splines': of fifth degree, 0.5 Hz apart, at peaks some
    # 10 Hz wide, which leaves (0.5/10)^6 of them.
    assert abs(bore - valve) < 1e-7 * abs(bore)


def thresholds_by_search(lips, frequencies, steady):
    """Least pressure that keeps an oscillation up at each frequency; infinite where none does."""
    load, omega = load_at(frequencies, steady), 2 * np.pi * frequencies[:, None]
    drop = np.geomspace(20.0, 20e3, 240)[None, :]
    lips_omega = 0.9 * omega + 0 * drop
    for _ in range(80):  # the lips' resonance at which the phase is right, by iteration
        flow, slope = flow_and_slope(lips, drop, lips_omega)
        through = load.behind[:, None] + load.front[:, 1, 1, None] + steady.slope(flow)
        bore = load.front[:, 0, 0, None] - load.front[:, 0, 1, None] ** 2 / through
        needed = 1 / bore + slope
        push = lips.width * np.sqrt(2 * drop / AIR.density) / lips.mass_per_area
        squared = omega**2 - push * needed.real / np.abs(needed) ** 2
        lips_omega = np.sqrt(0.5 * lips_omega**2 + 0.5 * np.maximum(squared, (0.1 * omega) ** 2))
    settled = np.abs(squared - lips_omega**2) < 1e-9 * omega**2
    excess = push * needed.imag / np.abs(needed) ** 2 - omega * lips_omega / lips.quality_factor
    mouth = drop + steady.drop(flow)
    up = (excess[:, :-1] < 0) & (excess[:, 1:] >= 0) & settled[:, :-1] & settled[:, 1:]
    share = np.where(up, excess[:, :-1] / (excess[:, :-1] - excess[:, 1:]), 0.0)
    crossing = mouth[:, :-1] * (mouth[:, 1:] / mouth[:, :-1]) ** share
    return np.where(up, crossing, np.inf).min(axis=1)


@pytest.mark.parametrize("throat", ["with", "without"])
@pytest.mark.parametrize(("index", "register"), CASES)
def test_no_frequency_and_no_resonance_of_the_lips_needs_less_pressure(index, register, throat):
    steady = STEADY if throat == "with" else SteadyDrop.none()
    thresholds = found(throat)
    one = thresholds[index][register - 1]
    after = thresholds[index][register]
    register_of = np.linspace(one.peak_frequency, after.peak_frequency, 60)[:-1]
    tried = np.sort(np.append(register_of, one.frequency))
    searched = thresholds_by_search(LIPS[index], tried, steady)
    there = tried == one.frequency
    # Pressures are 3 % apart: of a crossing between them the square of that over 8 is unknown.
    assert searched[there] == pytest.approx(one.mouth_pressure, rel=3e-4)
    assert searched[~there].min() > one.mouth_pressure * (1 - 3e-4)
    # ... and the search comes near it: 60 frequencies in a register miss a minimum by little.
    assert searched[~there].min() < one.mouth_pressure * 1.02


def test_the_resistance_in_the_throat_raises_every_threshold():
    for lips, without in zip(found(), found("without"), strict=True):
        for register in (1, 3, 6):
            assert lips[register].mouth_pressure > without[register].mouth_pressure


def test_half_of_the_set_or_more_starts_a_tone_within_20_kpa_up_to_the_seventh_register():
    thresholds = least_thresholds(sampled(), lips_set(20), registers=7)
    starting = np.array(
        [[one is not None and one.mouth_pressure < 20e3 for one in row] for row in thresholds]
    )
    assert starting.shape == (20, 7)
    assert np.all(starting.sum(axis=0) >= 10)
