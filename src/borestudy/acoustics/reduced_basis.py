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
    Port,
    effective_areas,
    factors,
    impedance_matrix,
    loads,
    matrices,
    pressures,
    solve_at,
)
from borestudy.air import Air

logger = logging.getLogger(__name__)

TOLERANCE = 1e-7
LARGEST_SNAPSHOT_COUNT = 40
CANDIDATES = 300
SKETCH = 48
SEED = 20201
HELD_OUT = 4
PASSES = 2
INDEPENDENT = 1e-11
CHECK_MARGIN = 10.0


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


def _project_port(port: Port, basis: NDArray) -> Port:
    return replace(port, surface=basis.T @ port.surface, edge=basis.T @ port.edge)


def project(operator: AffineOperator, basis: NDArray[np.float64]) -> AffineOperator:
    """Galerkin projection with the transpose of a real basis, shape (n, n_reduced)."""

    def reduced(matrix: object) -> NDArray:
        dense = basis.T @ (matrix @ basis)  # type: ignore[operator]
        return np.asarray((dense + dense.T) / 2)

    return replace(
        operator,
        stiffness=reduced(operator.stiffness),
        mass=reduced(operator.mass),
        viscous=tuple(reduced(matrix) for matrix in operator.viscous),
        thermal=tuple(reduced(matrix) for matrix in operator.thermal),
        ports=(_project_port(operator.ports[0], basis), _project_port(operator.ports[1], basis)),
    )


def _extend(basis: NDArray[np.float64], snapshot: NDArray[np.complex128]) -> NDArray[np.float64]:
    """Orthonormal basis enlarged by the real and imaginary parts of new pressures."""
    for new in np.hstack([snapshot.real, snapshot.imag]).T:
        size = np.linalg.norm(new)
        if size == 0:
            continue
        vector = new / size
        for _ in range(2):  # once more, because the first subtraction loses digits
            vector = vector - basis @ (basis.T @ vector)
        if np.linalg.norm(vector) > INDEPENDENT:
            basis = np.column_stack([basis, vector / np.linalg.norm(vector)])
    return basis


class _ResidualIndicator:
    """Relative residuals of reduced pressures, estimated in a random projection.

    A residual's size is kept to about a tenth by a projection onto a few dozen random signs
    (Johnson & Lindenstrauss), which is all a choice of the next snapshot needs; what is projected
    once costs nothing per pass, and no digits are lost to expanding a square.  Balabanov & Nouy
    (2019), Adv. Comput. Math. 45, 2969 (from memory).
    """

    def __init__(self, operator: AffineOperator, omega: NDArray, air: Air) -> None:
        signs = np.random.default_rng(SEED).choice([-1.0, 1.0], (operator.unknowns, SKETCH))
        # symmetric matrices: applying one to the signs projects its rows
        self.projected = [(matrix @ signs).T for matrix in matrices(operator)]
        self.factors = factors(operator, omega, air)
        ports = (_project_port(operator.ports[0], signs), _project_port(operator.ports[1], signs))
        self.load = loads(replace(operator, ports=ports), omega, air)

    def __call__(self, basis: NDArray, reduced: NDArray[np.complex128]) -> NDArray[np.float64]:
        """Size of either drive's residual at every candidate, shape (n_frequencies, 2)."""
        residual = self.load.copy()
        for index, projected in enumerate(self.projected):
            factor = self.factors[:, index, None, None]
            residual -= factor * ((projected @ basis) @ reduced)
        return np.linalg.norm(residual, axis=1)


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
) -> tuple[AffineOperator, Reduction, NDArray[np.float64]]:
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
    ndarray, shape (n, n_reduced)
        The basis.
    """
    frequencies = _candidates(lowest_frequency, highest_frequency)
    omega = 2 * np.pi * frequencies
    floor = 1e-3 * air.density * air.sound_speed / max(port.area for port in operator.ports)
    indicator = _ResidualIndicator(operator, omega, air)
    areas = effective_areas(operator, omega, air)

    chosen = [0, len(frequencies) - 1]
    basis = np.zeros((operator.unknowns, 0))
    solve_residual = 0.0
    for index in chosen:
        snapshot = solve_at(operator, omega[index], air)
        solve_residual = max(solve_residual, _residual_of(operator, snapshot, omega[index], air))
        basis = _extend(basis, snapshot)
    residuals: list[float] = []
    constant, passes = 0.0, 0
    while passes < PASSES and len(chosen) < largest_snapshot_count:
        reduced = project(operator, basis)
        residual = indicator(basis, pressures(reduced, omega, air))
        impedance = impedance_matrix(reduced, omega, air)
        estimate = _estimated_error(residual, impedance, floor, areas, omega, air)
        estimate[chosen] = 0.0
        worst = int(np.argmax(estimate))
        residuals.append(float(np.max(residual / np.linalg.norm(indicator.load, axis=1))))
        snapshot = solve_at(operator, omega[worst], air)
        solve_residual = max(solve_residual, _residual_of(operator, snapshot, omega[worst], air))
        exact = _impedance_of(operator, snapshot, omega[worst], air)
        error = relative_error(impedance[worst], exact, floor)
        # the largest constant met so far turns the estimate at every candidate into an error
        constant = max(constant, error / estimate[worst])
        passed = error <= tolerance and constant * estimate[worst] <= tolerance
        passes = passes + 1 if passed else 0
        chosen.append(worst)
        basis = _extend(basis, snapshot)

    reduced = project(operator, basis)
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
    return (operator if failed else reduced), reduction, basis


def _candidates(lowest: float, highest: float) -> NDArray[np.float64]:
    """Frequencies dense enough for the slow change at the low end and the dips at the high one."""
    half = CANDIDATES // 2
    return np.unique(
        np.append(np.geomspace(lowest, highest, half), np.linspace(lowest, highest, half))
    )


def _residual_of(operator: AffineOperator, snapshot: NDArray, omega: float, air: Air) -> float:
    """Relative residual of pressures solved for directly."""
    load = loads(operator, omega, air)[0]
    terms = zip(factors(operator, omega, air)[0], matrices(operator), strict=True)
    residual = sum(factor * (matrix @ snapshot) for factor, matrix in terms) - load
    return float(np.linalg.norm(residual) / np.linalg.norm(load))


def _impedance_of(
    operator: AffineOperator, snapshot: NDArray, omega: float, air: Air
) -> NDArray[np.complex128]:
    """Impedance matrix from pressures already solved for."""
    load = loads(operator, omega, air)[0]
    area = effective_areas(operator, omega, air)[0]
    return np.asarray(1j * omega * air.density * (load.T @ snapshot) / np.outer(area, area))
