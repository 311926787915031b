"""A whole frequency range for the price of about a dozen solves.

The pressures at a few frequencies span, to many digits, those at every other one.  Galerkin
projection of the affine operator on the real space [Re p, Im p] of those snapshots, with the
transpose so that complex symmetry and the two-port's reciprocity survive, leaves matrices a few
dozen rows wide.

Greedy choice: the next snapshot is taken where the residual of the reduced pressure is largest.
The residual alone misleads while the basis is small, so the reduced impedance is compared with
the direct one at each chosen frequency *before* the snapshot joins the basis, and the choice ends
after two passes running within the tolerance; held-out frequencies are then solved directly.

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
    assemble_at,
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
CANDIDATES = 64
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
        Largest relative residual over the candidates at every pass.
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
    """Relative residuals of reduced pressures, from products kept between passes.

    The wall matrices are empty away from the wall, so that only their occupied rows are carried.
    """

    def __init__(self, operator: AffineOperator, omega: NDArray, air: Air) -> None:
        self.matrices = matrices(operator)
        self.rows = [np.flatnonzero(np.diff(matrix.tocsr().indptr)) for matrix in self.matrices]
        self.compact = [
            matrix.tocsr()[rows] for matrix, rows in zip(self.matrices, self.rows, strict=True)
        ]
        self.factors = factors(operator, omega, air)
        self.load = np.ascontiguousarray(loads(operator, omega, air).transpose(1, 0, 2))
        self.size = np.linalg.norm(self.load, axis=0)

    def __call__(self, basis: NDArray, reduced: NDArray[np.complex128]) -> NDArray[np.float64]:
        """Largest of both drives at every candidate, shape (n_frequencies,)."""
        frequencies, columns, drives = reduced.shape
        residual = self.load.copy()
        for index, rows in enumerate(self.rows):
            product = self.compact[index] @ basis
            scaled = (self.factors[:, index, None, None] * reduced).transpose(1, 0, 2)
            scaled = scaled.reshape(columns, -1)
            # real and imaginary parts apart: the basis is real, and a mixed product is slow
            applied = product @ scaled.real + 1j * (product @ scaled.imag)
            residual[rows] -= applied.reshape(len(rows), frequencies, drives)
        return np.asarray(np.max(np.linalg.norm(residual, axis=0) / self.size, axis=1))


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
    frequencies = np.geomspace(lowest_frequency, highest_frequency, CANDIDATES)
    omega = 2 * np.pi * frequencies
    floor = 1e-3 * air.density * air.sound_speed / max(port.area for port in operator.ports)
    indicator = _ResidualIndicator(operator, omega, air)

    chosen = [0, CANDIDATES - 1]
    basis = np.zeros((operator.unknowns, 0))
    solve_residual = 0.0
    for index in chosen:
        snapshot = solve_at(operator, omega[index], air)
        solve_residual = max(solve_residual, _residual_of(operator, snapshot, omega[index], air))
        basis = _extend(basis, snapshot)
    residuals: list[float] = []
    passes = 0
    while passes < PASSES and len(chosen) < largest_snapshot_count:
        reduced = project(operator, basis)
        residual = indicator(basis, pressures(reduced, omega, air))
        residual[chosen] = 0.0
        worst = int(np.argmax(residual))
        residuals.append(float(residual[worst]))
        snapshot = solve_at(operator, omega[worst], air)
        solve_residual = max(solve_residual, _residual_of(operator, snapshot, omega[worst], air))
        exact = _impedance_of(operator, snapshot, omega[worst], air)
        found = impedance_matrix(reduced, omega[worst], air)[0]
        passes = passes + 1 if relative_error(found, exact, floor) <= tolerance else 0
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


def _residual_of(operator: AffineOperator, snapshot: NDArray, omega: float, air: Air) -> float:
    """Relative residual of pressures solved for directly."""
    load = loads(operator, omega, air)[0]
    residual = assemble_at(operator, omega, air) @ snapshot - load
    return float(np.linalg.norm(residual) / np.linalg.norm(load))


def _impedance_of(
    operator: AffineOperator, snapshot: NDArray, omega: float, air: Air
) -> NDArray[np.complex128]:
    """Impedance matrix from pressures already solved for."""
    load = loads(operator, omega, air)[0]
    area = effective_areas(operator, omega, air)[0]
    return np.asarray(1j * omega * air.density * (load.T @ snapshot) / np.outer(area, area))
