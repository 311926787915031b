"""Least thresholds of lips on a bore against closed forms and the equations themselves."""

from dataclasses import replace

import numpy as np
import pytest

from borestudy.air import Air
from borestudy.closed_form.tube import impedance_matrix, transfer_matrix
from borestudy.playing.lips import Lips
from borestudy.playing.load import Load
from borestudy.playing.onset import least_thresholds, peak_frequencies, thinned, threshold_curve
from borestudy.playing.registers import registers_of
from borestudy.playing.steady import SteadyDrop

#: Dry air at 20 °C: ISO 2533 and handbook values, from memory.
AIR = Air(1.204, 343.2, 1.81e-5, 0.0257, 1006.0, 1.4)
DENSITY = AIR.density
LIPS = Lips()
OTHER_LIPS = (LIPS, Lips(6.0, 4.0, 10e-3, 0.2e-3), Lips(1.9, 10.0, 7e-3, 0.3e-3))
#: A drop that goes as the square of the flow: 1 kPa at 0.4 L/s.
STREAM = SteadyDrop.of([4e-4], [1e3], [5e6])


def load_of(frequencies, impedance, steady=None, behind=0.0):
    """A load of an impedance Z, which a resistance R in its throat makes Z + R b / (R + b)."""
    count = len(frequencies)
    front = np.zeros((count, 2, 2), dtype=complex)
    front[:, 0, 0] = impedance + behind
    front[:, 0, 1] = front[:, 1, 0] = behind
    return Load(
        frequencies=frequencies,
        front=front,
        behind=np.full(count, behind or 1.0, dtype=complex),
        to_shank=np.ones(count, dtype=complex),
        correction=np.zeros(count, dtype=complex),
        steady=steady or SteadyDrop.none(),
        throat_diameter=3.7e-3,
        density=DENSITY,
    )


PEAK, QUALITY, HEIGHT, BEHIND = 300.0, 30.0, 6e7, 4e7
FREQUENCIES = np.linspace(150.0, 900.0, 3000)


def single_mode(frequencies):
    """Impedance of one mode."""
    omega, centre = 2 * np.pi * frequencies, 2 * np.pi * PEAK
    below = centre**2 - omega**2 + 1j * omega * centre / QUALITY
    return 1j * omega * centre * HEIGHT / QUALITY / below


def greatest_growth(pressure, lips_frequency, lips, steady):
    """Greatest real part of the linear problem's roots on the single mode [1/s].

    The lips have the drop `pressure` over them; the impedances are ratios of polynomials in s.
    """
    centre, resonance = 2 * np.pi * PEAK, 2 * np.pi * lips_frequency
    opening = lips.opening_at_rest + pressure / (lips.mass_per_area * resonance**2)
    velocity = np.sqrt(2 * pressure / DENSITY)
    resistance = steady.slope(lips.width * opening * velocity)
    below = np.array([1.0, centre / QUALITY, centre**2])
    above = np.array([centre * HEIGHT / QUALITY, 0.0])
    above = np.polyadd(above, below * BEHIND * resistance / (BEHIND + resistance))
    valve = np.array([1.0, resonance / lips.quality_factor, resonance**2])
    # u = w q h + g (p_m - p), h = (p_m - p) / (mu D), p = Z u
    gain = lips.width * velocity / lips.mass_per_area
    conductance = lips.width * opening / (DENSITY * velocity)
    moved = np.polyadd(conductance * valve, [gain])
    return np.roots(np.polyadd(np.polymul(below, valve), np.polymul(above, moved))).real.max()


@pytest.mark.parametrize("steady", [SteadyDrop.none(), STREAM], ids=["still", "stream"])
@pytest.mark.parametrize("lips", OTHER_LIPS)
def test_the_threshold_on_a_single_mode_is_where_a_root_of_its_polynomial_crosses(lips, steady):
    load = load_of(FREQUENCIES, single_mode(FREQUENCIES), steady, BEHIND)
    (found,) = least_thresholds(load, [lips])[0]
    drop = found.mouth_pressure - float(steady.drop(found.flow_rate))
    found_at = found.lips_frequency
    assert greatest_growth((1 - 1e-5) * drop, found_at, lips, steady) < 0
    assert greatest_growth((1 + 1e-5) * drop, found_at, lips, steady) > 0
    # with no other resonance of the lips does the same bore sound at a lower mouth pressure
    tried = 0
    for frequency in np.linspace(0.3, 1.5, 80) * found_at:
        stiffness = lips.mass_per_area * (2 * np.pi * frequency) ** 2
        for pressure in np.linspace(0.02, 1.0, 25) * found.mouth_pressure:
            opening = lips.opening_at_rest + pressure / stiffness
            flow = lips.width * opening * np.sqrt(2 * pressure / DENSITY)
            if pressure + steady.drop(flow) < (1 - 1e-5) * found.mouth_pressure:
                assert greatest_growth(pressure, frequency, lips, steady) < 0
                tried += 1
    assert tried > 800


@pytest.mark.parametrize("quality", [2.0, 7.0, 20.0])
def test_on_lossless_bores_the_frequency_is_between_1_and_root_3_of_that_of_the_lips(quality):
    r"""And the least pressure goes by the lips' Q alone.

    With G = 0 both equations give, whatever B is, P/(mu w_l^2 h_0) = X / (2 - X) with
    X = y + 1/Q^2 + 1/(Q^2 y) and y = (w/w_l)^2 - 1: from X < 2 follows w/w_l < sqrt(3), and
    X is least, 2/Q + 1/Q^2, at y = 1/Q.  What Silva, Kergomard & Vergez (2007) state of
    frequencies and of the dependence on Q agrees with it.
    """
    lips = Lips(quality_factor=quality)
    frequencies = np.linspace(60.0, 900.0, 6000)
    # a pipe that is open at 1.4 m, without losses
    load = load_of(frequencies, 2e7j * np.tan(2 * np.pi * frequencies * 1.4 / 343.0))
    least = []
    for register in (1, 2, 3, 4):
        curve = threshold_curve(load, lips, register)
        ratio = curve.frequency / curve.lips_frequency
        assert len(ratio) > 20
        assert np.all((ratio > 1) & (ratio < np.sqrt(3)))
        y = ratio**2 - 1
        expected = y + 1 / quality**2 + 1 / (quality**2 * y)
        resonance = 2 * np.pi * curve.lips_frequency
        pressure = curve.mouth_pressure / (lips.mass_per_area * resonance**2 * lips.opening_at_rest)
        # in this form no difference of nearly equal numbers makes rounding greater
        assert 2 * pressure / (1 + pressure) == pytest.approx(expected, rel=1e-11)
        least.append(np.min(pressure))
    by_quality = (2 * quality + 1) / (2 * quality**2 - 2 * quality - 1)
    # the samples lie within 2 % of the best y, on which the pressure depends by the square
    assert min(least) == pytest.approx(by_quality, rel=1e-3)
    assert min(least) >= by_quality * (1 - 1e-9)


RADIUS, FRONT, BACK = 5.8e-3, 0.05, 1.35


def pipe(frequencies, resistance=0.0):
    """Impedance of a pipe with losses that is open at its end and has a resistance in it."""
    omega = 2 * np.pi * frequencies
    back = transfer_matrix(RADIUS, BACK, omega, AIR)
    front = impedance_matrix(transfer_matrix(RADIUS, FRONT, omega, AIR))
    behind = back[:, 0, 1] / back[:, 1, 1] + resistance
    through = front[:, 0, 1] * front[:, 1, 0] / (front[:, 1, 1] + behind)
    return front[:, 0, 0] - through, front, behind - resistance


def pipe_load(frequencies, steady):
    _, front, behind = pipe(frequencies)
    count = len(frequencies)
    ones, zeros = np.ones(count, dtype=complex), np.zeros(count, dtype=complex)
    return Load(frequencies, front, behind, ones, zeros, steady, 2 * RADIUS, DENSITY)


def test_a_threshold_solves_the_complex_equation_at_the_resistance_of_its_own_flow():
    load = pipe_load(np.linspace(40.0, 1000.0, 4001), STREAM)
    for lips, thresholds in zip(OTHER_LIPS, least_thresholds(load, OTHER_LIPS), strict=True):
        assert sum(one is not None for one in thresholds) > 3
        for one in filter(None, thresholds):
            assert one.throat_resistance == pytest.approx(STREAM.slope(one.flow_rate), rel=1e-11)
            pressure = one.mouth_pressure - STREAM.drop(one.flow_rate)
            omega, resonance = 2 * np.pi * one.frequency, 2 * np.pi * one.lips_frequency
            opening = lips.opening_at_rest + pressure / (lips.mass_per_area * resonance**2)
            velocity = np.sqrt(2 * pressure / DENSITY)
            assert one.flow_rate == pytest.approx(lips.width * opening * velocity, rel=1e-11)
            valve = resonance**2 - omega**2 + 1j * omega * resonance / lips.quality_factor
            lips_let_in = -lips.width * velocity / (lips.mass_per_area * valve)
            lips_let_in -= lips.width * opening / (DENSITY * velocity)
            impedance = pipe(np.array([one.frequency]), one.throat_resistance)[0][0]
            # splines of degree 5 through samples at 1/40 of a peak's width are as close
            assert abs(lips_let_in * impedance - 1) < 1e-9


def scanned(load, lips, frequencies_of_lips):
    """Pressures and frequencies where both parts of the equation hold, by lips' resonances.

    The imaginary part gives the pressure at each frequency, the real part the frequency.
    """
    omega, admittance = 2 * np.pi * load.frequencies, 1 / load.impedance()
    found = []
    for frequency in frequencies_of_lips:
        resonance = 2 * np.pi * frequency
        damping = omega * resonance / lips.quality_factor
        squared = (resonance**2 - omega**2) ** 2 + damping**2
        gain = admittance.imag * squared / damping
        velocity = gain * lips.mass_per_area / lips.width
        pressure = DENSITY * velocity**2 / 2
        opening = lips.opening_at_rest + pressure / (lips.mass_per_area * resonance**2)
        with np.errstate(divide="ignore", invalid="ignore"):
            conductance = lips.width * opening / (DENSITY * velocity)
            real = admittance.real + gain * (resonance**2 - omega**2) / squared + conductance
        at = np.flatnonzero((gain[:-1] > 0) & (gain[1:] > 0) & (real[:-1] * real[1:] < 0))
        share = real[at] / (real[at] - real[at + 1])
        for places in (pressure, load.frequencies):
            found.append(places[at] + share * (places[at + 1] - places[at]))
    return np.concatenate(found[::2]), np.concatenate(found[1::2])


@pytest.mark.parametrize("lips", OTHER_LIPS)
def test_a_scan_over_the_resonances_of_the_lips_finds_the_same_least_thresholds(lips):
    load = pipe_load(np.linspace(40.0, 1000.0, 20001), SteadyDrop.none())
    pressures, frequencies = scanned(load, lips, np.geomspace(30.0, 1000.0, 1500))
    (thresholds,) = least_thresholds(load, [lips])
    registers = registers_of(load.impedance())
    compared = 0
    for register, found in zip(registers, thresholds, strict=True):
        low, high = load.frequencies[[register.first, register.last]]
        inside = (frequencies > low) & (frequencies < high)
        if found is None:
            # what there is rises to the end of the register, or there is nothing
            assert not inside.any() or np.min(pressures[inside]) > 20e3
            continue
        compared += 1
        # resonances a third of a per cent apart are within a sixth of the best one
        assert np.min(pressures[inside]) == pytest.approx(found.mouth_pressure, rel=2e-4)
        assert np.min(pressures[inside]) > (1 - 1e-6) * found.mouth_pressure
    assert compared >= 5


def test_the_registers_go_from_dip_to_dip():
    impedance = np.array([1.0, 2.0, 5.0, 3.0, 1.0, 2.0, 7.0, 6.0, 4.0])
    first, second = registers_of(impedance.astype(complex))
    assert (first.number, first.first, first.peak, first.last) == (1, 0, 2, 4)
    assert (second.number, second.first, second.peak, second.last) == (2, 4, 6, 8)


def test_the_peaks_are_those_of_the_mode():
    load = load_of(FREQUENCIES, single_mode(FREQUENCIES))
    # the magnitude of a parallel mode is greatest at its own frequency
    assert peak_frequencies(load) == pytest.approx([PEAK], rel=1e-7)


def test_a_stream_raises_every_threshold_and_half_the_samples_change_next_to_nothing():
    frequencies = np.linspace(40.0, 1000.0, 4001)
    still, blown = (pipe_load(frequencies, steady) for steady in (SteadyDrop.none(), STREAM))
    (without,), (found,) = (least_thresholds(load, [LIPS]) for load in (still, blown))
    (fewer,) = least_thresholds(thinned(blown), [LIPS])
    rows = [each for each in zip(without, found, fewer, strict=True) if None not in each]
    assert len(rows) > 5
    for before, after, again in rows:
        assert after.mouth_pressure > before.mouth_pressure + STREAM.drop(after.flow_rate) / 2
        assert after.throat_resistance > 0 == before.throat_resistance
        assert again.mouth_pressure == pytest.approx(after.mouth_pressure, rel=1e-7)


def test_without_a_peak_there_is_no_register_and_asking_for_one_says_so():
    load = load_of(FREQUENCIES, 1e7 / (1 + 1j * FREQUENCIES / 300))
    assert least_thresholds(load, [LIPS]) == [[]]
    with pytest.raises(ValueError, match="register: found 1; allowed is"):
        threshold_curve(load, LIPS, 1)


def test_lips_that_lose_too_much_have_no_threshold():
    load = load_of(FREQUENCIES, single_mode(FREQUENCIES) / 1000)
    assert least_thresholds(load, [replace(LIPS, quality_factor=0.5)]) == [[None]]
