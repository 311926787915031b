"""Lips on what they blow into at a threshold, and what is read from their tone."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import CubicSpline

from borestudy.fem.uncertainty import grid_uncertainty
from borestudy.playing.lips import Lips
from borestudy.playing.load import Load
from borestudy.playing.modes import fit_modes
from borestudy.playing.parabolas import parabola_factor
from borestudy.playing.periodic import centroid, harmonics
from borestudy.playing.settling import KICK, Settled, settled
from borestudy.playing.tone import Complex, Oscillator, Real, disturbed
from borestudy.quantity import Quantity
from borestudy.results.onset import OnsetOfRegister

#: Reference of decibels [Pa].
HEARING = 20e-6
#: L/s in m³/s.
RATE_UNIT = 1e-3
#: Unit of each figure of a reading.
UNITS = ("Hz", "Pa", "Hz", "Hz")


@dataclass(frozen=True)
class OnBore:
    """An oscillator, and the pressure at the shank end by the flow of its lips."""

    oscillator: Oscillator
    frequencies: Real
    to_shank: Complex
    deviation: float

    def shank(self, frequencies: Real) -> Complex:
        return np.asarray(CubicSpline(self.frequencies, self.to_shank)(frequencies))


@dataclass(frozen=True)
class Reading:
    """What is read from a settled tone: harmonics are amplitudes [Pa]."""

    frequency: float
    cup_pressure: float
    cup: Real
    shank: Real

    @property
    def figures(self) -> Real:
        """Frequency, pressure in the cup, centroids in the cup and at the shank end."""
        multiples: Real = self.frequency * np.arange(1.0, len(self.cup) + 1)
        centroids = [centroid(multiples, one) for one in (self.cup, self.shank)]
        return np.array([self.frequency, self.cup_pressure, *centroids])


def on_bore(load: Load, lips: Lips, found: OnsetOfRegister) -> OnBore:
    """Lips with the resonance of a threshold, on the modes of the impedance at its mean flow."""
    flow = RATE_UNIT * value_of(found.flow_rate)
    resistance = float(load.steady.slope(flow))
    impedance = load.impedance(resistance)
    modes = fit_modes(load.frequencies, impedance, resistance if resistance > 0 else None)
    offset = float(load.steady.drop(flow)) - modes.at_rest * flow
    return OnBore(
        Oscillator(lips, value_of(found.lips_frequency), modes, offset, load.density),
        load.frequencies,
        load.shank_pressure(resistance),
        modes.deviation(load.frequencies, impedance)[0],
    )


def tone_of(played: OnBore, pressure: float, guess: float) -> Reading | None:
    """The settled tone of a mesh or of a steady drop."""
    start = disturbed(played.oscillator, pressure, KICK)
    return reading(played, settled(played.oscillator, pressure, start, guess))


def reading(played: OnBore, end: Settled) -> Reading | None:
    """What is read from a tone; None without one."""
    if end.frequency is None:
        return None
    step, frequency = end.played.step, end.frequency
    multiples: Real = frequency * np.arange(1, int(played.frequencies[-1] / frequency) + 1.0)
    count = len(multiples)
    flow = harmonics(end.played.flow, step, frequency, count) * parabola_factor(multiples, step)
    return Reading(
        frequency,
        end.cup_pressure,
        np.abs(harmonics(end.played.pressure, step, frequency, count)),
        np.abs(played.shank(multiples) * flow),
    )


def quantities(
    measured: Reading,
    halved: Reading | None,
    coarser: Sequence[Reading | None],
    greater: Sequence[Reading | None],
) -> list[Quantity]:
    """Each figure with its uncertainty, None where one mesh alone, or a silent one, cannot say.

    Parameters
    ----------
    measured, halved : Reading
        On the finest mesh, with a time step and with its half.
    coarser, greater : sequence of Reading
        On the other meshes, coarsest first; with steady drops that are greater.
    """
    meshes = [None if one is None else one.figures for one in (*coarser, measured)]
    levels = [
        tuple(None if one is None else float(one[place]) for one in meshes)
        for place in range(len(UNITS))
    ]
    known = [one for one in meshes if one is not None]
    errors: list[float | None] = [None] * len(UNITS)
    if halved is not None and len(known) == len(meshes) > 1:
        parts = [grid_uncertainty(known), halved.figures - measured.figures]
        parts += [one.figures - measured.figures for one in greater if one is not None]
        errors = np.sqrt(np.square(parts).sum(axis=0)).tolist()
    return [
        Quantity(float(figure), error, unit, of_meshes)
        for figure, error, unit, of_meshes in zip(
            measured.figures, errors, UNITS, levels, strict=True
        )
    ]


def decibels(amplitudes: Real) -> tuple[float, ...]:
    """Levels of amplitudes as root mean squares above 20 µPa."""
    least = np.finfo(float).tiny
    return tuple((20 * np.log10(np.maximum(amplitudes / np.sqrt(2) / HEARING, least))).tolist())


def value_of(found: Quantity | None) -> float:
    """A value that must be there."""
    assert found is not None
    return found.value
