"""A tone that is left to settle, and its course with rising and falling mouth pressure."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from borestudy.playing.growth import growth_rates
from borestudy.playing.periodic import harmonics, period_frequency, swing
from borestudy.playing.tone import Oscillator, Played, State, disturbed, simulate

#: Time steps of a tone that is measured, and of its course [s]: a tone of 500 Hz is then off by
#: thousandths and by hundredths of a cent.
STEP, COURSE_STEP = 1 / 96000, 1 / 48000
#: Periods after which a tone is looked at again.
STRETCH = 32
#: A vibration of the lips below this share of their steady opening that dies away is none.
QUIET = 2e-3
#: A tone begins with lips that are let go from so much more than their steady opening.
KICK = 0.5
#: Mouth pressures of the course, as multiples of the threshold, up to the loud level and down.
STAIRS = (0.9, 1.02, 1.05, 1.1, 1.2, 1.35, 1.5, 1.75, 2.0, 2.5, 3.0, 4.0)
#: Below them the pressure falls by this factor until there is no tone, down to this share of the
#: threshold; the end lies between the last two, whose distance is halved to a share of it.
FALL, LOWEST, END_KNOWN = 0.95, 0.2, 0.01
#: How long a tone of the course may take to settle, and the first of it [s]; to what share of its
#: amplitude.
COURSE_LONGEST, FIRST_LONGEST, COURSE_ENOUGH = 1.0, 4.0, 1e-3


@dataclass(frozen=True)
class Settled:
    """A tone at one mouth pressure, after it has settled or its time has passed.

    Attributes
    ----------
    played : Played
        Its last stretch.
    frequency : float or None
        Sounding frequency [Hz]; None where the lips do not vibrate.
    left : float
        By what share the amplitude is about to change still.
    """

    played: Played
    frequency: float | None
    left: float

    @property
    def cup_pressure(self) -> float:
        """Root mean square of the pressure in the cup about its mean [Pa]; 0 without a tone."""
        if self.frequency is None:
            return 0.0
        return swing(self.played.pressure, self.played.step, self.frequency)


def settled(
    oscillator: Oscillator, mouth_pressure: float, start: State, guess: float, *,
    step: float = STEP, longest: float = 3.0, enough: float = 1e-5,
) -> Settled:  # fmt: skip
    """Let a tone settle at a steady mouth pressure.

    What the amplitude of the lips is about to change still is estimated from its last two changes,
    each of which is taken to be one and the same share of the one before.

    Parameters
    ----------
    oscillator : Oscillator
        Lips and bore.
    mouth_pressure : float
        [Pa].
    start : State
        Where it starts from.
    guess : float
        Within a third of the sounding frequency [Hz].
    step, longest : float
        Time step, and how long it may take [s].
    enough : float
        Share of the amplitude that may be left.
    """
    length = round(STRETCH / (guess * step))
    stretch = np.full(length, mouth_pressure)
    quiet = QUIET * oscillator.steady(mouth_pressure)[1]
    sizes: list[float] = []
    left = np.inf
    while True:
        played = simulate(oscillator, stretch, step, start)
        frequency = period_frequency(played.opening, step, guess)
        sizes.append(float(np.abs(harmonics(played.opening, step, frequency, 1)[0])))
        if len(sizes) > 1 and sizes[-1] < quiet and sizes[-1] < sizes[-2]:
            return Settled(played, None, 0.0)
        if len(sizes) > 2:
            left = _left(sizes) / sizes[-1]
        if left < enough or len(sizes) * length * step > longest:
            return Settled(played, frequency, left)
        start = played.end


def _left(sizes: Sequence[float]) -> float:
    """How much the last of some sizes is from where they go."""
    before, last = sizes[-2] - sizes[-3], sizes[-1] - sizes[-2]
    ratio = last / before if before else 0.0
    return abs(last) * max(1.0, ratio / (1 - ratio)) if ratio < 1 else np.inf


@dataclass(frozen=True)
class Course:
    """A tone with rising, then with falling mouth pressure.

    Attributes
    ----------
    rising, falling : tuple of (float, Settled or None)
        Mouth pressures [Pa] and what sounds there, None where nothing does.
    ends_between : tuple of float or None
        Mouth pressures [Pa], the lower without and the higher with a tone; None where the tone
        does not end, or there is none.
    """

    rising: tuple[tuple[float, Settled | None], ...]
    falling: tuple[tuple[float, Settled | None], ...]
    ends_between: tuple[float, float] | None


def course(oscillator: Oscillator, threshold: float, loudest: float, guess: float) -> Course:
    """The tone up to a mouth pressure and down again, each time from the tone before.

    With rising pressure nothing sounds as long as the steady state is stable; with falling the
    tone may go on below.

    Parameters
    ----------
    oscillator : Oscillator
        Lips and bore.
    threshold, loudest : float
        Mouth pressures from which a tone starts by itself, and up to which it is followed [Pa].
    guess : float
        Sounding frequency, about [Hz].
    """

    def at(pressure: float, start: State, longest: float = COURSE_LONGEST) -> Settled | None:
        found = settled(
            oscillator, pressure, start, guess,
            step=COURSE_STEP, longest=longest, enough=COURSE_ENOUGH,
        )  # fmt: skip
        return None if found.frequency is None else found

    stairs = [threshold * one for one in STAIRS if threshold * one < 0.99 * loudest] + [loudest]
    rising: list[tuple[float, Settled | None]] = []
    last: Settled | None = None
    for pressure in stairs:
        if last is not None:
            last = at(pressure, last.played.end)
        elif growth_rates(oscillator, pressure)[0].real > 0:
            last = at(pressure, disturbed(oscillator, pressure, KICK), FIRST_LONGEST)
        rising.append((pressure, last))
    falling: list[tuple[float, Settled | None]] = rising[-1:]
    for pressure in _downwards(stairs, LOWEST * threshold):
        if last is None:
            break
        last = at(pressure, last.played.end)
        falling.append((pressure, last))
    if last is not None or len(falling) < 2:
        return Course(tuple(rising), tuple(falling), None)
    low, (high, sounding) = falling[-1][0], falling[-2]
    while high - low > END_KNOWN * threshold:
        assert sounding is not None
        middle = 0.5 * (low + high)
        tried = at(middle, sounding.played.end)
        if tried is None:
            low = middle
        else:
            high, sounding = middle, tried
    return Course(tuple(rising), tuple(falling), (low, high))


def _downwards(stairs: Sequence[float], lowest: float) -> list[float]:
    """Mouth pressures from the last stair but one down to a lowest one."""
    down = list(stairs[-2::-1])
    while down[-1] * FALL > lowest:
        down.append(down[-1] * FALL)
    return down
