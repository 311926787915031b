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
    impedance_of,
    loads,
    matrices,
    pressures,
    solve_checked,
)
from borestudy.air import Air

logger = logging.getLogger(__name__)

TOLERANCE = 1e-7
LARGEST_SNAPSHOT_COUNT = 40
FIRST_SNAPSHOTS = 5
CANDIDATES = 200
SKETCH = 24
SEED = 20201
HELD_OUT = 2
PASSES = 2
INDEPENDENT = 1e-7
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


def _independent(basis: NDArray[np.float64], snapshot: NDArray[np.complex128]) -> NDArray:
    """Orthonormal directions that the real and imaginary parts of new pressures add to a basis.

    What is smaller than `INDEPENDENT` of a pressure is left out: the impedance's error is the
    square of the pressure's.
    """
    added = np.zeros((len(basis), 0))
    for new in np.hstack([snapshot.real, snapshot.imag]).T:
        size = np.linalg.norm(snapshot)
        vector = new / size if size else new
        for _ in range(2):  # once more, because the first subtraction loses digits
            vector = vector - basis @ (basis.T @ vector)
            vector = vector - added @ (added.T @ vector)
        length = np.linalg.norm(vector)
        if length > INDEPENDENT:
            added = np.column_stack([added, vector / length])
    return added


class _Projection:
    """The operator in a growing basis: only what a new direction adds is computed.

    Galerkin projection with the transpose of a real basis.  Beside it every matrix times the basis
    is kept in a random projection of its rows, which estimates the size of residuals: to about a
    fifth by a few dozen random signs (Johnson & Lindenstrauss), all that a choice of the next
    snapshot needs, and no digits are lost to expanding a square.  Balabanov & Nouy (2019), Adv.
    Comput. Math. 45, 2969 (from memory).
    """

    def __init__(self, operator: AffineOperator, omega: NDArray, air: Air) -> None:
        self.operator, self.omega, self.air = operator, omega, air
        self.sparse = matrices(operator)
        self.basis = np.zeros((operator.unknowns, 0))
        self.dense = np.zeros((len(self.sparse), 0, 0))
        self.signs = np.random.default_rng(SEED).choice([-1.0, 1.0], (operator.unknowns, SKETCH))
        self.sketched = np.zeros((len(self.sparse), SKETCH, 0))
        self.factors = factors(operator, omega, air)
        ports = [_project_port(port, self.signs) for port in operator.ports]
        self.load = loads(replace(operator, ports=(ports[0], ports[1])), omega, air)

    def add(self, snapshot: NDArray[np.complex128]) -> None:
        """Enlarge the basis by new pressures, shape (n, 2)."""
        added = _independent(self.basis, snapshot)
        products = [matrix @ added for matrix in self.sparse]
        sketched = np.stack([self.signs.T @ product for product in products])
        self.sketched = np.concatenate([self.sketched, sketched], axis=2)
        old, count = self.basis.shape[1], added.shape[1]
        self.basis = np.column_stack([self.basis, added])
        dense = np.zeros((len(products), old + count, old + count))
        dense[:, :old, :old] = self.dense
        for matrix, product in zip(dense, products, strict=True):
            new = self.basis.T @ product
            matrix[:, old:], matrix[old:] = new, new.T
            corner = new[old:]
            matrix[old:, old:] = (corner + corner.T) / 2
        self.dense = dense

    def reduced(self) -> AffineOperator:
        """The small dense operator."""
        count, ports = len(self.operator.viscous), self.operator.ports
        return replace(
            self.operator,
            stiffness=self.dense[0],
            mass=self.dense[1],
            viscous=tuple(self.dense[2 : 2 + count]),
            thermal=tuple(self.dense[2 + count :]),
            ports=(_project_port(ports[0], self.basis), _project_port(ports[1], self.basis)),
        )

    def residual(self, driven: NDArray[np.complex128]) -> NDArray[np.float64]:
        """Size of either drive's residual at every candidate, shape (n_frequencies, 2)."""
        coefficients = np.moveaxis(driven, 1, 0).reshape(driven.shape[1], -1)
        applied = np.zeros_like(self.load)
        for index, sketched in enumerate(self.sketched):
            parts = (sketched @ coefficients).reshape(SKETCH, len(self.omega), 2)
            applied += self.factors[:, index, None, None] * np.swapaxes(parts, 0, 1)
        return np.asarray(np.linalg.norm(self.load - applied, axis=1))


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
    projection = _Projection(operator, omega, air)
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

    reduced = projection.reduced()
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
    return (operator if failed else reduced), reduction, projection.basis


def _candidates(lowest: float, highest: float) -> NDArray[np.float64]:
    """Frequencies dense enough for the slow change at the low end and the dips at the high one."""
    half = CANDIDATES // 2
    return np.unique(
        np.append(np.geomspace(lowest, highest, half), np.linspace(lowest, highest, half))
    )
