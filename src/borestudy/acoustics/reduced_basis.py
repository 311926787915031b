"""A whole frequency range for the price of about a dozen solves.

The pressures at a few frequencies span, to many digits, those at every other one.  Galerkin
projection of the affine operator on the real space [Re p, Im p] of those snapshots, with the
transpose so that complex symmetry and the two-port's reciprocity survive, leaves matrices a few
dozen rows wide.

Greedy choice: the next snapshot is taken where the residuals of the reduced pressures threaten the
impedance most (its minima included).  Residuals alone mislead while the basis is small, so the
reduced impedance is compared with the direct one at each chosen frequency *before* the snapshot
joins the basis, and the choice ends after two passes running in which that error, and the estimate
scaled by the worst ratio seen, are within the tolerance at every candidate; held-out frequencies
are then solved directly.

References
----------
Quarteroni, A., Manzoni, A. & Negri, F. (2016), Reduced Basis Methods for Partial Differential
    Equations, Springer, ch. 3, 7 (from memory).
"""

import logging
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from borestudy.acoustics.operator import (
    AffineOperator,
    effective_areas,
    impedance_matrix,
    impedance_of,
    pressures,
    solve_checked,
)
from borestudy.acoustics.projection import Projection, project_port
from borestudy.air import Air

logger = logging.getLogger(__name__)

TOLERANCE = 3e-7
LARGEST_SNAPSHOT_COUNT = 40
FIRST_SNAPSHOTS = 5
CANDIDATES = 120
HELD_OUT = 2
PASSES = 2
#: Directions in which no pressure has more than this share leave the basis once it is complete:
#: the impedance's error is the square of the pressure's.
NEEDED = 5e-7
CHECK_MARGIN = 3.0


@dataclass(frozen=True)
class Reduction:
    """What the greedy choice did.

    Attributes
    ----------
    snapshots : ndarray [Hz]
    residuals : ndarray
        Largest relative residual over the candidates at every pass, estimated.
    solve_residual : float
        Largest relative residual ‖Ax − b‖/‖b‖ of the direct solves.
    held_out_error : float
        Largest relative error of the impedance matrix at frequencies not in the basis.
    direct : bool
        True where the basis did not reach its tolerance and the full matrices are kept.
    """

    snapshots: NDArray[np.float64]
    residuals: NDArray[np.float64]
    solve_residual: float
    held_out_error: float
    direct: bool


def relative_error(found: NDArray, exact: NDArray, floor: float) -> float:
    """Largest entrywise error; ``floor`` keeps the zeros of a lossless bore from dividing."""
    return float(np.max(np.abs(found - exact) / (np.abs(exact) + floor)))


def _compressed(projection: Projection, tolerance: float, floor: float) -> AffineOperator:
    """Reduced operator without the directions that no pressure needs.

    The pressures at all candidates, each of unit size, are ordered by their singular vectors.
    Every evaluation costs the cube of the basis's size, and small directions are needed only while
    the residuals are watched.  The basis stays whole where the impedance would notice.
    """
    whole, omega, air = projection.reduced(), projection.omega, projection.air
    driven = pressures(whole, omega, air)
    sizes = np.linalg.norm(driven, axis=1, keepdims=True)
    scaled = np.moveaxis(driven / np.where(sizes > 0, sizes, 1), 1, 0).reshape(len(driven[0]), -1)
    directions, shares, _ = np.linalg.svd(
        np.hstack([scaled.real, scaled.imag]), full_matrices=False
    )
    rotation = directions[:, shares > NEEDED]

    def rotated(matrix: NDArray[np.float64]) -> NDArray[np.float64]:
        dense = rotation.T @ matrix @ rotation
        return np.asarray((dense + dense.T) / 2)

    smaller = replace(
        whole,
        matrices=tuple(rotated(matrix) for matrix in whole.matrices),
        ports=tuple(project_port(port, rotation) for port in whole.ports),
    )
    exact = impedance_of(whole, omega, air, driven)
    if relative_error(impedance_matrix(smaller, omega, air), exact, floor) > tolerance:
        return whole
    return smaller


def _estimated_error(
    residual: NDArray, impedance: NDArray, floor: float, areas: NDArray, omega: NDArray, air: Air
) -> NDArray[np.float64]:
    """Relative error of the impedance matrix, up to a constant, shape (n_frequencies,).

    The impedance's error is the product of two residuals (and the operator's inverse, the
    constant); what is small itself, a minimum of Z, is hurt most.
    """
    product = residual[:, :, None] * residual[:, None, :]
    scale = omega[:, None, None] * air.density / np.abs(areas[:, :, None] * areas[:, None, :])
    return np.asarray(np.max(product * scale / (np.abs(impedance) + floor), axis=(1, 2)))


def reduce_operator(
    operator: AffineOperator,
    air: Air,
    lowest_frequency: float,
    highest_frequency: float,
    tolerance: float = TOLERANCE,
    largest_snapshot_count: int = LARGEST_SNAPSHOT_COUNT,
) -> tuple[AffineOperator, Reduction]:
    """Reduced operator over a range of frequencies.

    Parameters
    ----------
    operator : AffineOperator
        With sparse matrices.
    air : Air
        In which the snapshots are taken.
    lowest_frequency : float [Hz]
        Start of the range.
    highest_frequency : float [Hz]
        End of the range.
    tolerance : float
        Relative, of every entry of the impedance matrix at every frequency.
    largest_snapshot_count : int
        Where to give up.

    Returns
    -------
    AffineOperator
        Small and dense; or ``operator`` itself where the tolerance was not reached.
    Reduction
        How it was made, and what it leaves.
    """
    frequencies = _candidates(lowest_frequency, highest_frequency)
    omega = 2 * np.pi * frequencies
    floor = 1e-3 * air.density * air.sound_speed / max(port.area for port in operator.ports)
    projection = Projection(operator, omega, air)
    areas = effective_areas(operator, omega, air)

    chosen = np.linspace(0, len(frequencies) - 1, FIRST_SNAPSHOTS).astype(int).tolist()
    chosen = chosen[:largest_snapshot_count]
    solve_residual = 0.0
    for index in chosen:
        snapshot, left = solve_checked(operator, omega[index], air)
        solve_residual = max(solve_residual, left)
        projection.add(snapshot)
    residuals: list[float] = []
    constant, passes = 0.0, 0
    while passes < PASSES and len(chosen) < largest_snapshot_count:
        reduced = projection.reduced()
        driven = pressures(reduced, omega, air)
        impedance = impedance_of(reduced, omega, air, driven)
        residual = projection.residual(driven)
        estimate = _estimated_error(residual, impedance, floor, areas, omega, air)
        estimate[chosen] = 0.0
        worst = int(np.argmax(estimate))
        residuals.append(float(np.max(residual / np.linalg.norm(projection.load, axis=1))))
        snapshot, left = solve_checked(operator, omega[worst], air)
        solve_residual = max(solve_residual, left)
        exact = impedance_of(operator, omega[worst], air, snapshot[None])[0]
        error = relative_error(impedance[worst], exact, floor)
        # the largest constant met so far turns the estimate at every candidate into an error
        constant = max(constant, error / estimate[worst])
        passed = error <= tolerance and constant * estimate[worst] <= tolerance
        passes = passes + 1 if passed else 0
        chosen.append(worst)
        projection.add(snapshot)

    reduced = _compressed(projection, tolerance, floor)
    held_out = np.geomspace(lowest_frequency, highest_frequency, 2 * HELD_OUT + 1)[1::2]
    exact = impedance_matrix(operator, 2 * np.pi * held_out, air)
    error = relative_error(impedance_matrix(reduced, 2 * np.pi * held_out, air), exact, floor)
    failed = passes < PASSES or error > CHECK_MARGIN * tolerance
    if failed:
        logger.warning(
            "reduced basis: %d snapshots leave an error of %.1e (tolerance %.1e) between %g and "
            "%g Hz; every frequency is solved directly instead, which is slower",
            len(chosen), error, tolerance, lowest_frequency, highest_frequency,
        )  # fmt: skip
    reduction = Reduction(frequencies[chosen], np.array(residuals), solve_residual, error, failed)
    return (operator if failed else reduced), reduction


def _candidates(lowest: float, highest: float) -> NDArray[np.float64]:
    """Frequencies dense enough for the slow change at the low end and the dips at the high one."""
    half = CANDIDATES // 2
    return np.unique(
        np.append(np.geomspace(lowest, highest, half), np.linspace(lowest, highest, half))
    )
