"""Modal fits against sums of modes that are known and closed forms of pipes, and their power."""

import numpy as np
import pytest

from borestudy.air import Air
from borestudy.closed_form.air_column import air_column, entrance_state
from borestudy.playing.modes import Modes, fit_modes
from borestudy.playing.passivity import deciding_frequencies, is_passive, real_part
from borestudy.playing.vector_fitting import (
    fitted_poles,
    fitted_residues,
    passive_residues,
)

HZ = 2 * np.pi


#: Dry air at 20 °C.
AIR = Air(1.2046, 343.34, 1.8206e-5, 0.025874, 1006.14, 1.4020)


def made_up(seed, pairs=6, reals=1):
    """A sum of modes, each passive by itself: at equal distances, with Q of 20 to 50."""
    random = np.random.default_rng(seed)
    places = HZ * (100.0 * np.arange(1, pairs + 1) + random.uniform(-20, 20, pairs))
    damping = places / (2 * random.uniform(20, 50, pairs))
    sizes = 1e9 * random.uniform(0.5, 2.0, pairs + reals)
    poles = np.concatenate([-damping + 1j * places, -HZ * random.uniform(20, 90, reals)])
    return Modes(poles, sizes.astype(complex))


@pytest.mark.parametrize("seed", range(4))
def test_as_many_poles_as_there_are_come_back_to_rounding(seed):
    known = made_up(seed)
    s = 1j * np.linspace(0.02, 1.0, 1500)
    scale = HZ * 750.0
    samples = known.impedance(s.imag * scale)
    start = np.append(np.linspace(0.1, 0.9, 6) * (-0.02 + 1j), -0.1 + 0j)
    poles = fitted_poles(s, samples / 1e8, start)
    residues, deviation = fitted_residues(s, samples / 1e8, poles)
    order = np.argsort(-poles.imag)
    expected = np.argsort(-known.poles.imag)
    assert deviation < 1e-9
    assert np.allclose(scale * poles[order], known.poles[expected], rtol=1e-9)
    assert np.allclose(scale * 1e8 * residues[order], known.residues[expected], rtol=1e-8)


@pytest.mark.parametrize("seed", range(4))
def test_a_known_sum_comes_back_with_its_modes(seed):
    known = made_up(seed)
    frequencies = np.arange(20.0, 751.0, 0.5)
    found = fit_modes(frequencies, known.impedance(HZ * frequencies))
    everywhere = HZ * np.geomspace(1.0, 3000.0, 2000)
    assert found.passive
    assert np.allclose(found.impedance(everywhere), known.impedance(everywhere), rtol=1e-5)
    # no more than the fewest that are tried: two for each peak, and eight
    assert np.sum(np.where(found.poles.imag != 0, 2, 1)) == 2 * 6 + 8
    nearest = np.abs(found.poles[:, None] - known.poles[:6]).min(axis=0)
    assert np.all(nearest < 1e-6 * np.abs(known.poles[:6]))


@pytest.mark.parametrize(
    ("length", "end"), [(1.4, "open unflanged"), (0.3, "open flanged"), (0.7, "closed")]
)
def test_a_pipe_with_wall_losses_is_met_at_its_peaks(length, end):
    pipe = air_column(np.array([0.0, length]), np.array([5.8e-3, 5.8e-3]), end)
    frequencies = np.arange(20.0, 3000.0, 1.0)
    state = entrance_state(pipe, HZ * frequencies, AIR)
    impedance = state[:, 0] / state[:, 1]
    found = fit_modes(frequencies, impedance)
    at_peaks, anywhere = found.deviation(frequencies, impedance)
    assert found.passive
    # a tenth of what is allowed: the losses' square root of the frequency is no rational function
    assert at_peaks < 1e-4
    assert anywhere < 1e-3
    # between the samples the pipe's own formula holds too
    between = frequencies[:-1] + 0.5
    state = entrance_state(pipe, HZ * between, AIR)
    assert found.deviation(between, state[:, 0] / state[:, 1])[1] < 1e-3


@pytest.mark.parametrize("width_Hz", [1.0, 1e-3, 1e-6])
def test_a_narrow_notch_is_seen_however_narrow(width_Hz):
    background = Modes(np.array([-HZ * 500.0 + 0j]), np.array([1e9 + 0j]))
    place, damping = HZ * 300.123, HZ * width_Hz
    depth = background.impedance(place).real * damping

    def notched(share):
        return Modes(
            np.append(background.poles, -damping + 1j * place),
            np.append(background.residues, -share * depth),
        )

    # the notch's width changes where its bottom is by about its share of the place
    assert notched(0.99).passive
    assert not notched(1.01).passive


@pytest.mark.parametrize("seed", range(40))
def test_passive_is_what_has_no_negative_sample(seed):
    known = made_up(seed, pairs=4)
    turned = known.residues * np.exp(1j * np.random.default_rng(seed).uniform(-0.2, 0.2, 5))
    turned[-1] = turned[-1].real
    modes = Modes(known.poles, turned)
    grid = np.concatenate([[0.0], HZ * np.geomspace(1e-3, 1e7, 200_000)])
    least = np.min(modes.impedance(grid).real * (1 + (grid / HZ / 400) ** 2))
    assert modes.passive == (least > 0)


@pytest.mark.parametrize("scale", [1.0, 1e-3])
def test_power_that_is_drawn_at_the_ends_of_the_axis_is_seen(scale):
    pole = scale * (-10.0 + 100.0j)
    # Re Z has the sign of -Re(r p*) at 0 and of -Re(r p) at infinity
    assert is_passive(np.array([pole]), np.array([1.0 + 0.05j]))
    assert not is_passive(np.array([pole]), np.array([1.0 + 0.2j]))
    assert not is_passive(np.array([pole]), np.array([1.0 - 0.2j]))
    assert not is_passive(np.array([-pole.conjugate()]), np.array([1.0 + 0j]))


def test_the_real_part_by_squares_is_that_of_the_sum():
    known = made_up(1)
    poles, residues = known.poles / 1000, known.residues / 1000
    omega = np.geomspace(1e-3, 1e3, 50)
    expected = (1 + omega**2) * known.impedance(1000 * omega).real
    assert np.allclose(real_part(poles, residues, omega), expected, rtol=1e-9)
    total = np.where(poles.imag != 0, 2, 1) * residues * poles
    assert np.allclose(real_part(poles, residues, np.array([np.inf])), -total.real.sum())


def test_every_change_of_sign_is_among_the_deciding_frequencies():
    random, changes = np.random.default_rng(5), 0
    for seed in range(20):
        known = made_up(seed, pairs=4)
        turned = known.residues * np.exp(1j * random.uniform(-0.4, 0.4, 5))
        turned[-1] = turned[-1].real
        poles, residues = known.poles / 1000, turned / 1e12
        grid = np.geomspace(1e-3, 1e3, 100_000)
        sign = np.sign(real_part(poles, residues, grid))
        places = grid[np.flatnonzero(np.diff(sign))]
        found = deciding_frequencies(poles, residues)
        # the grid's step is 1.4e-4 of its place
        away = np.abs(found[:, None] / places - 1).min(axis=0)
        assert np.all(away < 2e-4)
        changes += len(places)
    assert changes > 20


def test_what_draws_power_outside_its_samples_is_fitted_by_what_does_not():
    poles = np.array([-0.02 + 0.3j, -0.03 + 0.7j, -0.05 + 1.3j])
    residues = np.array([1.0, 0.8 + 0.02j, -0.02 + 0.0j])
    assert not is_passive(poles, residues)
    s = 1j * np.linspace(0.05, 0.9, 400)
    samples = sum(
        r / (s - p) + r / (s - p.conjugate()) for r, p in zip(residues, poles, strict=True)
    )
    free, left = fitted_residues(s, samples, poles)
    assert left < 0.1
    assert not is_passive(poles, free)
    found = passive_residues(s, samples, poles)
    assert is_passive(poles, found)


def test_the_impedance_at_rest_is_the_one_that_is_told():
    pipe = air_column(np.array([0.0, 1.4]), np.array([5.8e-3, 5.8e-3]))
    frequencies = np.arange(50.0, 1600.0, 1.0)
    state = entrance_state(pipe, HZ * frequencies, AIR)
    resistance = 2e6
    impedance = resistance + state[:, 0] / state[:, 1]
    found = fit_modes(frequencies, impedance, at_rest=resistance)
    assert found.at_rest == pytest.approx(resistance, rel=1e-4)
    assert found.at_rest == found.impedance(0.0).real
    assert found.deviation(frequencies, impedance)[0] < 1e-4
    # nothing that lasts long after the mouth pressure changes
    assert np.all(np.abs(found.poles) >= 0.19 * HZ * 50.0)


def test_deviations_are_those_of_the_samples_at_peaks_and_anywhere():
    known = made_up(0)
    frequencies = np.arange(20.0, 751.0, 1.0)
    samples = known.impedance(HZ * frequencies)
    peak = int(np.argmax(np.abs(samples)))
    samples[peak] *= 1.002
    samples[3] *= 1.0 / 0.99
    assert known.deviation(frequencies, samples) == pytest.approx((0.002 / 1.002, 0.01))


@pytest.mark.parametrize(
    ("frequencies", "impedance", "told"),
    [
        (np.arange(1.0, 101.0), np.ones(99), r"found \(100,\) frequencies and \(99,\) impedances"),
        (np.arange(100.0, 0.0, -1.0), np.ones(100), "frequencies that do not rise"),
        (np.full(100, 5.0), np.ones(100), "frequencies that do not rise"),
        (np.append(np.arange(1.0, 100.0), np.nan), np.ones(100), "frequencies that do not rise"),
        (np.arange(-1.5, 98.5), np.ones(100), "from 0 Hz or above"),
        (np.arange(1.0, 101.0), np.append(np.ones(99), 0.0), "impedances that are 0"),
        (np.arange(1.0, 101.0), np.append(np.ones(99), np.inf), "not finite"),
        (np.arange(1.0, 11.0), np.ones(10), "found 10 frequencies; allowed are 20 or more"),
    ],
)
def test_what_cannot_be_fitted_is_refused_with_what_is_allowed(frequencies, impedance, told):
    with pytest.raises(ValueError, match=told) as refused:
        fit_modes(frequencies, impedance)
    assert "for example" in str(refused.value)


@pytest.mark.parametrize("found", [0.0, -1e6, np.nan, np.inf])
def test_an_impedance_at_rest_is_above_0(found):
    frequencies = np.arange(20.0, 751.0, 1.0)
    with pytest.raises(ValueError, match=f"at rest: found {found}.*allowed.*above 0.*example"):
        fit_modes(frequencies, made_up(0).impedance(HZ * frequencies), at_rest=found)
