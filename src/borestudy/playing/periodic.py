r"""What a tone that repeats itself is made of: its period, its harmonics, its centroid.

Harmonics are Fourier coefficients over `PERIODS` periods with a window whose side lobes are below
-92 dB (Blackman and Harris, of four terms; Harris 1978, Proc. IEEE 66, 51, from memory), so that no
period need be a whole number of samples.  Those of a flow whose parabolas go through its samples
are theirs times `parabola_factor`.
"""

import numpy as np

from borestudy.playing.parabolas import parabola_factor
from borestudy.playing.tone import Complex, Oscillator, Played, Real

#: Periods in a window, and those between the two windows that a frequency is measured with.
PERIODS, APART = 16, 8
#: A tone that differs from itself `APART` periods later by less than this share repeats itself.
REPEATS = 0.01


def period_frequency(signal: Real, step: float, guess: float) -> float:
    """Frequency of the strongest oscillation near a guess [Hz], at the signal's end.

    By the advance of its phase over `APART` periods.

    Parameters
    ----------
    signal : ndarray, shape (n,)
        The opening of the lips, say, of which the first harmonic is the strongest.
    step : float
        Between samples [s].
    guess : float
        Within a third of the frequency [Hz].

    Raises
    ------
    ValueError
        If the signal has fewer periods than two windows need.
    """
    length = round(PERIODS / (guess * step))
    if len(signal) < length + round(APART / (guess * step)) + 1:
        raise ValueError(
            f"tone: found {len(signal) * guess * step:.1f} periods; allowed are "
            f"{PERIODS + APART + 1} or more, for example {2 * (PERIODS + APART)}"
        )
    tried: Real = guess * np.linspace(2 / 3, 4 / 3, 129)
    sizes = np.abs(coefficients(signal[-length:], step, tried))
    found = float(tried[np.argmax(sizes)])
    for _ in range(4):
        shift = round(APART / (found * step))
        turned = coefficients(signal[-length:], step, np.array([found]))
        earlier = coefficients(signal[-length - shift : -shift], step, np.array([found]))
        # Each coefficient counts its phase from its own first sample.
        advance = np.angle(turned[0] / earlier[0] * np.exp(-2j * np.pi * found * shift * step))
        found += float(advance) / (2 * np.pi * shift * step)
    return found


def coefficients(signal: Real, step: float, frequencies: Real) -> Complex:
    """Complex amplitudes at frequencies [Hz] over the whole of a signal, phases from its start."""
    window = _window(len(signal))
    window /= window.sum()
    turns = np.outer(frequencies, np.arange(len(signal)) * step)
    return np.asarray(2 * np.exp(-2j * np.pi * turns) @ (window * (signal - signal.mean())))


def harmonics(signal: Real, step: float, frequency: float, count: int) -> Complex:
    """Complex amplitudes of the first `count` harmonics at the signal's end, shape (count,).

    Those of signals of one length go together: their phases count from the same sample.
    """
    length = min(round(PERIODS / (frequency * step)), len(signal))
    multiples: Real = np.asarray(frequency * np.arange(1, count + 1), dtype=float)
    return coefficients(signal[-length:], step, multiples)


def differs(signal: Real, step: float, frequency: float) -> float:
    """By how much a signal differs from itself some periods earlier, as a share of its swing."""
    length = round(APART / (frequency * step))
    late, place = signal[-length:], np.arange(len(signal) - length, len(signal), dtype=float)
    earlier = np.interp(place - APART / (frequency * step), np.arange(len(signal)), signal)
    swing = float(np.std(late))
    return float(np.sqrt(np.mean((late - earlier) ** 2)) / swing) if swing else 0.0


def repeats(signal: Real, step: float, frequency: float) -> bool:
    """Whether a signal repeats itself with the period."""
    return differs(signal, step, frequency) < REPEATS


def swing(signal: Real, step: float, frequency: float) -> float:
    """Root mean square of a signal about its mean, over the periods at its end."""
    late = signal[-round(PERIODS / (frequency * step)) :]
    window = _window(len(late))
    window /= window.sum()
    return float(np.sqrt(window @ (late - window @ late) ** 2))


def centroid(frequencies: Real, amplitudes: Real) -> float:
    """Mean of the harmonics' frequencies [Hz], each counted by its amplitude."""
    return float(np.sum(frequencies * amplitudes) / np.sum(amplitudes))


def power_balances(oscillator: Oscillator, played: Played, mouth_pressure: float) -> Real:
    """Powers that ought to be equal over a period, shape (2, 2), by their own formulas.

    The first row: power into the bore [W] as the mean of pressure and flow, and as what each
    harmonic of the flow loses in the real part of the impedance.  The second: power of the pressure
    drop on the lips, by area [W/m²], and what the lips' damping takes.

    Parameters
    ----------
    oscillator : Oscillator
        Lips and bore.
    played : Played
        A tone that repeats itself, at its end.
    mouth_pressure : float
        There [Pa].
    """
    step, lips = played.step, oscillator.lips
    frequency = period_frequency(played.opening, step, _strongest(played))
    length = round(PERIODS / (frequency * step))
    window = _window(length)
    window /= window.sum()
    flow, pressure = played.flow[-length:], played.pressure[-length:]
    count = int(0.45 / (frequency * step))
    multiples: Real = np.asarray(frequency * np.arange(1, count + 1), dtype=float)
    of_flow = harmonics(played.flow, step, frequency, count)
    resistance = oscillator.modes.impedance(2 * np.pi * multiples).real
    mean = float(window @ flow)
    steady = (oscillator.offset + oscillator.modes.at_rest * mean) * mean
    lost = 0.5 * resistance * np.abs(of_flow * parabola_factor(multiples, step)) ** 2
    velocity = 2j * np.pi * multiples * harmonics(played.opening, step, frequency, count)
    drop = harmonics(mouth_pressure - played.pressure, step, frequency, count)
    damping = lips.mass_per_area * oscillator.omega / lips.quality_factor
    return np.array(
        [
            [float(window @ (pressure * flow)), steady + float(lost.sum())],
            [
                0.5 * float((drop * velocity.conj()).real.sum()),
                0.5 * damping * float((np.abs(velocity) ** 2).sum()),
            ],
        ]
    )


def _strongest(played: Played) -> float:
    """Frequency of the strongest oscillation of the opening, about [Hz]."""
    signal = played.opening - played.opening.mean()
    sizes = np.abs(np.fft.rfft(signal * _window(len(signal))))
    return float(np.argmax(sizes)) / (len(signal) * played.step)


def _window(length: int) -> Real:
    # Loads half a second of modules, which jobs of studies without lips need not wait for.
    from scipy.signal.windows import blackmanharris

    return np.asarray(blackmanharris(length, sym=False))
