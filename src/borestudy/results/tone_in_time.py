r"""A case's tone from what its lips blow into, solved in time.

The lips' resonance is that of the register's least threshold, and so are the flow rate and the
resistance in the throat: a tone that is louder has them too.  The mean pressure in the cup is the
steady drop at that flow.  Numerical uncertainties are, together, what a time step of half the
length changes, the grid convergence index over the mesh levels, and what a greater steady drop
changes, all at the same mouth pressure and resonance of the lips.
"""

from collections.abc import Sequence
from dataclasses import replace
from math import hypot
from typing import Any

import numpy as np

from borestudy.fem.uncertainty import grid_uncertainty
from borestudy.intervals import cents
from borestudy.playing import sound
from borestudy.playing.growth import growth_rates, nearest, threshold_pressure
from borestudy.playing.lips import Lips
from borestudy.playing.load import Load
from borestudy.playing.periodic import repeats
from borestudy.playing.settling import KICK, STEP, Course, course, settled
from borestudy.playing.tone import disturbed, simulate
from borestudy.quantity import Quantity
from borestudy.results.onset import HIGHEST_PRESSURE, NO_TONE, OnsetOfRegister, OnsetResult
from borestudy.results.tone import (
    NOT_PERIODIC,
    NOT_SETTLED,
    OTHER_REGISTER,
    SILENT,
    ToneAtLevel,
    ToneResult,
)
from borestudy.results.tone_reading import (
    OnBore,
    decibels,
    on_bore,
    quantities,
    reading,
    tone_of,
    value_of,
)

#: Words on a tone, beside those that it cannot be compared with others for.
GOOD = "good"
BEYOND = "mouth pressure above 20 kPa"
#: A tone of which less than this share is left to change has settled.
SETTLED = 1e-3


def tone_result(
    loads: Sequence[Load], own: Lips, onset: OnsetResult, register: int, soft: float, loud: float,
    higher: Load | None = None,
) -> tuple[ToneResult, dict[str, bytes]]:  # fmt: skip
    """The tone at a soft and a loud level, its course with the mouth pressure, and its sounds.

    Parameters
    ----------
    loads : sequence of Load
        What the lips blow into, one for each mesh, coarsest first.
    own : Lips
        The study's own lips.
    onset : OnsetResult
        Of these lips on the finest mesh.
    register : int
        The register asked for; where it has no tone, the highest that has one is taken.
    soft, loud : float
        Mouth pressures of the levels, as multiples of the register's least threshold.
    higher : Load, optional
        The finest mesh's with a steady drop that is greater by its uncertainty.

    Returns
    -------
    ToneResult, dict of str to bytes
        The sounds are WAV files by name, of the levels that have a tone.
    """
    found, note = _register(onset, register)
    if found is None:
        return ToneResult(note=note), {}
    try:
        finest, *others = (
            on_bore(load, own, found)
            for load in (loads[-1], *loads[-2::-1], *([] if higher is None else [higher]))
        )
    except ValueError as problem:
        return ToneResult(register=found.register, note=str(problem)), {}
    coarser = others[: len(loads) - 1][::-1]
    greater = others[len(loads) - 1 :]
    threshold = value_of(found.mouth_pressure)
    pitch = value_of(found.sounding_frequency)
    modes = finest.oscillator.modes
    levels, sounds = [], {}
    for level, times in (("soft", soft), ("loud", loud)):
        one, wav = _level(finest, coarser, greater, found, level, times)
        one = replace(one, validity="; ".join(cautions(one, onset, found)) or GOOD)
        if wav is not None:
            one = replace(one, sound=f"tone-{level}.wav")
            sounds[f"tone-{level}.wav"] = wav
        levels.append(one)
    result = ToneResult(
        register=found.register,
        note=note,
        lips_frequency_Hz=finest.oscillator.lips_frequency,
        threshold=found.mouth_pressure,
        modes=len(modes.poles),
        fit_deviation_percent=100 * finest.deviation,
        growth_rate=_growth(finest, coarser, greater, soft * threshold, pitch),
        at_levels=tuple(levels),
    )
    starts = threshold_pressure(finest.oscillator, pitch, threshold)
    if starts is None:
        return result, sounds
    share = _uncertainty(found.mouth_pressure) / threshold
    followed = course(finest.oscillator, starts, loud * threshold, pitch)
    return replace(
        result,
        starts_at=Quantity(starts, hypot(share * starts, starts - threshold), "Pa"),
        ends_at=_ends(followed, share),
        **_ways(followed),
    ), sounds


def _register(onset: OnsetResult, register: int) -> tuple[OnsetOfRegister | None, str]:
    """The register asked for, or another that has a tone; and what must be said of it."""
    sounding = [one for one in onset.registers if one.mouth_pressure is not None]
    if not sounding:
        return None, onset.not_meshed or NO_TONE
    found = next((one for one in sounding if one.register == register), sounding[-1])
    note = onset.note
    if found.register != register:
        other = f"register {register} has no tone: register {found.register} in its place"
        note = f"{note}; {other}" if note else other
    return found, note


def _level(
    finest: OnBore, coarser: Sequence[OnBore], greater: Sequence[OnBore],
    found: OnsetOfRegister, level: str, times: float,
) -> tuple[ToneAtLevel, bytes | None]:  # fmt: skip
    """The tone at one level and its sound; neither where there is none."""
    oscillator, guess = finest.oscillator, value_of(found.sounding_frequency)
    pressure = times * value_of(found.mouth_pressure)
    steady = np.full(round(sound.DURATION / STEP), pressure)
    first = simulate(oscillator, steady, STEP, disturbed(oscillator, pressure, KICK))
    end = settled(oscillator, pressure, first.end, guess)
    told = ToneAtLevel(
        level=level, times_threshold=times, mouth_pressure_Pa=pressure, validity=SILENT
    )
    measured = reading(finest, end)
    if measured is None:
        return told, None
    halved = reading(
        finest,
        settled(oscillator, pressure, end.played.end, guess, step=STEP / 2, longest=1.0),
    )
    variants = [tone_of(other, pressure, guess) for other in (*coarser, *greater)]
    pitch, pressure_there, *centroids = quantities(
        measured, halved, variants[: len(coarser)], variants[len(coarser) :]
    )
    peak = found.peak_frequency
    told = replace(
        told,
        validity="" if end.left < SETTLED else NOT_SETTLED,
        sounding_frequency=pitch,
        sounding_above_peak=None if peak is None else _above(pitch, peak, found),
        cup_pressure=pressure_there,
        cup_centroid=centroids[0],
        shank_centroid=centroids[1],
        cup_harmonics_dB=decibels(measured.cup),
        shank_harmonics_dB=decibels(measured.shank),
    )
    if not repeats(end.played.pressure, STEP, measured.frequency):
        told = replace(told, validity=NOT_PERIODIC)
    flow = first.flow - first.flow[0]
    return told, sound.wav(sound.behind(flow, STEP, finest.frequencies, finest.to_shank))


def _growth(
    finest: OnBore, coarser: Sequence[OnBore], greater: Sequence[OnBore], pressure: float,
    frequency: float,
) -> Quantity:  # fmt: skip
    """Rate at which a small oscillation of a frequency grows at a mouth pressure."""

    def rate(played: OnBore) -> float:
        return nearest(growth_rates(played.oscillator, pressure), frequency).real

    levels = tuple(rate(one) for one in (*coarser, finest))
    error = None
    if coarser:
        drops = [rate(one) - levels[-1] for one in greater]
        error = hypot(float(grid_uncertainty(levels)), *drops)
    return Quantity(levels[-1], error, "per_s", levels)


def _above(pitch: Quantity, peak: Quantity, found: OnsetOfRegister) -> Quantity:
    """Pitch above the impedance peak [cents]; the peak is as uncertain as at the onset."""
    of_onset = found.sounding_above_peak
    error = None
    if pitch.uncertainty is not None:
        own = float(cents(1 + pitch.uncertainty / pitch.value))
        error = hypot(own, 0.0 if of_onset is None else of_onset.uncertainty or 0.0)
    return Quantity(float(cents(pitch.value / peak.value)), error, "cents")


def cautions(level: ToneAtLevel, onset: OnsetResult, found: OnsetOfRegister) -> list[str]:
    """What a reader must be told of a level."""
    words = [level.validity] if level.validity else []
    if level.mouth_pressure_Pa > HIGHEST_PRESSURE:
        words.append(BEYOND)
    pitch = level.sounding_frequency
    if pitch is not None and found.peak_frequency is not None:
        peaks = np.array(
            [one.peak_frequency.value for one in onset.registers if one.peak_frequency is not None]
        )
        own = found.peak_frequency.value
        below, above = peaks[peaks < own], peaks[peaks > own]
        lowest = (own * below.max()) ** 0.5 if len(below) else 0.0
        if not lowest < pitch.value < above.min(initial=np.inf):
            words.append(OTHER_REGISTER)
    return words


def _ends(followed: Course, share: float) -> Quantity | None:
    """Where a tone ends with falling pressure, by the uncertainty of its threshold."""
    if followed.ends_between is None:
        return None
    low, high = followed.ends_between
    middle = 0.5 * (low + high)
    return Quantity(middle, hypot(0.5 * (high - low), share * middle), "Pa")


def _ways(followed: Course) -> dict[str, Any]:
    """The fields of a tone's course."""
    fields: dict[str, Any] = {}
    for way in ("rising", "falling"):
        pairs = getattr(followed, way)
        fields[f"{way}_mouth_pressure_Pa"] = tuple(pressure for pressure, _ in pairs)
        fields[f"{way}_cup_pressure_Pa"] = tuple(
            0.0 if one is None else one.cup_pressure for _, one in pairs
        )
        fields[f"{way}_frequency_Hz"] = tuple(
            None if one is None else one.frequency for _, one in pairs
        )
    return fields


def _uncertainty(found: Quantity | None) -> float:
    return 0.0 if found is None else found.uncertainty or 0.0
