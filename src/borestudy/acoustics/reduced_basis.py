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
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from borestudy.acoustics import operator as operators
from borestudy.acoustics.operator import AffineOperator, impedance_matrix, impedance_of
from borestudy.acoustics.projection import Projection, projected
from borestudy.acoustics.walls import Real
from borestudy.air import Air

logger = logging.getLogger(__name__)

#: Relative, of every entry of the impedance matrix at every frequency.
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
    """What the greedy choice did."""

    #: Frequencies [Hz].
    snapshots: Real
    #: Largest relative residual over the candidates at every pass, estimated.
    residuals: Real
    #: Largest relative residual ‖Ax − b‖/‖b‖ of the direct solves.
    solve_residual: float
    #: Largest relative error of the impedance matrix at frequencies not in the basis.
    held_out_error: float
    #: Whether the basis did not reach its tolerance and the full matrices are kept.
    direct: bool


def reduce_operator(
    operator: AffineOperator,
    air: Air,
    lowest_frequency: float,
    highest_frequency: float,
    largest_snapshot_count: int = LARGEST_SNAPSHOT_COUNT,
) -> tuple[AffineOperator, Reduction, Real | None]:
    """Reduced operator over a range of frequencies.

    Parameters
    ----------
    operator : AffineOperator
        Operator of sparse matrices.
    air : Air
        The air of the snapshots.
    lowest_frequency, highest_frequency : float
        The range [Hz].
    largest_snapshot_count : int
        Most snapshots that are taken.

    Returns
    -------
    operator : AffineOperator
        Small and dense; the sparse one itself where the tolerance was not reached.
    reduction : Reduction
        How it was made, and the error that remains.
    basis : ndarray, shape (n, n_reduced)
        What the operator was projected on; None where the tolerance was not reached.
    """
    # dense enough for the slow change at the low end and for the dips at the high one
    spaced = (space(lowest_frequency, highest_frequency, CANDIDATES // 2)
              for space in (np.geomspace, np.linspace))  # fmt: skip
    frequencies = np.unique(np.concatenate(list(spaced)))
    omega = 2 * np.pi * frequencies
    floor = 1e-3 * air.density * air.sound_speed / max(port.area for port in operator.ports)
    projection = Projection(operator, omega, air)
    areas = operators.effective_areas(operator, omega, air)

    chosen = np.linspace(0, len(frequencies) - 1, FIRST_SNAPSHOTS).astype(int).tolist()
    chosen = chosen[:largest_snapshot_count]
    solve_residual = max(projection.solve(index)[1] for index in chosen)
    residuals: list[float] = []
    constant, passes = 0.0, 0
    while passes < PASSES and len(chosen) < largest_snapshot_count:
        reduced = projection.reduced()
        driven = operators.pressures(reduced, omega, air)
        impedance = impedance_of(reduced, omega, air, driven)
        residual = projection.residual(driven)
        estimate = _estimated_error(residual, impedance, floor, areas, omega, air)
        estimate[chosen] = 0.0
        worst = int(np.argmax(estimate))
        residuals.append(float(np.max(residual / np.linalg.norm(projection.load, axis=1))))
        snapshot, left = projection.solve(worst)
        solve_residual = max(solve_residual, left)
        exact = impedance_of(operator, omega[worst], air, snapshot[None])[0]
        error = _relative_error(impedance[worst], exact, floor)
        # the largest constant met so far makes the estimate at every candidate an error
        constant = max(constant, error / estimate[worst])
        passed = error <= TOLERANCE and constant * estimate[worst] <= TOLERANCE
        passes = passes + 1 if passed else 0
        chosen.append(worst)

    reduced, basis = _compressed(projection, floor)
    held_out = np.geomspace(lowest_frequency, highest_frequency, 2 * HELD_OUT + 1)[1::2]
    exact = impedance_matrix(operator, 2 * np.pi * held_out, air)
    error = _relative_error(impedance_matrix(reduced, 2 * np.pi * held_out, air), exact, floor)
    failed = passes < PASSES or error > CHECK_MARGIN * TOLERANCE
    if failed:
        logger.warning(
            "reduced basis: %d snapshots leave an error of %.1e (tolerance %.1e) between %g and "
            "%g Hz; every frequency is solved directly instead, which is slower",
            len(chosen), error, TOLERANCE, lowest_frequency, highest_frequency,
        )  # fmt: skip
    reduction = Reduction(frequencies[chosen], np.array(residuals), solve_residual, error, failed)
    return (operator, reduction, None) if failed else (reduced, reduction, basis)


def _relative_error(found: NDArray, exact: NDArray, floor: float) -> float:
    """Largest entrywise error; ``floor`` keeps the zeros of a lossless bore from dividing."""
    return float(np.max(np.abs(found - exact) / (np.abs(exact) + floor)))


def _estimated_error(
    residual: NDArray, impedance: NDArray, floor: float, areas: NDArray, omega: NDArray, air: Air
) -> Real:
    """Relative error of the impedance matrix, up to a constant, shape (n_frequencies,).

    The impedance's error is the product of two residuals (and the operator's inverse, the
    constant); what is small itself, a minimum of Z, is hurt most.
    """
    product = residual[:, :, None] * residual[:, None, :]
    scale = omega[:, None, None] * air.density / np.abs(areas[:, :, None] * areas[:, None, :])
    return np.asarray(np.max(product * scale / (np.abs(impedance) + floor), axis=(1, 2)))


def _compressed(projection: Projection, floor: float) -> tuple[AffineOperator, Real]:
    """Reduced operator without the directions that no pressure needs, and its basis.

    The pressures at all candidates, each of unit size, are ordered by their singular vectors.
    Every evaluation costs the cube of the basis's size, and small directions are needed only while
    the residuals are watched.  The basis stays whole where the impedance would notice.
    """
    whole, omega, air = projection.reduced(), projection.omega, projection.air
    driven = operators.pressures(whole, omega, air)
    sizes = np.linalg.norm(driven, axis=1, keepdims=True)
    scaled = np.moveaxis(driven / np.where(sizes > 0, sizes, 1), 1, 0).reshape(len(driven[0]), -1)
    parts = np.hstack([scaled.real, scaled.imag])
    directions, shares, _ = np.linalg.svd(parts, full_matrices=False)
    needed = directions[:, shares > NEEDED]
    smaller = projected(whole, needed)
    exact = impedance_of(whole, omega, air, driven)
    found = impedance_matrix(smaller, omega, air)
    if _relative_error(found, exact, floor) > TOLERANCE:
        return whole, projection.basis
    return smaller, projection.basis @ needed
