"""Stations smoothed, none moved by more than a stated bound.

Between steps, diameters :math:`d'` are sought that keep near the readings :math:`d` and turn
little,

.. math:: \\min \\sum_i (d'_i - d_i)^2 + \\lambda \\sum_j h_j (\\Delta s_j / h_j)^2
          \\quad\\text{with}\\quad |d'_i - d_i| \\le b,

where :math:`\\Delta s_j` is the change of slope at an inner station and :math:`h_j` the mean of its
two gaps, so that the sum is the integral of the squared second derivative (Whittaker, Proc. Edinb.
Math. Soc. 41 (1923) 63; Reinsch, Numer. Math. 10 (1967) 177).  A corner, which is where the lines
of both sides meet and turn, has no term at its station or at the two beside it: it stays a corner.
The stations of the throat have one diameter where the bound allows it.  Without the bound the
solution is a linear map of the readings, :math:`d' = S d`; the penalty is that of least expected
error, which for readings of standard deviation :math:`\\sigma` is estimated by
:math:`\\sum (d' - d)^2 + 2 \\sigma^2 \\operatorname{tr} S` (Craven & Wahba, Numer. Math. 31 (1979)
377).  No eigenvalue of :math:`S` is above 1, so the smoothed diameters of readings with independent
errors have no larger ones.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import lsq_linear

#: Penalties that are tried, as how many times the readings' own weight the roughness of a wave of
#: two stations has: from nothing that can be seen to a straight line.
PENALTIES = np.logspace(-3, 9, 49)
#: Steps of the search for the stations that are at their bounds.
STEPS = 100
#: Stations between two steps that are smoothed at once; more are left, since the cost is cubic.
MOST = 1500


@dataclass(frozen=True, eq=False)
class Smoothed:
    """Stations, shape (n, 2) [m], smoothed; the largest change of a diameter, and where."""

    stations: NDArray[np.float64]
    largest: float
    where: int


def smoothed(
    stations: NDArray[np.float64],
    bound: float,
    error: float,
    throat: tuple[int, int],
    corner: float,
) -> Smoothed:
    """Stations with smoothed diameters.

    Parameters
    ----------
    stations : ndarray, shape (n, 2)
        Position and diameter from the rim plane on; two at one position are a step [m].
    bound : float
        The most that a diameter is moved by [m].
    error : float
        Error of a reading, half-width at about 95 % [m].
    throat : (int, int)
        First and last station of the throat.
    corner : float
        How far a corner stands out of the line between its neighbours at least, and how near the
        lines of both its sides come to it at most [m].
    """
    made = stations.copy()
    steps = np.flatnonzero(np.diff(stations[:, 0]) == 0) + 1
    for run in np.split(np.arange(len(stations)), steps):
        if 2 < len(run) <= MOST:
            inside = [k for k, index in enumerate(run) if throat[0] <= index <= throat[1]]
            ends = (inside[0], inside[-1]) if inside else (0, 0)
            made[run, 1] = _smooth_run(stations[run], bound, error, ends, corner)
    moved = np.abs(made[:, 1] - stations[:, 1])
    return Smoothed(made, float(moved.max()), int(np.argmax(moved)))


def _smooth_run(
    stations: NDArray[np.float64],
    bound: float,
    error: float,
    throat: tuple[int, int],
    corner: float,
) -> NDArray[np.float64]:
    """Smoothed diameters of stations without a step."""
    x, d = stations.T
    first, last = throat
    if last > first and np.ptp(d[first : last + 1]) > 2 * bound:
        last = first  # no one diameter is within the bound of all
    # Unknowns: a diameter each, of the throat one for all.
    unknown = np.arange(len(d))
    unknown[first : last + 1] = first
    unknown[last + 1 :] -= last - first
    spread = np.zeros((len(d), unknown[-1] + 1))
    spread[np.arange(len(d)), unknown] = 1.0
    rough = _turns(x, {*_corners(stations, corner), first, last} if last > first else
                   {*_corners(stations, corner), first})  # fmt: skip
    if not len(rough):
        return d
    rough = rough @ spread
    counts = spread.sum(axis=0)
    mean = (spread.T @ d) / counts
    # With unknowns scaled by the root of their counts, all maps share the eigenvectors of a matrix.
    scaled = rough / np.sqrt(counts)
    values, vectors = np.linalg.eigh(scaled.T @ scaled)
    values = np.maximum(values, 0)
    values[: max(len(values) - len(rough), 0)] = 0  # what turns nowhere
    along = vectors.T @ (np.sqrt(counts) * mean)
    within = float(np.sum(d**2) - np.sum(counts * mean**2))  # the throat's own scatter
    size = PENALTIES / max(float(values.max()), 1e-300)
    kept = 1 / (1 + np.outer(size, values))
    misfit = within + ((1 - kept) ** 2 @ along**2)
    # An error at 95 % is two standard deviations.
    expected = misfit + 2 * (error / 2) ** 2 * kept.sum(axis=1)
    penalty = size[np.argmin(expected)]
    low = np.array([d[unknown == k].max() for k in range(len(counts))]) - bound
    high = np.array([d[unknown == k].min() for k in range(len(counts))]) + bound
    found = vectors @ (kept[np.argmin(expected)] * along) / np.sqrt(counts)
    if (found < low).any() or (found > high).any():
        found = _within(
            np.diag(counts) + penalty * rough.T @ rough, counts * mean, low, high, found
        )
    return np.clip(found[unknown], d - bound, d + bound)


def _within(
    matrix: NDArray[np.float64],
    wanted: NDArray[np.float64],
    low: NDArray[np.float64],
    high: NDArray[np.float64],
    start: NDArray[np.float64],
) -> NDArray[np.float64]:
    """The least of ½ xᵀHx − gᵀx between bounds, by its active set.

    Each step solves for the unknowns inside their bounds and takes as active those that leave
    them and keeps those that are pressed against them (Hintermüller, Ito & Kunisch, SIAM J. Optim.
    13 (2002) 865).  It ends when the set does, which it need not do: then bounded least squares do
    it, more slowly.
    """
    found, size = start, np.diag(matrix)
    pressed = wanted - matrix @ found
    before: list[bytes] = []
    for _ in range(STEPS):
        above = pressed + size * (found - high) > 0
        below = pressed + size * (found - low) < 0
        state = above.tobytes() + below.tobytes()
        if before and state == before[-1]:
            return np.clip(found, low, high)
        if state in before:
            break
        before.append(state)
        free = ~(above | below)
        found = np.where(above, high, low)
        rest = wanted[free] - matrix[np.ix_(free, ~free)] @ found[~free]
        found[free] = np.linalg.solve(matrix[np.ix_(free, free)], rest)
        pressed = wanted - matrix @ found
        pressed[free] = 0.0
    # The middle of the bounds is taken off, since they are narrow beside a diameter.
    middle, factor = (low + high) / 2, np.linalg.cholesky(matrix).T
    room = np.maximum(high - middle, 1e-12)
    target = np.linalg.solve(factor.T, wanted) - factor @ middle
    solved = lsq_linear(factor, target, (-room, room), method="bvls")
    return np.clip(middle + solved.x, low, high)


def _turns(x: NDArray[np.float64], without: set[int]) -> NDArray[np.float64]:
    """Rows that give the root of each inner station's share of the squared second derivative."""
    gaps = np.diff(x)
    rows = []
    for j in range(1, len(x) - 1):
        if j in without:
            continue
        row, size = np.zeros(len(x)), np.sqrt((gaps[j - 1] + gaps[j]) / 2)
        row[j - 1], row[j + 1] = 1 / gaps[j - 1] / size, 1 / gaps[j] / size
        row[j] = -row[j - 1] - row[j + 1]
        rows.append(row)
    return np.array(rows).reshape(-1, len(x))


def _corners(stations: NDArray[np.float64], corner: float) -> set[int]:
    """Stations at which, or between two of which, the lines of both sides meet and turn."""
    x, d = stations.T
    slopes = np.diff(d) / np.diff(x)
    inner = np.arange(1, len(x) - 1)
    # How far a station is from the line through the two before it, behind it, and beside it.
    before, after, beside = (np.full(len(x), np.inf) for _ in range(3))
    before[2:] = d[1:-1] + slopes[:-1] * np.diff(x)[1:] - d[2:]
    after[:-2] = d[1:-1] - slopes[1:] * np.diff(x)[:-1] - d[:-2]
    chord = (slopes[1:] - slopes[:-1]) / (1 / np.diff(x)[:-1] + 1 / np.diff(x)[1:])
    beside[inner] = np.abs(chord)
    turns = (beside > corner) & np.isfinite(beside)
    found = set()
    for j in inner:
        if turns[j] and max(abs(before[j]), abs(after[j])) <= corner:
            found.add(int(j))
        between = j + 1 < len(x) - 1 and turns[j] and turns[j + 1]
        if between and max(abs(before[j]), abs(after[j + 1])) <= corner:
            found |= {int(j), int(j) + 1}
    return found
