r"""Wall coefficients: the thin viscous and thermal layers as powers of curvature.

:math:`I_1(z)/I_0(z) = \sum_n c_n z^{-n}`, from the Riccati equation :math:`R' = 1 - R/z - R^2`.
"""

from typing import Literal, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ive

from borestudy.air import Air

Walls = Literal["lossless", "plain", "curved"]
HIGHEST_POWER = 4
#: δ_V κ up to which the truncated expansion is within 1e-3 of the exact tube coefficient
LARGEST_LAYER_TO_RADIUS = 0.3


def check_walls(walls: str) -> None:
    """Raise ValueError unless ``walls`` is one of the wall models."""
    if walls not in get_args(Walls):
        allowed = ", ".join(get_args(Walls))
        raise ValueError(f"walls must be one of {allowed}; found '{walls}' (example: curved)")


def power_count(walls: Walls) -> int:
    """How many powers of curvature a wall model uses."""
    check_walls(walls)
    return {"lossless": 0, "plain": 1, "curved": HIGHEST_POWER + 1}[walls]


def expansion_coefficients(count: int) -> NDArray[np.float64]:
    """First coefficients of I1(z)/I0(z) in powers of 1/z: 1, −1/2, −1/8, −1/8, −25/128, …"""
    coefficients = [1.0, -0.5]
    for m in range(2, count):
        products = sum(coefficients[j] * coefficients[m - j] for j in range(1, m))
        coefficients.append(((m - 2) * coefficients[m - 1] - products) / 2)
    return np.array(coefficients[:count])


def layer_thicknesses(omega: ArrayLike, air: Air) -> tuple[NDArray, NDArray]:
    """Complex widths w = (1 − i)δ/2 of the viscous and the thermal layer [m]."""
    omega = np.asarray(omega)
    diffusivity = air.thermal_conductivity / (air.density * air.specific_heat)
    viscous = (1 - 1j) / 2 * np.sqrt(2 * air.viscosity / (air.density * omega))
    thermal = (1 - 1j) / 2 * np.sqrt(2 * diffusivity / omega)
    return viscous, thermal


def wall_powers(width: NDArray, count: int) -> NDArray[np.complex128]:
    """−w c_n wⁿ for n = 0 … count−1, shape (..., count): the factor of κⁿ in a_V or a_T."""
    powers = np.arange(count)
    return np.asarray(-expansion_coefficients(count) * np.asarray(width)[..., None] ** (powers + 1))


def layer_validity(largest_curvature: float, lowest_frequency: float, air: Air) -> str:
    """``good``, or the word for layers too thick for the narrowest wall."""
    layer = np.sqrt(2 * air.viscosity / (air.density * 2 * np.pi * lowest_frequency))
    if layer * largest_curvature <= LARGEST_LAYER_TO_RADIUS:
        return "good"
    return "wall layer too thick for the expansion at the lowest frequencies"


def truncation_share(walls: Walls, largest_curvature: float, omega: float, air: Air) -> float:
    """What ending the expansion leaves out of the wall coefficient, as a share of it.

    Taken where the wall is most curved; the plain condition ends it after its first term.
    """
    if walls == "lossless":
        return 0.0
    width = complex(layer_thicknesses(omega, air)[0])
    ratio = 1 / (width * largest_curvature)
    powers = np.arange(power_count(walls))
    series = complex(np.sum(expansion_coefficients(len(powers)) * ratio ** (-powers.astype(float))))
    return abs(series / complex(ive(1, ratio) / ive(0, ratio)) - 1)
