"""What measured stations say, whatever the last digit of their readings.

A caliper or a small-hole gauge is read to about 0.001 in either way (common practice), so two
readings of one diameter differ by up to 0.002 in.

**Slips.** The wall at a station is predicted three times by the stations beside it: from the two
before it, from the two after it, each by a straight line, and by the line between the nearest two.
On a straight, conical or curved wall, and at a corner, the reading lies between the least and the
greatest of these (convex and concave walls lie between chord and tangents), to within four
readings' errors.  It lies beyond both neighbours, in a ring or a waist, only if the lines of both
sides lead there.  A step, written as two stations at one position, is no neighbour.  A reading
beyond that is *doubtful*: it is told, and taken as it is.  It is an *outlier* if the wall would
also turn back, in a ring wider or a waist narrower than both its neighbours, by more than 5 % of
the diameter and ten readings' errors: no tool cuts that without being told to.  It is refused
unless the study says that it was measured so.

**The throat.** All stations of a throat are within 0.002 in of the narrowest; so may be the first
ones of a backbore that opens slowly.  Those are told from the throat by the median of the stretch,
to which noise of either sign adds nothing: from its ends are taken the stations that are above the
median by more than one reading's error and that of the median, which falls with the root of the
number of stations.  No reading of the throat is so far up, and so the ends found are the true ones
to within one station, or to within the length over which the wall opens by 0.002 in, where that is
longer.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from borestudy.bore.errors import BoreError, millimetres
from borestudy.bore.measured.errors import READING

#: A reading so far beyond the predictions is an outlier: share of the diameter, readings' errors.
OUTLIER_SHARE, OUTLIER_ERRORS = 0.05, 10
#: A straight line through two readings errs by up to three of their errors one station on, and
#: the reading there by one more.
DOUBT = 4


@dataclass(frozen=True)
class Doubt:
    """A station that its neighbours do not suggest."""

    index: int
    #: Whether it is refused unless the study says otherwise.
    outlier: bool
    #: Its place and its diameter [m].
    position: float
    found: float
    #: The least and greatest diameter that its neighbours suggest [m].
    low: float
    high: float
    #: The diameter of the line between the nearest two [m].
    chord: float

    @property
    def excess(self) -> float:
        """How far the diameter is beyond what its neighbours suggest [m]."""
        return max(self.found - self.high, self.low - self.found)

    def __str__(self) -> str:
        """Return what was found, and what the neighbours suggest."""
        least, most = (f"{1e3 * end:.4g}" for end in (self.low, self.high))
        suggested = f"{least} mm" if least == most else f"{least} mm to {most} mm"
        return (
            f"found a diameter of {millimetres(self.found)} ({self.found / 25.4e-3:.4f} in) at "
            f"{millimetres(self.position)}, where the stations beside it suggest {suggested}"
        )


def find_doubts(stations: NDArray[np.float64], reading: float = READING) -> list[Doubt]:
    """Stations, of shape (n, 2) [m], that their neighbours do not suggest, in their order.

    `reading` is the error of one reading of a diameter [m].

    Of two neighbours only the one that is further out is told, since each spoils the other's
    prediction.
    """
    steps = np.flatnonzero(np.diff(stations[:, 0]) == 0) + 1
    runs = np.split(np.arange(len(stations)), steps)
    return [
        doubt
        for run in runs
        if len(run) > 2
        for doubt in _doubts_between_steps(stations, run, reading)
    ]


def _doubts_between_steps(
    stations: NDArray[np.float64], run: NDArray[np.intp], reading: float
) -> list[Doubt]:
    """Doubts among stations without a step, whose ends have one neighbour and are not judged."""
    x, d = stations[run].T
    gaps = np.diff(x)
    slopes = np.diff(d) / gaps
    # A side of one station has no slope: it suggests its own diameter.
    before = d[:-2] + gaps[:-1] * np.concatenate([[0.0], slopes[:-2]])
    after = d[2:] - gaps[1:] * np.concatenate([slopes[2:], [0.0]])
    chord = d[:-2] + gaps[:-1] * (d[2:] - d[:-2]) / (gaps[:-1] + gaps[1:])
    least, most = np.minimum(d[:-2], d[2:]), np.maximum(d[:-2], d[2:])
    # A wall turns back in a corner that both sides' lines lead to, and not in one side's alone.
    predictions = [before, after, chord]
    high = np.minimum(np.max(predictions, axis=0), np.maximum(most, np.minimum(before, after)))
    low = np.maximum(np.min(predictions, axis=0), np.minimum(least, np.maximum(before, after)))
    found = d[1:-1]
    excess = np.maximum(found - high, low - found)
    turns_back = (found < least) | (found > most)
    outlier = turns_back & (excess > np.maximum(OUTLIER_ERRORS * reading, OUTLIER_SHARE * chord))
    doubtful = excess > DOUBT * reading
    # The narrowest station of all may be a throat, where a side of one station cannot say.
    for end in {0, len(found) - 1}:
        doubtful[end] &= found[end] > stations[:, 1].min()
    around = np.concatenate([[-np.inf], excess, [-np.inf]])
    doubtful &= excess >= np.maximum(around[:-2], around[2:])
    figures = np.column_stack([x[1:-1], found, low, high, chord])
    return [
        Doubt(int(run[k + 1]), bool(outlier[k]), *figures[k].tolist())
        for k in np.flatnonzero(doubtful)
    ]


def refuse_outliers(
    name: str, stations: NDArray[np.float64], lines: Sequence[int], reading: float = READING
) -> None:
    """Refuse stations of which one is an outlier, by a `BoreError` that names the worst's line."""
    worst = max(
        (doubt for doubt in find_doubts(stations, reading) if doubt.outlier),
        key=lambda doubt: doubt.excess,
        default=None,
    )
    if worst is not None:
        raise BoreError(
            "stations",
            f"{name}, line {lines[worst.index]}: {worst}; allowed is a wall that does not turn "
            "back in one station alone, or 'outliers: keep' in the study's bore if it was measured "
            f"so, or 'outliers: leave out', for example {1e3 * worst.chord:.4g} mm there",
        )


def throat_stretch(stations: NDArray[np.float64], reading: float = READING) -> tuple[int, int]:
    """First and last station of the throat; the same one where no other is as narrow.

    Stations are positions and diameters, of shape (n, 2) [m]; two at one position make a step,
    which ends a throat.  `reading` is the error of one reading of a diameter [m].
    """
    positions, diameters = stations.T
    narrowest = int(np.argmin(diameters))
    inside = diameters <= diameters[narrowest] + 2 * reading
    steps = np.diff(positions) == 0
    first = last = narrowest
    while first > 0 and inside[first - 1] and not steps[first - 1]:
        first -= 1
    while last + 1 < len(diameters) and inside[last + 1] and not steps[last]:
        last += 1
    level = float(np.median(diameters[first : last + 1]))
    limit = level + reading * (1 + min(1.0, 2 / np.sqrt(last - first + 1)))
    while diameters[first] > limit:
        first += 1
    while diameters[last] > limit:
        last -= 1
    return first, last
