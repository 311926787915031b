"""The operator and the two ports as matrices times functions of frequency.

The same arithmetic serves the sparse matrices of a mesh and the small dense ones of a reduced
basis: geometry is in the matrices, air and frequency are in the factors.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.sparse import issparse

from borestudy.acoustics.walls import Complex, Real, Walls, layer_coefficients, layer_thicknesses
from borestudy.air import Air
from borestudy.fem.sparse import factorise_symmetric

AT_ONCE = 250
Matrix = Any  # scipy sparse matrix, or ndarray of a reduced basis


@dataclass(frozen=True)
class Port:
    """A plane (or cap) through which the bore is driven or goes on: area [m²], radius [m]."""

    area: float
    edge_radius: float
    #: κ of the wall where it meets the port [1/m].
    edge_curvature: float
    #: 2πa/(t·n) [m], with the cosine between the wall's direction and the port's normal.
    edge_weight: float
    #: 2π∫q r ds, and the edge's weight times q(edge), each of shape (n,).
    surface: Real
    edge: Real


@dataclass(frozen=True)
class AffineOperator:
    """All that frequency multiplies; see :mod:`borestudy.acoustics` for the terms."""

    #: Stiffness, mass, then viscous and thermal wall, each for every power of curvature; real,
    #: symmetric, of shape (n, n).
    matrices: tuple[Matrix, ...]
    #: Rim plane and shank end.
    ports: tuple[Port, ...]
    walls: Walls
    #: Greatest curvature of the wall [1/m].
    largest_curvature: float

    @property
    def unknowns(self) -> int:
        return int(self.matrices[0].shape[0])

    @property
    def powers(self) -> int:
        """How many powers of curvature either wall has."""
        return (len(self.matrices) - 2) // 2


def factors(operator: AffineOperator, omega: ArrayLike, air: Air) -> Complex:
    """What multiplies each matrix, shape (n_frequencies, n_matrices)."""
    omega = np.atleast_1d(omega)
    count = operator.powers
    wavenumber_squared = (omega / air.sound_speed) ** 2
    viscous, thermal = layer_thicknesses(omega, air)
    heat = (air.heat_capacity_ratio - 1) * wavenumber_squared[:, None]
    walls = [layer_coefficients(viscous, count), heat * layer_coefficients(thermal, count)]
    return np.column_stack([np.ones_like(omega), -wavenumber_squared, *walls]).astype(complex)


def edge_factors(operator: AffineOperator, omega: ArrayLike, air: Air) -> Complex:
    """a_V at the edge of each port [m], shape (n_frequencies, 2)."""
    thickness, _ = layer_thicknesses(np.atleast_1d(omega), air)
    powers = layer_coefficients(thickness, operator.powers)
    curvatures = np.array([port.edge_curvature for port in operator.ports])
    return np.asarray(powers @ curvatures[None, :] ** np.arange(powers.shape[-1])[:, None])


def loads(operator: AffineOperator, omega: ArrayLike, air: Air) -> Complex:
    """Loads of unit normal derivative on either port, shape (n_frequencies, n, 2)."""
    edge = edge_factors(operator, omega, air)
    surface = np.column_stack([port.surface for port in operator.ports])
    edges = np.column_stack([port.edge for port in operator.ports])
    return np.asarray(surface[None] + edge[:, None, :] * edges[None])


def effective_areas(operator: AffineOperator, omega: ArrayLike, air: Air) -> Complex:
    """S + 2πa a_V/(t·n) of either port [m²], shape (n_frequencies, 2)."""
    edge = edge_factors(operator, omega, air)
    area = np.array([port.area for port in operator.ports])
    return np.asarray(area + edge * np.array([port.edge_weight for port in operator.ports]))


def assemble_at(operator: AffineOperator, omega: complex, air: Air) -> Matrix:
    """The complex symmetric matrix at one angular frequency, shape (n, n)."""
    terms = zip(factors(operator, omega, air)[0], operator.matrices, strict=True)
    return sum(factor * matrix for factor, matrix in terms)


def solve_at_frequency(operator: AffineOperator, omega: complex, air: Air) -> tuple[Complex, float]:
    """Pressures driven by unit normal derivative on either port, shape (n, 2), and ‖Ax − b‖/‖b‖."""
    matrix = assemble_at(operator, omega, air)
    load = loads(operator, omega, air)[0]
    if issparse(matrix):
        driven = factorise_symmetric(matrix)(load)
    else:
        driven = np.asarray(np.linalg.solve(matrix, load))
    return driven, float(np.linalg.norm(matrix @ driven - load) / np.linalg.norm(load))


def pressures(operator: AffineOperator, omega: ArrayLike, air: Air) -> Complex:
    """:func:`solve_at_frequency` for every frequency, shape (n_frequencies, n, 2)."""
    omega = np.atleast_1d(omega)
    if issparse(operator.matrices[0]):
        return np.stack([solve_at_frequency(operator, value, air)[0] for value in omega])
    # a few hundred small matrices at a time stay near the processor
    parts = [omega[first : first + AT_ONCE] for first in range(0, len(omega), AT_ONCE)]
    return np.concatenate([_solve_dense(operator, part, air) for part in parts])


def _solve_dense(operator: AffineOperator, omega: NDArray, air: Air) -> Complex:
    stack = np.stack(operator.matrices)
    terms, factor = stack.reshape(len(stack), -1), factors(operator, omega, air)
    matrix = np.empty((len(omega), terms.shape[1]), dtype=complex)
    # the matrices are real: two real products take half the time of a complex one
    matrix.real, matrix.imag = factor.real @ terms, factor.imag @ terms
    matrix = matrix.reshape(len(omega), *stack.shape[1:])
    return np.asarray(np.linalg.solve(matrix, loads(operator, omega, air)))


def impedance_matrix(operator: AffineOperator, omega: ArrayLike, air: Air) -> Complex:
    """Two-port impedance matrix, both flows into the bore [Pa·s/m³], (n_frequencies, 2, 2).

    ``Z_ij = iωρ b_iᵀ A⁻¹ b_j / (S_i S_j)`` with the transpose, not the adjoint: the matrix is
    complex symmetric, and the error of Z is then quadratic in that of the pressure.
    """
    return impedance_of(operator, omega, air, pressures(operator, omega, air))


def impedance_of(operator: AffineOperator, omega: ArrayLike, air: Air, driven: Complex) -> Complex:
    """:func:`impedance_matrix` from pressures already solved for, shape (n_frequencies, n, 2)."""
    omega = np.atleast_1d(omega)
    area = effective_areas(operator, omega, air)
    response = np.swapaxes(loads(operator, omega, air), 1, 2) @ driven
    scale = 1j * omega[:, None, None] * air.density
    return np.asarray(scale * response / (area[:, :, None] * area[:, None, :]))
