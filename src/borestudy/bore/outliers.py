"""Stations that stand alone out of their neighbours' line: slips of reading or writing.

The wall at a station is predicted three times by the stations beside it: from the two before it,
from the two behind it, each by a straight line, and by the line between the nearest two. On a
straight, conical or curved wall, and at a corner, the reading lies between the least and the
greatest of these (convex and concave walls lie between chord and tangents), to within four
readings' errors.  It lies beyond both neighbours, in a ring or a waist, only if the lines of both
sides lead there.  A step, written as two stations at one position, is no neighbour.

A reading beyond that is *doubtful*: it is told, and taken as it is. It is an *outlier* if the wall
would also turn back, in a ring wider or a waist narrower than both its neighbours, by more than
5 % of the diameter and ten readings' errors: no tool cuts that without being told to. It is
refused unless the study says that it was measured so.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from borestudy.bore.errors import BoreError, millimetres
from borestudy.bore.table import read_stations
from borestudy.bore.throat import READING

#: A reading so far beyond the predictions is an outlier: share of the diameter, and length [m].
OUTLIER_SHARE, OUTLIER_LENGTH = 0.05, 10 * READING
#: A straight line through two readings errs by up to three of their errors one station on, and
#: the reading there by one more [m].
DOUBT = 4 * READING


@dataclass(frozen=True)
class Doubt:
    """A station that its neighbours do not suggest.

    Attributes
    ----------
    index : int
        Of the station.
    position, found, low, high, chord : float
        Where it is, its diameter, the least and the greatest that its neighbours suggest, and
        that of the line between the nearest two [m].
    outlier : bool
        Whether it is refused unless the study says otherwise.
    """

    index: int
    position: float
    found: float
    low: float
    high: float
    chord: float
    outlier: bool

    def __str__(self) -> str:
        """What was found, and what the neighbours suggest."""
        least, most = (f"{1e3 * end:.4g}" for end in (self.low, self.high))
        suggested = f"{least} mm" if least == most else f"{least} mm to {most} mm"
        return (
            f"found a diameter of {millimetres(self.found)} ({self.found / 25.4e-3:.4f} in) at "
            f"{millimetres(self.position)}, where the stations beside it suggest {suggested}"
        )


def find_doubts(stations: NDArray[np.float64]) -> list[Doubt]:
    """Stations that their neighbours do not suggest, in their order.

    Parameters
    ----------
    stations : ndarray, shape (n, 2) [m]
        Ascending positions, with their diameters.

    Returns
    -------
    list of Doubt
        Of two neighbours only the one that is further out, since each spoils the other's
        prediction.
    """
    steps = np.flatnonzero(np.diff(stations[:, 0]) == 0) + 1
    doubts: list[Doubt] = []
    for run in np.split(np.arange(len(stations)), steps):
        doubts += _of_run(stations, run)
    return doubts


def _of_run(stations: NDArray[np.float64], run: NDArray[np.intp]) -> list[Doubt]:
    """Doubts between two steps; its ends have a neighbour on one side only and are not judged."""
    if len(run) < 3:
        return []
    x, d = stations[run].T
    gaps = np.diff(x)
    slopes = np.diff(d) / gaps
    # A side of one station has no slope: it suggests its own diameter.
    before = d[:-2] + gaps[:-1] * np.concatenate([[0.0], slopes[:-2]])
    behind = d[2:] - gaps[1:] * np.concatenate([slopes[2:], [0.0]])
    chord = d[:-2] + gaps[:-1] * (d[2:] - d[:-2]) / (gaps[:-1] + gaps[1:])
    least, most = np.minimum(d[:-2], d[2:]), np.maximum(d[:-2], d[2:])
    # A wall turns back in a corner that both sides' lines lead to, and not in one side's alone.
    high = np.minimum(
        np.max([before, behind, chord], axis=0), np.maximum(most, np.minimum(before, behind))
    )
    low = np.maximum(
        np.min([before, behind, chord], axis=0), np.minimum(least, np.maximum(before, behind))
    )
    found = d[1:-1]
    excess = np.maximum(found - high, low - found)
    turns_back = (found < least) | (found > most)
    large = excess > np.maximum(OUTLIER_LENGTH, OUTLIER_SHARE * chord)
    doubtful = excess > DOUBT
    # The narrowest station of all may be a throat, where a side of one station cannot say.
    for end in {0, len(found) - 1}:
        doubtful[end] &= found[end] > stations[:, 1].min()
    around = np.concatenate([[-np.inf], excess, [-np.inf]])
    doubtful &= excess >= np.maximum(around[:-2], around[2:])
    return [
        Doubt(
            int(run[k + 1]), float(x[k + 1]), float(found[k]), float(low[k]), float(high[k]),
            float(chord[k]), bool(turns_back[k] and large[k]),
        )
        for k in np.flatnonzero(doubtful)
    ]  # fmt: skip


def doubtful_stations(path: Path | str) -> list[str]:
    """A line for each station of a file that its neighbours do not suggest."""
    path = Path(path)
    stations, lines = read_stations(path)
    return [f"{path.name}, line {lines[doubt.index]}: {doubt}" for doubt in find_doubts(stations)]


def refuse_outliers(name: str, stations: NDArray[np.float64], lines: Sequence[int]) -> None:
    """Refuse stations of which one is an outlier.

    Raises
    ------
    BoreError
        With the line of the file, what was found and what the neighbours suggest.
    """
    worst = max(
        (doubt for doubt in find_doubts(stations) if doubt.outlier),
        key=lambda doubt: max(doubt.found - doubt.high, doubt.low - doubt.found),
        default=None,
    )
    if worst is not None:
        raise BoreError(
            "stations",
            f"{name}, line {lines[worst.index]}: {worst}; allowed is a wall that does not turn "
            "back in one station alone, or 'outliers: keep' in the study's bore if it was measured "
            f"so, for example {1e3 * worst.chord:.4g} mm there",
        )
