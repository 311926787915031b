"""Least thresholds of lips on a bore against closed forms and the equations themselves."""

import numpy as np
import pytest

from borestudy.playing.lips import Lips
from borestudy.playing.load import Load
from borestudy.playing.onset import least_thresholds, threshold_curve
from borestudy.playing.steady import SteadyDrop

DENSITY = 1.2
LIPS = Lips()
OTHER_LIPS = (LIPS, Lips(6.0, 4.0, 10e-3, 0.2e-3), Lips(1.9, 10.0, 7e-3, 0.3e-3))
#: Of the places of a minimum no more is known than about the root of a number's last digit.
PLACED = 3e-7


def load_of(frequencies, impedance, steady=None, behind=0.0):
    """A load that is an impedance, and one behind the cut that a resistance in it adds to."""
    count = len(frequencies)
    front = np.zeros((count, 2, 2), dtype=complex)
    # Z = a - b / (c + R) with c = b / Z_b and a = Z + Z_b: at R = 0 it is Z
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


def single_mode(frequencies, peak=300.0, quality=30.0, height=6e7):
    """Impedance of one mode, and the same as a fraction of polynomials in s."""
    omega, centre = 2 * np.pi * frequencies, 2 * np.pi * peak
    impedance = 1j * omega * centre * height / quality / (
        centre**2 - omega**2 + 1j * omega * centre / quality
    )  # fmt: skip
    numerator = np.array([centre * height / quality, 0.0])
    denominator = np.array([1.0, centre / quality, centre**2])
    return impedance, numerator, denominator


def least_stable_growth(pressure, lips_frequency, lips, numerator, denominator):
    """Greatest real part of the roots of the linear problem's polynomial [1/s]."""
    resonance = 2 * np.pi * lips_frequency
    opening = lips.opening_at_rest + pressure / (lips.mass_per_area * resonance**2)
    velocity = np.sqrt(2 * pressure / DENSITY)
    gain = lips.width * velocity / lips.mass_per_area
    conductance = lips.width * opening / (DENSITY * velocity)
    resonator = np.array([1.0, resonance / lips.quality_factor, resonance**2])
    # u = w q h + g (p_m - p), h = (p_m - p) / (mu D), p = Z u
    open_loop = np.polyadd(conductance * resonator, [gain])
    characteristic = np.polyadd(
        np.polymul(denominator, resonator), np.polymul(numerator, open_loop)
    )
    return np.roots(characteristic).real.max()


@pytest.mark.parametrize("lips", OTHER_LIPS)
def test_the_threshold_on_a_single_mode_is_where_a_root_of_its_polynomial_crosses(lips):
    frequencies = np.linspace(150.0, 900.0, 3000)
    impedance, *fraction = single_mode(frequencies)
    load = load_of(frequencies, impedance)
    (found,) = least_thresholds(load, [lips])[0]

    def growth(share, detuning=1.0):
        return least_stable_growth(
            share * found.mouth_pressure, detuning * found.lips_frequency, lips, *fraction
        )

    # the growth rate is linear in the pressure near the threshold
    assert growth(1 - 1e-6) < 0 < growth(1 + 1e-6)
    assert abs(growth(1.0)) < 1e-6 * 2 * np.pi * found.frequency
    # and no lips on the same bore need less
    for detuning in np.linspace(0.3, 1.5, 400):
        for share in (0.25, 0.5, 0.9, 0.99, 1 - 1e-6):
            assert growth(share, detuning) < 0


@pytest.mark.parametrize("quality", [2.0, 7.0, 20.0])
def test_of_lossless_bores_the_least_pressure_goes_by_the_quality_factor_of_the_lips(quality):
    r"""With G = 0 the pressure over that of the lips' stiffness, for any B, is
    P/(mu w_l^2 h_0) = X / (2 - X), X = y + 1/Q^2 + 1/(Q^2 y), y = (w/w_l)^2 - 1: from
    X < 2 follows w/w_l < sqrt(3), and it is least at y = 1/Q. Agrees with what Silva, Kergomard &
    Vergez (2007) state of the frequencies and of the dependence on Q.
    """
    lips = Lips(quality_factor=quality)
    frequencies = np.linspace(60.0, 900.0, 6000)
    angle = 2 * np.pi * frequencies * 1.4 / 343.0
    # a pipe that is open at 1.4 m, without losses
    curve_load = load_of(frequencies, 1j * 2e7 * np.tan(angle))
    leasts = []
    for register in (1, 2, 3, 4):
        curve = threshold_curve(curve_load, lips, register)
        ratio = curve.frequency / curve.lips_frequency
        assert len(ratio) > 20
        assert np.all((ratio > 1) & (ratio < np.sqrt(3)))
        y = ratio**2 - 1
        x = y + 1 / quality**2 + 1 / (quality**2 * y)
        stiffness = (
            lips.mass_per_area
            * (2 * np.pi * curve.lips_frequency) ** 2
            * lips.opening_at_rest
        )  # fmt: skip
        pressure = curve.mouth_pressure / stiffness
        # in this form no difference of nearly equal numbers makes rounding greater
        assert 2 * pressure / (1 + pressure) == pytest.approx(x, rel=1e-11)
        leasts.append(np.min(pressure))
    expected = (2 * quality + 1) / (2 * quality**2 - 2 * quality - 1)
    assert min(leasts) == pytest.approx(expected, rel=1e-3)
    assert min(leasts) >= expected * (1 - 1e-9)
