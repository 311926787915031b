"""How far the diameters at measured stations may be off.

Each reading has an error of its own, and all readings of one gauge share that of its zero and its
calibration.  Both are half-widths at about 95 %, like every uncertainty here.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

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
