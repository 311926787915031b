r"""Linear least squares with linear inequalities, and what each inequality costs.

The problem :math:`\min \|A x - b\|^2` subject to :math:`G x \ge h` is, with :math:`A = Q R` and
:math:`z = R x - Q^T b`, one of least distance, :math:`\min \|z\|^2` subject to
:math:`G R^{-1} z \ge h - G R^{-1} Q^T b`.  Its dual is a least-squares problem with variables that
are not negative, whose residual says either where the minimum is or that nothing satisfies all
inequalities (Lawson and Hanson 1974, *Solving Least Squares Problems*, chapter 23).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solve_triangular
from scipy.optimize import nnls

Real = NDArray[np.float64]

#: Least residual of the dual problem at which something satisfies all inequalities.
FEASIBLE = 1e-9
#: Part of the greatest dual variable from which on one is not zero; least singular value of the
#: active inequalities as part of the greatest; and how far an inequality may be missed.
ACTIVE, RANK, ROUNDING = 1e-10, 1e-10, 1e-6


class NothingSatisfies(ValueError):
    """No vector satisfies all inequalities."""


@dataclass(frozen=True)
class Minimum:
    """Where the minimum is, and the multiplier of each inequality, zero where it is not active.

    Half of the squared residual falls by the multiplier times whatever an inequality's right-hand
    side is lowered by.
    """

    x: Real
    multipliers: Real


def constrained(matrix: Real, wanted: Real, gradients: Real, least: Real) -> Minimum:
    """Minimise the residual of `matrix` x − `wanted` where `gradients` x ≥ `least`.

    Parameters
    ----------
    matrix, wanted : array, shapes (m, n) and (m,)
        Of full column rank.
    gradients, least : array, shapes (k, n) and (k,)
        Inequalities, scaled to about 1; k may be 0.

    Raises
    ------
    NothingSatisfies
        If the inequalities contradict one another.
    """
    orthogonal, triangle = np.linalg.qr(matrix)
    there = orthogonal.T @ wanted
    if not len(least):
        return Minimum(solve_triangular(triangle, there), np.zeros(0))
    turned = solve_triangular(triangle, gradients.T, trans=1).T
    # Rows of unit length: the dual problem then tells what is active by numbers of one size.
    length = np.maximum(np.linalg.norm(turned, axis=1), 1e-300)
    rows, rest = turned / length[:, None], (least - turned @ there) / length
    scale = max(1.0, float(np.abs(rest).max()))
    stacked = np.vstack([rows.T, rest[None] / scale])
    unit = np.append(np.zeros(matrix.shape[1]), 1.0)
    dual, _ = nnls(stacked, unit, maxiter=50 * stacked.shape[1] + 100)
    residual = stacked @ dual - unit
    if np.linalg.norm(residual) < FEASIBLE:
        raise NothingSatisfies("no vector satisfies all inequalities")
    # What is active is told well by the dual problem, where it is only to the square of rounding.
    active = np.flatnonzero(dual > ACTIVE * max(dual.max(), 1e-300))
    z, multipliers = np.zeros(matrix.shape[1]), np.zeros(len(least))
    if len(active):
        z = np.linalg.lstsq(rows[active], rest[active], rcond=RANK)[0]
        multipliers[active] = np.linalg.lstsq(rows[active].T, z, rcond=RANK)[0]
    if (rows @ z < rest - ROUNDING * scale).any():
        raise NothingSatisfies("no vector satisfies all inequalities to rounding")
    return Minimum(solve_triangular(triangle, z + there), np.maximum(multipliers / length, 0.0))
