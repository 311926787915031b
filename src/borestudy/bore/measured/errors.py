"""How far the diameters at measured stations may be off.

Each reading has an error of its own, and all readings of one gauge share that of its zero and its
calibration.  Both are half-widths at about 95 %, like every uncertainty here.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

#: Error of one reading of a diameter by common practice, where nothing else is known [m]: 0.001 in.
READING = 25.4e-6


@dataclass(frozen=True, eq=False)
class StationErrors:
    """Errors of the diameters at a measured bore's stations, from the rim plane on.

    Attributes
    ----------
    independent_m : ndarray, shape (n,)
        Of each station's diameter alone, half-width at about 95 % [m].
    common_m : float
        Of all diameters together, all of them too large or all too small [m].
    source : str
        Where they are from, in words that may stand behind "from": ``the stated uncertainty``.
    """

    independent_m: NDArray[np.float64]
    common_m: float
    source: str


def assumed_errors(count: int) -> StationErrors:
    """Errors by common practice of a number of stations of which nothing else is known."""
    return StationErrors(np.full(count, READING), 0.0, "common practice, 0.001 in a reading")


def with_position_errors(
    errors: StationErrors, stations: NDArray[np.float64], counts: NDArray[np.int_], size: float
) -> StationErrors:
    """Errors of stations whose positions may be off as well.

    A position that is off by some length puts a diameter off by the wall's slope times that.

    Parameters
    ----------
    errors : StationErrors
        Of the diameters alone.
    stations : ndarray, shape (n, 2)
        Position and diameter [m].
    counts : ndarray, shape (n,)
        Readings of each station.
    size : float
        Error of one position, half-width at about 95 % [m].
    """
    slopes = np.zeros(len(stations))
    for run in np.split(np.arange(len(stations)), np.flatnonzero(np.diff(stations[:, 0]) == 0) + 1):
        if len(run) > 1:
            slopes[run] = np.gradient(stations[run, 1], stations[run, 0])
    own = np.hypot(errors.independent_m, np.abs(slopes) * size / np.sqrt(counts))
    return replace(errors, independent_m=own, source=f"{errors.source}, and of the positions")


def station_errors(
    repeats: Sequence[Sequence[float]],
    stated: float | None = None,
    common: float = 0.0,
    last_digit: float = 0.0,
) -> StationErrors:
    """Errors of stations from what is stated of a reading, or from the scatter of repeated ones.

    The standard deviation is pooled over all stations that were read more than once, of which each
    gives one degree of freedom less than its readings; Student's factor for all of those makes it
    a half-width at 95 % (JCGM 100:2008, 4.2 and annex G).  The mean of m readings has that over the
    root of m.  Half a step of the last digit, which no repeating removes, is added as the root of
    the sum of squares.

    Parameters
    ----------
    repeats : sequence of sequences of float
        The readings of the diameter at each station [m].
    stated : float, optional
        Error of one reading, half-width at about 95 % [m].
    common : float
        Error that all readings share [m].
    last_digit : float
        The least step of a reading as written [m].
    """
    counts = np.array([len(values) for values in repeats])
    freedom = int((counts - 1).sum())
    if stated is not None:
        return StationErrors(stated / np.sqrt(counts), common, "the stated uncertainty")
    if not freedom:
        assumed = assumed_errors(len(counts))
        return StationErrors(assumed.independent_m, common, assumed.source)
    squares = sum(float(np.sum((np.array(v) - np.mean(v)) ** 2)) for v in repeats if len(v) > 1)
    deviation = float(np.sqrt(squares / freedom))
    one = float(stdtrit(freedom, 0.975)) * deviation
    several = int((counts > 1).sum())
    source = (
        f"the scatter of repeated readings at {several} station{'s' if several > 1 else ''} "
        f"(standard deviation {1e3 * deviation:.2g} mm, {freedom} degree"
        f"{'s' if freedom > 1 else ''} of freedom)"
    )
    return StationErrors(np.hypot(one / np.sqrt(counts), last_digit / 2), common, source)
