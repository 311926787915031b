r"""Boundary-layer coefficients of the wall: viscous and thermal layers in powers of curvature.

:math:`I_1(z)/I_0(z) = \sum_n c_n z^{-n}`, from the Riccati equation :math:`R' = 1 - R/z - R^2`.
"""

from typing import Literal, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ive

from borestudy.air import Air

Real = NDArray[np.float64]
Complex = NDArray[np.complex128]
Walls = Literal["lossless", "plain", "curved"]
HIGHEST_POWER = 4
#: δ_V κ up to which the truncated expansion is within 1e-3 of the exact tube's coefficient.
LARGEST_LAYER_TO_RADIUS = 0.3


def power_count(walls: Walls) -> int:
    """How many powers of curvature a wall model uses.

    Raises
    ------
    ValueError
        If there is no such wall model.
    """
    if walls not in get_args(Walls):
        allowed = ", ".join(get_args(Walls))
        raise ValueError(f"walls: found {walls!r}; allowed is {allowed}, for example curved")
    return {"lossless": 0, "plain": 1, "curved": HIGHEST_POWER + 1}[walls]


def expansion_coefficients(count: int) -> Real:
    """First coefficients of I1(z)/I0(z) in powers of 1/z: 1, −1/2, −1/8, −1/8, −25/128, …"""
    coefficients = [1.0, -0.5]
    for m in range(2, count):
        products = sum(coefficients[j] * coefficients[m - j] for j in range(1, m))
        coefficients.append(((m - 2) * coefficients[m - 1] - products) / 2)
    return np.array(coefficients[:count])


def layer_thicknesses(omega: ArrayLike, air: Air) -> tuple[NDArray, NDArray]:
    """Complex thicknesses w = (1 − i)δ/2 of the viscous and the thermal layer [m]."""
    omega = np.asarray(omega)
    return (1 - 1j) / 2 * air.viscous_layer(omega), (1 - 1j) / 2 * air.thermal_layer(omega)


def layer_coefficients(thickness: NDArray, count: int) -> Complex:
    """−w c_n wⁿ for n = 0 … count−1, shape (..., count): the factor of κⁿ in a_V or a_T."""
    powers = np.asarray(thickness)[..., None] ** np.arange(1, count + 1)
    return np.asarray(-expansion_coefficients(count) * powers)


def layer_validity(largest_curvature: float, lowest_frequency: float, air: Air) -> str:
    """``good``, or the word for layers too thick for the narrowest wall."""
    layer = air.viscous_layer(2 * np.pi * lowest_frequency)
    if layer * largest_curvature <= LARGEST_LAYER_TO_RADIUS:
        return "good"
    return "wall layer too thick for the expansion at the lowest frequencies"


def truncation_share(walls: Walls, largest_curvature: float, omega: float, air: Air) -> float:
    """What truncating the expansion leaves out of the viscous coefficient, as a share of it.

    The wall is taken where it is most curved; the plain condition has the first term alone.
    """
    if walls == "lossless":
        return 0.0
    ratio = 1 / (complex(layer_thicknesses(omega, air)[0]) * largest_curvature)
    powers = np.arange(power_count(walls))
    series = complex(np.sum(expansion_coefficients(len(powers)) * ratio ** (-powers.astype(float))))
    return abs(series / complex(ive(1, ratio) / ive(0, ratio)) - 1)
