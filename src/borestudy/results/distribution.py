r"""Distributions of what depends on several independent errors, each uniform within its limit.

Errors are told as shares of their limits, :math:`u_i` between -1 and 1, and what they do by its
derivatives for them: to second order

.. math:: q = \sum_i a_i u_i + \tfrac12 \sum_{ij} B_{ij} u_i u_j.

A uniform error has the variance 1/3, so that to first order the variance is
:math:`\sum_i a_i^2 / 3`, and error i has the share :math:`a_i^2 / \sum_j a_j^2` of it.
Percentiles are of Sobol's points, scrambled by a seed, which fill the cube of errors more evenly
than chance does; with so few errors of such unequal size the central limit would be no good guide.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import qmc

Real = NDArray[np.float64]
PERCENTILES = (2.5, 16.0, 50.0, 84.0, 97.5)
#: Two to this power are the points; the seed of their scrambling.
POWER, SEED = 10, 1


@dataclass(frozen=True)
class Spread:
    """A distribution: its standard deviation, and its `PERCENTILES`."""

    standard_deviation: float
    percentiles: tuple[float, ...]

    @property
    def span(self) -> float:
        """Width of the interval that holds 95 % of it."""
        return self.percentiles[-1] - self.percentiles[0]


def shares_of_limits(count: int, power: int = POWER, seed: int = SEED) -> Real:
    """Errors as shares of their limits, shape (2^power, count), evenly over the cube.

    Parameters
    ----------
    count : int
        How many errors there are.
    power : int
        Logarithm to the base 2 of the number of points.
    seed : int
        The same one gives the same points.
    """
    if count == 0:
        return np.zeros((2**power, 0))
    return np.asarray(2 * qmc.Sobol(count, rng=seed).random_base2(power) - 1)


def spread_of(effects: ArrayLike) -> Spread:
    """The distribution of equally likely effects, shape (n_samples,)."""
    values = np.asarray(effects, dtype=float)
    return Spread(float(values.std()), tuple(np.percentile(values, PERCENTILES).tolist()))


def effects(shares: Real, first: ArrayLike, second: Real | None = None) -> Real:
    """What errors do by the derivatives, shape (n_samples,).

    Parameters
    ----------
    shares : ndarray, shape (n_samples, n)
        Errors as shares of their limits.
    first : array_like, shape (n,)
        Effect of each limit, to first order.
    second : ndarray, shape (n, n), optional
        Second derivatives by the shares.
    """
    found = shares @ np.asarray(first, dtype=float)
    if second is not None:
        found = found + 0.5 * np.einsum("si,ij,sj->s", shares, second, shares)
    return np.asarray(found)


def first_order_deviation(first: ArrayLike) -> float:
    """Standard deviation to first order, of the effect of each limit."""
    return float(np.sqrt(np.sum(np.square(np.asarray(first, dtype=float))) / 3))


def variance_shares(first: ArrayLike) -> Real:
    """Share of the variance that each error has to first order, shape (n,); 0 where there is none.

    They add up to 1.
    """
    squares = np.square(np.asarray(first, dtype=float))
    whole = squares.sum()
    return np.asarray(squares / whole if whole > 0 else squares)


def with_half(shares: Real, number: int) -> Real:
    """The same errors with one limit halved."""
    halved = shares.copy()
    halved[:, number] /= 2
    return halved


def symmetric(columns: dict[int, Real], count: int) -> Real:
    """Second derivatives of which some columns are known, the rest taken as zero.

    Where two columns say the same derivative it is the mean of both.
    """
    second, known = np.zeros((count, count)), list(columns)
    for number, column in columns.items():
        second[:, number] = column
        second[number, :] = column
    for number in known:
        for other in known:
            second[number, other] = (columns[number][other] + columns[other][number]) / 2
    return second
