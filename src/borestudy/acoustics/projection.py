"""The affine operator in a basis that grows, and the size of what it leaves unsolved."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from borestudy.acoustics.operator import AffineOperator, Port, factors, loads, solve_at_frequency
from borestudy.acoustics.walls import Complex, Real
from borestudy.air import Air

SKETCH = 24
SEED = 20201
#: Smaller shares of a pressure are taken for rounding.
INDEPENDENT = 1e-10


def projected(operator: AffineOperator, basis: NDArray) -> AffineOperator:
    """A small dense operator in a smaller real basis, with the transpose."""
    products = (basis.T @ matrix @ basis for matrix in operator.matrices)
    matrices = tuple(np.asarray((dense + dense.T) / 2) for dense in products)
    return replace(operator, matrices=matrices, ports=_ports(operator, basis))


def _ports(operator: AffineOperator, basis: NDArray) -> tuple[Port, ...]:
    return tuple(
        replace(port, surface=basis.T @ port.surface, edge=basis.T @ port.edge)
        for port in operator.ports
    )


def _independent(basis: Real, snapshot: Complex) -> Real:
    """Orthonormal directions that the real and imaginary parts of new pressures add to a basis."""
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


class Projection:
    """The operator in a growing basis: only what a new direction adds is computed.

    Galerkin projection with the transpose of a real basis.  Beside it every matrix times the basis
    is kept in a random projection of its rows, which estimates the size of residuals: to about a
    fifth by a few dozen random signs (Johnson & Lindenstrauss), all that a choice of the next
    snapshot needs, and no digits are lost to expanding a square.  Balabanov & Nouy (2019), Adv.
    Comput. Math. 45, 2969 (from memory).
    """

    def __init__(self, operator: AffineOperator, omega: NDArray, air: Air) -> None:
        self.operator, self.omega, self.air = operator, omega, air
        self.basis = np.zeros((operator.unknowns, 0))
        self.dense = np.zeros((len(operator.matrices), 0, 0))
        self.signs = np.random.default_rng(SEED).choice([-1.0, 1.0], (operator.unknowns, SKETCH))
        self.sketched = np.zeros((len(operator.matrices), SKETCH, 0))
        self.factors = factors(operator, omega, air)
        self.load = loads(replace(operator, ports=_ports(operator, self.signs)), omega, air)

    def solve(self, index: int) -> tuple[Complex, float]:
        """Enlarge the basis by what is new in `solve_at_frequency` at a candidate."""
        snapshot, left = solve_at_frequency(self.operator, self.omega[index], self.air)
        added = _independent(self.basis, snapshot)
        products = [matrix @ added for matrix in self.operator.matrices]
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
        return snapshot, left

    def reduced(self) -> AffineOperator:
        """The small dense operator."""
        ports = _ports(self.operator, self.basis)
        return replace(self.operator, matrices=tuple(self.dense), ports=ports)

    def residual(self, driven: Complex) -> Real:
        """Size of either drive's residual at every candidate, shape (n_frequencies, 2)."""
        coefficients = np.moveaxis(driven, 1, 0).reshape(driven.shape[1], -1)
        applied = np.zeros_like(self.load)
        for index, sketched in enumerate(self.sketched):
            parts = (sketched @ coefficients).reshape(SKETCH, len(self.omega), 2)
            applied += self.factors[:, index, None, None] * np.swapaxes(parts, 0, 1)
        return np.asarray(np.linalg.norm(self.load - applied, axis=1))
