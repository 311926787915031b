r"""Figures derived from the two-port that a player would ask about, each with its definition.

*Equivalent length*: of the cylinder of the shank's radius, closed at its far end, that presents
at the shank end the reactance of the mouthpiece with its rim plane closed,
:math:`\Gamma L = \mathrm{artanh}(Z_c/Z_{22})`.  It tends to volume over shank area as f → 0 and is
a quarter wavelength at the mouthpiece's own resonance (Benade 1976, Fundamentals of Musical
Acoustics, from memory).

*Pressure transfer*: :math:`|p_{shank}/p_{rim}|`; its peak and the band in which it is within 3 dB
of it.  *Gain*: the shank's pressure for a given flow at the rim plane, over what the same flow
would make in an endless pipe of the shank's section, :math:`|p_{shank}/U_{rim}|\,S/(\rho c)`; it
has its peak where the mouthpiece resonates.  *Centroid of the peaks*: the mean frequency of the
impedance peaks weighted by their heights.  Neither says anything about taste.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from borestudy.acoustics.termination import Behind
from borestudy.acoustics.two_port import (
    TwoPort,
    input_impedance,
    pressure_transfer,
    two_port_matrix,
)
from borestudy.closed_form.tube import characteristic_impedance, propagation_constant
from borestudy.intervals import cents

HALF_POWER = np.sqrt(0.5)


def equivalent_length(
    two_port: TwoPort, frequencies: ArrayLike, level: int = -1
) -> NDArray[np.float64]:
    """Equivalent length [m] at ascending frequencies, followed continuously from the lowest.

    The lowest frequency must be so low that the length is below half a wavelength.
    """
    frequencies = np.atleast_1d(frequencies)
    omega = 2 * np.pi * frequencies
    radius, air = two_port.shank_radius, two_port.air
    lossless = two_port.finest.operator.walls == "lossless"
    wave = characteristic_impedance(radius, omega, air, lossless)
    seen = two_port_matrix(two_port, frequencies, level)[:, 1, 1]
    angle = np.imag(np.arctanh(wave / seen))
    angle = np.unwrap(np.where(angle[0] < 0, angle + np.pi, angle), period=np.pi)
    return np.asarray(angle / np.imag(propagation_constant(radius, omega, air, lossless)))


def transfer_curve(
    two_port: TwoPort, behind: Behind, frequencies: ArrayLike, level: int = -1
) -> NDArray[np.float64]:
    """Size of the pressure transfer at each frequency."""
    return np.abs(pressure_transfer(two_port, behind, frequencies, level))


def gain_curve(
    two_port: TwoPort, behind: Behind, frequencies: ArrayLike, level: int = -1
) -> NDArray[np.float64]:
    """Gain for a given flow at each frequency."""
    transfer = pressure_transfer(two_port, behind, frequencies, level)
    impedance = input_impedance(two_port, behind, frequencies, level)
    plane = two_port.air.density * two_port.air.sound_speed / (np.pi * two_port.shank_radius**2)
    return np.asarray(np.abs(transfer * impedance) / plane)


def transfer_figures(
    two_port: TwoPort, behind: Behind, frequencies: ArrayLike, level: int = -1
) -> dict[str, float | bool | None]:
    """Peak of the pressure transfer and its −3 dB band; see :func:`band_figures`."""
    frequencies = np.atleast_1d(frequencies)
    return band_figures(frequencies, transfer_curve(two_port, behind, frequencies, level))


def gain_figures(
    two_port: TwoPort, behind: Behind, frequencies: ArrayLike, level: int = -1
) -> dict[str, float | bool | None]:
    """Peak of the gain for a given flow and its −3 dB band; see :func:`band_figures`."""
    frequencies = np.atleast_1d(frequencies)
    return band_figures(frequencies, gain_curve(two_port, behind, frequencies, level))


def band_figures(
    frequencies: NDArray[np.float64], magnitude: NDArray[np.float64]
) -> dict[str, float | bool | None]:
    """Peak and −3 dB band of a curve at ascending frequencies.

    Returns
    -------
    dict
        ``peak``, ``peak_frequency_Hz``, ``band_low_Hz``, ``band_high_Hz`` (None where the range
        cuts the band) and ``peak_at_range_edge``.
    """
    peak = int(np.argmax(magnitude))
    at_edge = peak in (0, len(magnitude) - 1)
    where, height = float(frequencies[peak]), float(magnitude[peak])
    if not at_edge:
        where, height = _vertex(frequencies[peak - 1 : peak + 2], magnitude[peak - 1 : peak + 2])
    within = magnitude >= HALF_POWER * height
    below, above = np.flatnonzero(~within[:peak]), np.flatnonzero(~within[peak:])

    def crossing(first: int) -> float:
        left, right = magnitude[first] / height, magnitude[first + 1] / height
        share = (HALF_POWER - left) / (right - left)
        return float(frequencies[first] + share * (frequencies[first + 1] - frequencies[first]))

    return {
        "peak": height,
        "peak_frequency_Hz": where,
        "band_low_Hz": crossing(int(below[-1])) if len(below) else None,
        "band_high_Hz": crossing(int(peak + above[0]) - 1) if len(above) else None,
        "peak_at_range_edge": at_edge,
    }


def _vertex(
    frequencies: NDArray[np.float64], magnitude: NDArray[np.float64]
) -> tuple[float, float]:
    """Top of the parabola through three points."""
    offsets = frequencies - frequencies[1]
    curvature, slope, height = np.polyfit(offsets, magnitude, 2)
    top = -slope / (2 * curvature)
    return float(frequencies[1] + top), float(height + slope * top / 2)


def peak_centroid(frequencies: NDArray[np.float64], heights: NDArray[np.float64]) -> float | None:
    """Mean frequency [Hz] of the peaks weighted by height; None for fewer than two peaks."""
    if len(frequencies) < 2:
        return None
    return float(np.sum(frequencies * heights) / np.sum(heights))


def nearest_harmonics(
    frequencies: NDArray[np.float64], fundamental: float
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Number of the nearest harmonic of ``fundamental`` [Hz], and cents above it."""
    number = np.maximum(1, np.rint(frequencies / fundamental)).astype(np.int64)
    return number, cents(frequencies / (number * fundamental))
