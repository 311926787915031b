"""Sounds to listen to: the pressure behind the shank, as files of equal loudness by power."""

import io
import wave

import numpy as np
from scipy.interpolate import CubicSpline

from borestudy.playing.tone import Complex, Real

#: Samples a second of a file.
RATE = 48000
#: Root mean square of every sound's steady part, as a share of full scale.
LEVEL = 0.1
#: Length of a sound, of the part at its end by which it is matched, and of its fading in and out
#: [s]: without them it would begin and end with a click.
DURATION, MATCHED, FADE_IN, FADE = 1.5, 0.5, 0.005, 0.05
#: The top of the range of frequencies over which a sound goes down to nothing, as a share of it.
TAPER = 0.1
FULL_SCALE = 32767


def behind(flow: Real, step: float, frequencies: Real, transfer: Complex) -> Real:
    """What a flow into the rim plane makes elsewhere, at `RATE` samples a second.

    Parameters
    ----------
    flow : ndarray, shape (n,)
        From a moment without flow on [m³/s].
    step : float
        Time step, a whole share of a sample [s].
    frequencies : ndarray, shape (m,)
        Rising frequencies [Hz] of the range outside which there is nothing, over its top less and
        less; less than half of `RATE`.
    transfer : ndarray, shape (m,)
        Pressure by flow [Pa·s/m³].

    Raises
    ------
    ValueError
        If a sample is not a whole number of steps.
    """
    skip = round(1 / (RATE * step))
    if skip < 1 or abs(skip * RATE * step - 1) > 1e-9:
        raise ValueError(
            f"sound: found a time step of {step!r} s; allowed is a whole share of a sample, "
            f"1/{RATE} s, for example 1/{2 * RATE}"
        )
    # As much silence as sound behind it, so that nothing comes back at its begin.
    length = 2 * len(flow) + (-2 * len(flow)) % (2 * skip)
    at: Real = np.asarray(np.fft.rfftfreq(length, step), dtype=float)
    spectrum = np.asarray(np.fft.rfft(flow, length)) * _between(at, frequencies, transfer)
    found = np.fft.irfft(spectrum[: length // skip // 2 + 1], length // skip) / skip
    return np.asarray(found[: -(-len(flow) // skip)])


def _between(at: Real, frequencies: Real, transfer: Complex) -> Complex:
    """The transfer at other frequencies, 0 outside its range and going down to 0 at its top."""
    lowest, highest = float(frequencies[0]), min(float(frequencies[-1]), 0.499 * RATE)
    inside = (at >= lowest) & (at <= highest)
    found = np.zeros(len(at), dtype=complex)
    share = np.clip((highest - at[inside]) / (TAPER * highest), 0, 1)
    lessened = 0.5 * (1 - np.cos(np.pi * share))
    found[inside] = CubicSpline(frequencies, transfer)(at[inside]) * lessened
    return found


def wav(pressure: Real) -> bytes:
    """A WAV file of one channel with 16 bits, `RATE` samples a second, matched in level.

    The root mean square of its steady end is `LEVEL` of full scale, whatever the pressure was; a
    sound with such peaks that they would not fit is softer, so that its greatest one does.

    Parameters
    ----------
    pressure : ndarray, shape (n,)
        At `RATE` samples a second.
    """
    fading = round(FADE * RATE)
    end = pressure[-round(MATCHED * RATE) - fading : -fading]
    loudness = float(np.sqrt(np.mean(end**2)))
    peak = float(np.max(np.abs(pressure)))
    scale = min(LEVEL / loudness, 1 / peak) if loudness else 0.0
    place = np.arange(len(pressure))
    begin, close = place / (FADE_IN * RATE), (len(pressure) - place) / fading
    faded = pressure * np.minimum(1.0, np.minimum(begin, close))
    samples = np.round(FULL_SCALE * scale * faded).astype("<i2")
    file = io.BytesIO()
    with wave.open(file, "wb") as writer:
        writer.setnchannels(1)
        writer.setsampwidth(2)
        writer.setframerate(RATE)
        writer.writeframes(samples.tobytes())
    return file.getvalue()
