"""The tone in time against eigenvalues, a differential equation's solver, and its own impedance."""

import dataclasses

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from borestudy.intervals import cents
from borestudy.playing.growth import growth_rates, nearest, threshold_pressure
from borestudy.playing.lips import Lips
from borestudy.playing.modes import Modes
from borestudy.playing.parabolas import parabola_factor
from borestudy.playing.periodic import (
    centroid,
    coefficients,
    differs,
    harmonics,
    period_frequency,
    power_balances,
    repeats,
)
from borestudy.playing.tone import Oscillator, at_rest, attack, disturbed, simulate

STEP = 1 / 96000
SOUNDING = 470.0


@pytest.fixture(scope="module")
def threshold(oscillator):
    return threshold_pressure(oscillator, SOUNDING, 4000.0)


@pytest.fixture(scope="module")
def played(oscillator, threshold):
    """A tone well above its threshold, by its time step."""

    def found(step):
        return simulate(oscillator, attack(1.5 * threshold, 1.0, step), step)

    return {step: found(step) for step in (STEP, STEP / 2)}


@pytest.mark.parametrize("times", [0.97, 1.02, 1.05])
def test_small_oscillations_grow_as_the_eigenvalue_says(oscillator, threshold, times):
    pressure = times * threshold
    expected = nearest(growth_rates(oscillator, pressure), SOUNDING)
    start = disturbed(oscillator, pressure, 1e-6)
    found = simulate(oscillator, np.full(48000, pressure), STEP, start)
    # The other oscillations die away at 40 per second and more: e^-10 of them is left.
    opening = found.opening - oscillator.steady(pressure)[1]
    frequency = expected.imag / (2 * np.pi)
    first, second = (
        coefficients(opening[at : at + 9600], STEP, np.array([frequency]))[0]
        for at in (24000, 38400)
    )
    time = 14400 * STEP
    assert np.log(abs(second / first)) / time == pytest.approx(expected.real, rel=0.01)
    turned = np.angle(second / first * np.exp(-1j * expected.imag * time)) / time
    assert abs(turned) < 1e-4 * expected.imag
    assert np.sign(expected.real) == np.sign(times - 1)


def test_the_threshold_is_where_the_linear_equation_has_a_real_frequency(oscillator, threshold):
    # 1/Z(ω) of the lips, put together anew, against the modes' impedance.
    drop, opening = oscillator.steady(threshold)
    omega = nearest(growth_rates(oscillator, threshold), SOUNDING).imag
    lips, own = oscillator.lips, oscillator.omega
    response = own**2 - omega**2 + 1j * omega * own / lips.quality_factor
    by_opening = lips.width * np.sqrt(2 * drop / oscillator.density)
    by_drop = lips.width * opening / np.sqrt(2 * oscillator.density * drop)
    admittance = -by_opening / (lips.mass_per_area * response) - by_drop
    assert admittance * oscillator.modes.impedance(omega) == pytest.approx(1, abs=1e-8)


def test_a_solver_of_differential_equations_gives_the_same_start(oscillator, threshold):
    modes, lips = oscillator.modes, oscillator.lips
    begin = disturbed(oscillator, 1.5 * threshold, 0.3)

    def change(time, state):
        opening, velocity = state[:2].real
        drop = 1.5 * threshold - state[2:].real.sum()
        flow = lips.width * max(opening, 0) * np.sqrt(2 * abs(drop) / oscillator.density)
        force = drop / lips.mass_per_area - oscillator.omega**2 * (opening - lips.opening_at_rest)
        pull = force - oscillator.omega / lips.quality_factor * velocity
        shares = modes.poles * state[2:] + 2 * modes.residues * np.sign(drop) * flow
        return np.concatenate([[velocity, pull], shares])

    first = np.concatenate([[begin.opening, begin.velocity], begin.modes]).astype(complex)
    times = np.arange(1, 1921) * STEP
    exact = solve_ivp(
        change, (0, times[-1]), first, t_eval=times, rtol=1e-10, atol=1e-13, method="DOP853"
    ).y.real
    opening, pressure = exact[0], exact[2:].sum(axis=0)

    def errors(parts):
        found = simulate(oscillator, np.full(1920 * parts, 1.5 * threshold), STEP / parts, begin)
        by_signal = [(found.opening, opening), (found.pressure, pressure)]
        return np.array(
            [np.max(np.abs(one[parts - 1 :: parts] - known)) / np.ptp(known)
             for one, known in by_signal]
        )  # fmt: skip

    coarse, fine = errors(1), errors(2)
    # (ω Δt)² / 12 of the third harmonic is 8e-4.
    assert np.all(coarse < 1e-3)
    # of second order
    assert np.allclose(coarse / fine, 4, rtol=0.1)


def test_a_step_of_one_half_changes_the_pitch_by_less_than_a_tenth_of_a_cent(played):
    coarse, fine = (
        period_frequency(played[step].opening, step, SOUNDING) for step in (STEP, STEP / 2)
    )
    assert abs(cents(coarse / fine)) < 0.1


def test_harmonics_of_pressure_and_flow_are_joined_by_the_impedance(oscillator, played):
    tone = played[STEP]
    frequency = period_frequency(tone.opening, STEP, SOUNDING)
    multiples = frequency * np.arange(1, int(3000 / frequency) + 1)
    pressure = harmonics(tone.pressure, STEP, frequency, len(multiples))
    flow = harmonics(tone.flow, STEP, frequency, len(multiples)) * parabola_factor(multiples, STEP)
    expected = oscillator.modes.impedance(2 * np.pi * multiples) * flow
    assert np.all(np.abs(pressure / expected - 1) < 1e-3)
    assert np.abs(pressure[0]) > 1000


def test_powers_balance_over_a_period(oscillator, played, threshold):
    bore, lips = power_balances(oscillator, played[STEP], 1.5 * threshold)
    assert bore[0] == pytest.approx(bore[1], rel=1e-3)
    assert lips[0] == pytest.approx(lips[1], rel=1e-3)
    assert min(*bore, *lips) > 0


def test_lips_that_hardly_close_make_a_tone_that_repeats_itself(played):
    tone = played[STEP]
    frequency = period_frequency(tone.opening, STEP, SOUNDING)
    assert repeats(tone.pressure, STEP, frequency)
    assert differs(tone.pressure, STEP, 1.1 * frequency) > 0.1


def test_a_tone_goes_on_from_where_it_ended(oscillator):
    pressure = attack(6000.0, 0.05, STEP)
    whole = simulate(oscillator, pressure, STEP)
    first = simulate(oscillator, pressure[:1111], STEP)
    rest = simulate(oscillator, pressure[1111:], STEP, first.end)
    joined = np.concatenate([first.pressure, rest.pressure])
    assert np.allclose(joined, whole.pressure, rtol=0, atol=1e-6)


def test_the_steady_state_stays(oscillator):
    # 300 Pa is far below any threshold.
    offset = dataclasses.replace(oscillator, offset=40.0)
    start = disturbed(offset, 300.0, 0.0)
    found = simulate(offset, np.full(2000, 300.0), STEP, start)
    drop, opening = offset.steady(300.0)
    assert np.allclose(found.opening, opening, rtol=1e-12)
    assert np.allclose(found.pressure, 300.0 - drop, rtol=1e-9)
    flow = offset.lips.width * opening * np.sqrt(2 * drop / offset.density)
    assert found.flow[-1] == pytest.approx(flow, rel=1e-12)
    assert 300.0 - drop == pytest.approx(40.0 + offset.modes.at_rest * flow, rel=1e-12)


def test_lips_without_flow_swing_as_a_damped_mass():
    # An opening so narrow that its flow makes no pressure: a step of the mouth's pressure.
    lips = Lips(width=1e-12)
    one = Oscillator(lips, 300.0, Modes(np.array([-10 + 900j]), np.array([1e3 + 0j])), 0.0, 1.2)
    start = dataclasses.replace(at_rest(one), drop=1000.0)
    found = simulate(one, np.full(3000, 1000.0), STEP, start)
    time = STEP * np.arange(1, 3001)
    decay = one.omega / (2 * lips.quality_factor)
    ringing = np.sqrt(one.omega**2 - decay**2)
    expected = (1000.0 / one.stiffness) * (
        1
        - np.exp(-decay * time)
        * (np.cos(ringing * time) + decay / ringing * np.sin(ringing * time))
    )
    assert np.allclose(found.opening, lips.opening_at_rest + expected, rtol=1e-9)


def test_suction_closes_the_lips_and_draws_air_out(oscillator):
    found = simulate(oscillator, np.full(960, -9000.0), STEP)
    assert found.flow.min() < 0
    assert np.any(found.opening < 0)
    assert np.all(found.flow[found.opening < 0] == 0)


def test_the_same_tone_comes_back_bit_by_bit(oscillator):
    first, second = (simulate(oscillator, attack(6000.0, 0.1, STEP), STEP) for _ in range(2))
    assert first.pressure.tobytes() == second.pressure.tobytes()


@pytest.mark.parametrize(("pressure", "step"), [(np.nan, STEP), (1000.0, 0.0), (1000.0, np.inf)])
def test_what_cannot_be_played_is_refused(oscillator, pressure, step):
    with pytest.raises(ValueError, match=r"found a time step of .* for example 1/96000"):
        simulate(oscillator, np.array([pressure]), step)


def test_no_growth_without_blowing(oscillator):
    with pytest.raises(ValueError, match="allowed is one above 0 Pa"):
        growth_rates(oscillator, -5.0)


def test_no_threshold_where_the_lips_are_far_below_all_modes(oscillator):
    assert threshold_pressure(dataclasses.replace(oscillator, lips_frequency=5.0), 90, 500) is None


def test_frequency_harmonics_and_centroid_of_a_known_sum():
    time = np.arange(9600) * STEP
    frequency, sizes = 333.3, np.array([3.0, 2.0, 1.0])
    signal = 7 + sum(
        size * np.cos(2 * np.pi * frequency * n * time + n) for n, size in enumerate(sizes, 1)
    )
    assert period_frequency(signal, STEP, 300.0) == pytest.approx(frequency, rel=1e-6)
    found = harmonics(signal, STEP, frequency, 5)
    assert np.allclose(np.abs(found[:3]), sizes, rtol=1e-5)
    assert np.all(np.abs(found[3:]) < 1e-4)
    # (3 + 4 + 3) / 6 of the first harmonic
    assert centroid(frequency * np.arange(1, 4), np.abs(found[:3])) == pytest.approx(
        frequency * 10 / 6, rel=1e-5
    )


def test_too_few_periods_are_refused():
    with pytest.raises(ValueError, match="allowed are 25 or more"):
        period_frequency(np.ones(2000), STEP, 400.0)


def test_what_parabolas_have_of_an_oscillation_is_their_own_integral():
    # By Simpson's rule on 200 parts of one step, at a tenth of the samples' frequency.
    angle = 2 * np.pi * 0.1
    place = np.linspace(0, 1, 201)
    before, now, after = np.exp(1j * angle * np.array([-1, 0, 1]))
    parabola = now + place * (after - before) / 2 + place**2 * (after - 2 * now + before) / 2
    weights = np.concatenate([[1], np.tile([4, 2], 99), [4, 1]]) / 600
    expected = np.sum(weights * parabola * np.exp(-1j * angle * place))
    assert parabola_factor(np.array([0.1 / STEP]), STEP)[0] == pytest.approx(expected, abs=1e-9)
