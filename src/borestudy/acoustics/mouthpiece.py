r"""What belongs to the mouthpiece itself, whatever its termination, each with its definition.

*Equivalent length*: of the cylinder of the shank's radius, closed at its far end, that presents
at the shank end the reactance of the mouthpiece with its rim plane closed,
:math:`\Gamma L = \mathrm{artanh}(Z_c/Z_{22})`.  It tends to volume over shank area as f → 0 and is
a quarter wavelength at the mouthpiece's own resonance (Benade 1976, Fundamentals of Musical
Acoustics, from memory).

*Pressure transfer*: :math:`|p_{shank}/p_{rim}|`; its peak and the band in which it is within 3 dB
of it.  *Gain*: the shank's pressure for a given flow at the rim plane, over that of a plane wave
of this flow in the shank's section, :math:`|p_{shank}/U_{rim}|\,S/(\rho c)`; it has its peak where
the mouthpiece resonates.  Both are figures of the mouthpiece with an anechoic termination, so that
they show no resonance of an instrument.  None says anything about taste.
"""

import numpy as np
from numpy.typing import ArrayLike

from borestudy.acoustics.result import Band, Curves
from borestudy.acoustics.termination import Termination, build_termination
from borestudy.acoustics.two_port import TwoPort, driven_at_rim, two_port_matrix
from borestudy.acoustics.uncertainty import WALL_SHARE, levels_quantity
from borestudy.acoustics.walls import Real
from borestudy.closed_form.tube import characteristic_impedance, propagation_constant
from borestudy.fem.uncertainty import grid_uncertainty
from borestudy.quantity import Quantity

HALF_POWER = np.sqrt(0.5)
#: Points over the range from which bands and equivalent lengths are interpolated, and what that
#: leaves as a share of a figure.
BAND_POINTS, BAND_SHARE = 1001, 1e-5
#: Every so many of these points is kept for drawing.
KEPT = 5
#: Below this many shank radii in half a wave the equivalent length's branch is not known.
HALF_WAVES_OF_LENGTH = 40


def mouthpiece_figures(two_port: TwoPort) -> tuple[Band, Band, Curves]:
    """Transfer, gain and curves over the two-port's range of frequencies.

    Curves have uncertainties where there are two meshes, and the equivalent length where it can be
    followed from below.
    """
    grid = np.geomspace(*two_port.range_Hz, BAND_POINTS)
    anechoic = build_termination("anechoic pipe", two_port.shank_radius, two_port.walls)
    both = [transfer_and_gain(two_port, anechoic, grid, level) for level in two_port.levels]
    transfer, gain = np.moveaxis(np.array(both), 1, 0)
    drawn = {"pressure_transfer": transfer, "pressure_gain": gain}
    if _is_followed(two_port):
        drawn["equivalent_length_mm"] = np.array(
            [1e3 * equivalent_length(two_port, grid, level) for level in two_port.levels]
        )
    kept: dict[str, tuple[float, ...]] = {"frequency_Hz": tuple(grid[::KEPT].tolist())}
    for name, values in drawn.items():
        kept[name] = tuple(values[-1, ::KEPT].tolist())
        if len(values) > 1:
            error = grid_uncertainty(values) + WALL_SHARE["Q"] * np.abs(values[-1])
            kept[f"{name}_uncertainty"] = tuple(error[::KEPT].tolist())
    return _band(grid, transfer), _band(grid, gain), Curves(**kept)


def _band(grid: Real, curves: Real) -> Band:
    """Peak and −3 dB band of a curve on every level, shape (n_levels, n_frequencies)."""
    height, place, low, high = np.array([band_figures(grid, curve) for curve in curves]).T
    share = WALL_SHARE["frequency_Hz"] + BAND_SHARE
    return Band(
        peak=levels_quantity(height, "", WALL_SHARE["Q"] + BAND_SHARE),
        peak_frequency=levels_quantity(place, "Hz", share),
        band_low=levels_quantity(low, "Hz", share),
        band_high=levels_quantity(high, "Hz", share),
        peak_at_range_edge=int(np.argmax(curves[-1])) in (0, len(grid) - 1),
    )


def _is_followed(two_port: TwoPort) -> bool:
    """Whether half a wave at the lowest frequency is surely longer than the equivalent length."""
    half_wave = two_port.air.sound_speed / (2 * two_port.lowest_frequency)
    return half_wave >= HALF_WAVES_OF_LENGTH * two_port.shank_radius


def equivalent_lengths(two_port: TwoPort, frequencies: Real) -> list[Quantity | None]:
    """Equivalent length at ascending frequencies; None where it cannot be followed from below."""
    if len(frequencies) == 0 or not _is_followed(two_port):
        return [None] * len(frequencies)
    grid = np.geomspace(two_port.lowest_frequency, frequencies[-1], BAND_POINTS)
    levels = [
        1e3 * np.interp(frequencies, grid, equivalent_length(two_port, grid, level))
        for level in two_port.levels
    ]
    return [levels_quantity(values, "mm", WALL_SHARE["Q"]) for values in zip(*levels, strict=True)]


def equivalent_length(two_port: TwoPort, frequencies: ArrayLike, level: int = -1) -> Real:
    """Equivalent length [m] at ascending frequencies, followed continuously from the lowest.

    The lowest frequency must be so low that the length is below half a wavelength.
    """
    omega = 2 * np.pi * np.atleast_1d(frequencies)
    radius, air, lossless = two_port.shank_radius, two_port.air, two_port.walls == "lossless"
    wave = characteristic_impedance(radius, omega, air, lossless)
    seen = two_port_matrix(two_port, frequencies, level)[:, 1, 1]
    angle = np.imag(np.arctanh(wave / seen))
    angle = np.unwrap(np.where(angle[0] < 0, angle + np.pi, angle), period=np.pi)
    return np.asarray(angle / np.imag(propagation_constant(radius, omega, air, lossless)))


def transfer_and_gain(
    two_port: TwoPort, termination: Termination, frequencies: ArrayLike, level: int = -1
) -> tuple[Real, Real]:
    """Magnitude of the pressure transfer and gain for a given flow, at each frequency."""
    rim, shank, _ = driven_at_rim(two_port, termination, frequencies, level)
    plane = two_port.air.density * two_port.air.sound_speed / (np.pi * two_port.shank_radius**2)
    return np.abs(shank / rim), np.abs(shank) / plane


def band_figures(frequencies: Real, magnitude: Real) -> tuple[float, float, float, float]:
    """Peak, its frequency, and low and high end of the −3 dB band of a curve at frequencies [Hz].

    Both are of shape (n,) and the frequencies ascend; an end of the band is NaN where the range
    cuts the band.
    """
    peak = int(np.argmax(magnitude))
    where, height = float(frequencies[peak]), float(magnitude[peak])
    if peak not in (0, len(magnitude) - 1):
        where, height = _vertex(frequencies[peak - 1 : peak + 2], magnitude[peak - 1 : peak + 2])
    within = magnitude >= HALF_POWER * height
    below, above = np.flatnonzero(~within[:peak]), np.flatnonzero(~within[peak:])

    def crossing(first: int) -> float:
        left, right = magnitude[first] / height, magnitude[first + 1] / height
        share = (HALF_POWER - left) / (right - left)
        return float(frequencies[first] + share * (frequencies[first + 1] - frequencies[first]))

    low = crossing(int(below[-1])) if len(below) else np.nan
    return height, where, low, crossing(int(peak + above[0]) - 1) if len(above) else np.nan


def _vertex(frequencies: Real, magnitude: Real) -> tuple[float, float]:
    """Top of the parabola through three points."""
    offsets = frequencies - frequencies[1]
    curvature, slope, height = np.polyfit(offsets, magnitude, 2)
    top = -slope / (2 * curvature)
    return float(frequencies[1] + top), float(height + slope * top / 2)
