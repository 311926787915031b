"""Stations of a file as they stand in it: an air column's, which need no rim and no throat."""

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from borestudy.bore.measured.written import read_written


def read_stations(path: Path) -> tuple[NDArray[np.float64], list[int]]:
    """Positions and diameters in the file's order; its columns must name their unit.

    Returns
    -------
    stations : ndarray, shape (n, 2) [m]
        Position and diameter.
    lines : list of int
        Line of the file that each station stands in.

    Raises
    ------
    BoreError
        If the file cannot be read or a line is no station.
    """
    written = read_written(path, plausible=False)
    return written.readings, list(written.lines)
