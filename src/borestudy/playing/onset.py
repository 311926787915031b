"""The least pressure in the mouth at which a tone starts, in each register of a bore.

Of all resonances that lips may be set to, the one that needs least pressure: the least of the
neutral oscillations (`borestudy.playing.neutral`) between the two dips of the impedance that a
register's peak lies between.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import BSpline, make_interp_spline
from scipy.optimize import elementwise

from borestudy.playing.lips import Lips
from borestudy.playing.load import Load
from borestudy.playing.neutral import Neutral, Properties, Terms, neutral_oscillations
from borestudy.playing.registers import Register, registers_of

Real = NDArray[np.float64]
Places = NDArray[np.int64]

#: Degree of the splines by which impedances are known between the samples of a load.
DEGREE = 5
#: Samples of each register between which the least threshold is bracketed.
TRIED = 40
#: Stands for the pressure where there is no oscillation, above any that there is [Pa].
NO_PRESSURE = 1e15
#: A sample and its neighbours.
STEPS = (-1, 0, 1)
#: Share to which a least threshold's frequency is sought: of a minimum no more can be had than
#: about the root of a number's last digit.
PLACED = 1e-7


@dataclass(frozen=True)
class Threshold:
    """A register's least threshold, with the lips' resonance where it is least [SI]."""

    register: int
    peak_frequency: float
    mouth_pressure: float
    frequency: float
    lips_frequency: float
    flow_rate: float
    throat_resistance: float


@dataclass(frozen=True)
class ThresholdCurve:
    """Thresholds of one register by the frequency that sounds, arrays of shape (n,) [SI]."""

    frequency: Real
    lips_frequency: Real
    mouth_pressure: Real


def peak_frequencies(load: Load, registers: int = 12) -> list[float]:
    """Frequencies [Hz] of the impedance peaks without resistance in the throat, lowest first."""
    found = registers_of(load.impedance())[:registers]
    if not found:
        return []
    between = _between(load)

    def height(frequency: Real) -> Real:
        return -1 / np.abs(between(frequency).admittance(0.0))

    places = np.array([one.peak for one in found])
    return _least(height, np.array([load.frequencies[places + step] for step in STEPS])).tolist()


def least_thresholds(
    load: Load, lips: Sequence[Lips], registers: int = 12
) -> list[list[Threshold | None]]:
    """Least threshold of each lips in each register.

    Parameters
    ----------
    load : Load
        What the lips blow into, at frequencies that lie close at its peaks.
    lips : sequence of Lips
        One after the other, all on the same bore.
    registers : int
        How many registers at most, from the lowest up.

    Returns
    -------
    list of list of Threshold or None
        By lips, then by register; None where the pressure has no minimum in the register.
    """
    found = registers_of(load.impedance())[:registers]
    peaks = peak_frequencies(load, registers)
    thresholds: list[list[Threshold | None]] = [[None] * len(found) for _ in lips]
    if not found or not lips:
        return thresholds
    whose, which, bracket = _brackets(load, lips, found)
    if not len(whose):
        return thresholds
    properties, between = _properties(lips), _between(load)
    # the next frequency's resistance is near that of the last one
    resistances = np.zeros(len(whose))

    def at(frequency: Real, index: Places) -> Neutral:
        chosen = tuple(one[whose[index]] for one in properties)
        state = neutral_oscillations(
            2 * np.pi * frequency,
            between(frequency),
            (chosen[0], chosen[1], chosen[2], chosen[3]),
            load.steady,
            load.density,
            resistances[index],
        )
        resistances[index] = np.nan_to_num(state.resistance)
        return state

    def pressure(frequency: Real, index: Real) -> Real:
        found = at(frequency, index.astype(np.int64)).mouth_pressure
        # a search for minima wants finite numbers
        return np.where(np.isfinite(found), found, NO_PRESSURE)

    sought = _least(pressure, bracket, np.arange(len(whose), dtype=float))
    # far above what a mouth can do, two flows may hold at one frequency, and no minimum is found
    known = np.flatnonzero(np.isfinite(sought))
    frequency = sought[known]
    state = at(frequency, known)
    for index, (row, column) in enumerate(zip(whose[known], which[known], strict=True)):
        if not np.isfinite(state.mouth_pressure[index]):
            continue
        thresholds[row][column] = Threshold(
            register=found[column].number,
            peak_frequency=peaks[column],
            mouth_pressure=float(state.mouth_pressure[index]),
            frequency=float(frequency[index]),
            lips_frequency=float(frequency[index] * state.ratio[index]),
            flow_rate=float(state.flow_rate[index]),
            throat_resistance=float(state.resistance[index]),
        )
    return thresholds


def threshold_curve(load: Load, lips: Lips, register: int) -> ThresholdCurve:
    """Threshold and sounding frequency against the lips' resonance, at the samples of a load.

    Raises
    ------
    ValueError
        If there is no such register.
    """
    found = registers_of(load.impedance())
    if not 1 <= register <= len(found):
        raise ValueError(
            f"register: found {register}; allowed is the number of an impedance peak, of which "
            f"there are {len(found)}, for example 1"
        )
    places = np.arange(found[register - 1].first, found[register - 1].last + 1)
    state = _on_samples(load, [lips], places)
    frequency, pressure = load.frequencies[places], state.mouth_pressure[0]
    known = np.isfinite(pressure)
    return ThresholdCurve(
        frequency[known], (frequency * state.ratio[0])[known], pressure[known]
    )  # fmt: skip


def _properties(lips: Sequence[Lips]) -> Properties:
    return (
        np.array([one.mass_per_area for one in lips]),
        np.array([one.quality_factor for one in lips]),
        np.array([one.width for one in lips]),
        np.array([one.opening_at_rest for one in lips]),
    )


def _terms(load: Load) -> Terms:
    return Terms(
        load.front[:, 0, 0] + load.correction,
        load.front[:, 0, 1] * load.front[:, 1, 0],
        load.front[:, 1, 1] + load.behind,
    )


def _brackets(
    load: Load, lips: Sequence[Lips], registers: Sequence[Register]
) -> tuple[Places, Places, Real]:
    """Lips, register and three frequencies around each least threshold.

    Some samples of each register are tried; all where some of them have no oscillation and none is
    a minimum, since there may be one between.
    """
    last = len(load.frequencies) - 1
    parts = [np.linspace(one.first, one.last, TRIED).astype(np.int64) for one in registers]
    samples = np.unique(np.concatenate([*parts, [min(registers[-1].last + 1, last)]]))
    pressure = _on_samples(load, lips, samples).mouth_pressure
    found: list[tuple[Places, Places, Real]] = []
    for column, register in enumerate(registers):
        inside = (samples >= register.first) & (samples <= register.last)
        rows, bracket = _minima(pressure, load.frequencies[samples], inside)
        found.append((rows, np.full(len(rows), column), bracket))
        unknown = np.isnan(pressure[:, inside]).any(axis=1)
        few = np.setdiff1d(np.flatnonzero(unknown), rows)
        if len(few):
            every = np.arange(max(register.first - 1, 0), min(register.last + 1, last) + 1)
            dense = _on_samples(load, [lips[row] for row in few], every).mouth_pressure
            within = (every >= register.first) & (every <= register.last)
            rows, bracket = _minima(dense, load.frequencies[every], within)
            found.append((few[rows], np.full(len(rows), column), bracket))
    whose, which, brackets = zip(*found, strict=True)
    return np.concatenate(whose), np.concatenate(which), np.concatenate(brackets, axis=1)


def _minima(pressure: Real, frequencies: Real, inside: NDArray[np.bool_]) -> tuple[Places, Real]:
    """The lips whose least pressure at samples inside is a minimum, and three samples around it.

    Parameters
    ----------
    pressure : ndarray, shape (n_lips, n)
        NaN where there is none.
    frequencies : ndarray, shape (n,)
        Rising [Hz].
    inside : ndarray of bool, shape (n,)
        Which of the samples count.

    Returns
    -------
    rows : ndarray, shape (m,)
    bracket : ndarray, shape (3, m)
    """
    minimum = np.zeros(pressure.shape, dtype=bool)
    before, at, after = (pressure[:, start : start - 2 or None] for start in (0, 1, 2))
    minimum[:, 1:-1] = (at < before) & (at <= after)
    least = np.where(minimum & inside, pressure, np.inf)
    places = np.argmin(least, axis=1)
    rows = np.flatnonzero(np.isfinite(least[np.arange(len(least)), places]))
    return rows, np.array([frequencies[places[rows] + step] for step in STEPS])


def _on_samples(load: Load, lips: Sequence[Lips], places: Places) -> Neutral:
    """Neutral oscillations of each lips at samples of a load, arrays of shape (n_lips, n)."""
    count, several = len(places), len(lips)
    mass, quality, width, opening = (np.repeat(one, count) for one in _properties(lips))
    found = neutral_oscillations(
        np.tile(2 * np.pi * load.frequencies[places], several),
        _terms(load).at(np.tile(places, several)),
        (mass, quality, width, opening),
        load.steady,
        load.density,
    )
    return Neutral(*(one.reshape(several, count) for one in vars(found).values()))


def _between(load: Load) -> "Between":
    terms = _terms(load)
    columns = np.stack(
        [part for one in vars(terms).values() for part in (one.real, one.imag)], axis=1
    )
    degree = min(DEGREE, (len(load.frequencies) - 1) // 2 * 2 - 1)
    return Between(make_interp_spline(load.frequencies, columns, k=degree))


@dataclass(frozen=True)
class Between:
    """A load's terms at any frequency of its range."""

    spline: BSpline

    def __call__(self, frequency: Real) -> Terms:
        """Terms at frequencies [Hz], shape (n,)."""
        parts = np.moveaxis(self.spline(frequency), -1, 0)
        return Terms(*(parts[each] + 1j * parts[each + 1] for each in (0, 2, 4)))


def _least(function: Callable[..., Real], bracket: Real, *arguments: Real) -> Real:
    """Frequencies of minima between the first and the last of three, shape (3, n)."""
    found = elementwise.find_minimum(
        function, tuple(bracket), args=arguments, tolerances={"xrtol": PLACED}
    )
    return np.asarray(found.x)


def thinned(load: Load) -> Load:
    """The same at every second sample, for what the distance of the samples does."""
    return replace(
        load,
        frequencies=load.frequencies[::2],
        front=load.front[::2],
        behind=load.behind[::2],
        to_shank=load.to_shank[::2],
        correction=load.correction[::2],
    )
