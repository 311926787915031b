"""Fewer points of a curve that look the same: what is kept is where the curve bends."""

from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray


def thinned(x: ArrayLike, y: ArrayLike, tolerance: float = 1e-3) -> NDArray[np.intp]:
    """Indices of the points of a curve that straight lines between them stand for.

    Both axes are taken as shares of what the curve spans, so that the tolerance is a share of a
    chart's height: a thousandth is a third of a pixel on 300.  Every local maximum and minimum is
    kept, whatever its size, and so are both ends (Douglas and Peucker, Cartographica 10, 1973).

    Parameters
    ----------
    x, y : array_like, shape (n,)
        The curve as it is drawn: logarithms where an axis is logarithmic.  x does not fall; points
        that are not finite are never kept.
    tolerance : float
        Greatest vertical distance of a left out point from the line that stands for it.

    Returns
    -------
    array of int, rising
    """
    across, up = np.asarray(x, float), np.asarray(y, float)
    known = np.flatnonzero(np.isfinite(across) & np.isfinite(up))
    if len(known) <= 2:
        return known
    across, up = across[known], up[known]
    height = float(np.ptp(up)) or 1.0
    turns = np.flatnonzero(np.sign(np.diff(up[:-1])) * np.sign(np.diff(up[1:])) < 0) + 1
    kept = {0, len(up) - 1, *map(int, turns)}
    ends = sorted(kept)
    pending = list(pairwise(ends))
    while pending:
        first, last = pending.pop()
        if last - first < 2:
            continue
        inner = slice(first + 1, last)
        width = across[last] - across[first]
        share = (across[inner] - across[first]) / width if width else np.zeros(last - first - 1)
        away = np.abs(up[inner] - up[first] - share * (up[last] - up[first])) / height
        worst = first + 1 + int(np.argmax(away))
        if away[worst - first - 1] > tolerance:
            kept.add(worst)
            pending += [(first, worst), (worst, last)]
    return known[sorted(kept)]
