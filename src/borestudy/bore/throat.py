"""Where the throat is among measured stations, whatever the last digit of their readings.

A caliper or a small-hole gauge is read to about 0.001 in either way (common practice), so two
readings of one diameter differ by up to 0.002 in.  All stations of a throat are therefore within
0.002 in of the narrowest; so may be the first ones of a backbore that opens slowly.  Those are
told from the throat by the median of the stretch, to which noise of either sign adds nothing:
from its ends are taken the stations that are above the median by more than one reading's error
and that of the median, which falls with the root of the number of stations.  No reading of the
throat is so far up, and so the ends found are the true ones to within one station, or to within
the length over which the wall opens by 0.002 in, where that is longer.
"""

import numpy as np
from numpy.typing import NDArray

#: Error of one reading of a diameter [m]: 0.001 in.
READING = 25.4e-6


def throat_stretch(stations: NDArray[np.float64]) -> tuple[int, int]:
    """First and last station of the throat.

    Parameters
    ----------
    stations : ndarray, shape (n, 2) [m]
        Position and diameter; two stations at one position make a step, which ends a throat.

    Returns
    -------
    first, last : int
        The same station where none beside the narrowest is as narrow to within two readings'
        errors.
    """
    positions, diameters = stations.T
    narrowest = int(np.argmin(diameters))
    inside = diameters <= diameters[narrowest] + 2 * READING
    steps = np.diff(positions) == 0
    first = last = narrowest
    while first > 0 and inside[first - 1] and not steps[first - 1]:
        first -= 1
    while last + 1 < len(diameters) and inside[last + 1] and not steps[last]:
        last += 1
    level = float(np.median(diameters[first : last + 1]))
    limit = level + READING * (1 + min(1.0, 2 / np.sqrt(last - first + 1)))
    while diameters[first] > limit:
        first += 1
    while diameters[last] > limit:
        last -= 1
    return first, last
