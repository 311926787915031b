r"""Numerical uncertainty from a ladder of meshes: the grid convergence index.

On grids whose sizes shrink by one ratio :math:`r`, a computed figure behaves as
:math:`f_h = f + C h^p`.  Three grids give the observed order

.. math:: p = \ln(|f_1 - f_2| / |f_2 - f_3|) / \ln r

(1 coarsest, 3 finest), and the finest grid's figure carries

.. math:: u = F_s \, |f_2 - f_3| / (r^p - 1).

The safety factor is 1.25 where the three figures converge monotonically with an order that can
be explained, and 3 where they do not or where only two grids were solved.  A re-entrant edge
limits the order of an output to 4/3 (a 270° step), so that is the order assumed where none can
be observed, and the highest that is trusted: with 4 in its place only three in four ladders with
a smoother error beside the leading one, and meshes that scatter by 5 % of a step, had their limit
within the uncertainty.

References
----------
Roache, P. J. (1994), J. Fluids Eng. 116, 405.
Celik, I. B. et al. (2008), J. Fluids Eng. 130, 078001.
"""

import numpy as np
from numpy.typing import ArrayLike

from borestudy.fem import Floats

EDGE_ORDER = 4.0 / 3.0
LOWEST_ORDER = 1.0
TRUSTED_FACTOR = 1.25
CAUTIOUS_FACTOR = 3.0
ROUNDING = 1e-12


def grid_uncertainty(
    values: ArrayLike,
    ratio: float = 1.5,
    order: float = EDGE_ORDER,
    highest_order: float = EDGE_ORDER,
) -> Floats:
    """Grid convergence index of the finest of two or more grids.

    Parameters
    ----------
    values : array_like, shape (n_levels, ...)
        The same figure on each grid, coarsest first; a difference between two cases may be
        handed in as the difference level by level.
    ratio : float
        How many times smaller the elements are from one grid to the next.
    order : float
        The order of convergence assumed where it cannot be observed.
    highest_order : float
        An observed order above this one is not trusted.

    Returns
    -------
    ndarray, shape (...)
        About 95 % uncertainty, in the unit of ``values``; never exactly zero for a value that is
        not zero, since rounding remains.

    Raises
    ------
    ValueError
        If there are fewer than two grids or the ratio is not above 1.
    """
    figures = np.asarray(values, dtype=float)
    if figures.ndim == 0 or len(figures) < 2:
        raise ValueError("grid_uncertainty needs the figure on at least two grids, coarsest first")
    if not ratio > 1:
        raise ValueError(f"the refinement ratio must be above 1, found {ratio}")
    finest = np.abs(figures[-1])
    last_step = figures[-1] - figures[-2]
    cautious = CAUTIOUS_FACTOR * np.abs(last_step) / (ratio**order - 1)
    if len(figures) == 2:
        return np.asarray(cautious + ROUNDING * finest)

    step_before = figures[-2] - figures[-3]
    with np.errstate(divide="ignore", invalid="ignore"):
        observed = np.log(np.abs(step_before / last_step)) / np.log(ratio)
    monotone = (step_before * last_step > 0) & (observed >= LOWEST_ORDER)
    trusted_order = np.clip(np.nan_to_num(observed, nan=order), LOWEST_ORDER, highest_order)
    trusted = TRUSTED_FACTOR * np.abs(last_step) / (ratio**trusted_order - 1)
    # uncertainty floor for a last step that is small by chance: the step before, one level down
    by_chance = CAUTIOUS_FACTOR * np.abs(step_before) / ratio**order / (ratio**order - 1)
    return np.asarray(
        np.where(monotone, trusted, np.maximum(cautious, by_chance)) + ROUNDING * finest
    )
