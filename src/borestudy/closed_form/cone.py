r"""Spherical waves in a cone.

With :math:`x` the distance from the apex, :math:`(xp)'' = \Gamma^2 (xp)`.  Without losses the
truncated cone from :math:`x_1` to :math:`x_2 = x_1 + L` resonates where (Pierce, Acoustics, 1981)

* closed, closed: :math:`\tan kL = kL/(1 + k^2 x_1 x_2)`
* closed at :math:`x_1`, pressure node at :math:`x_2`: :math:`\tan kL = -k x_1`
* pressure node at :math:`x_1`, closed at :math:`x_2`: :math:`\tan kL = k x_2`
* pressure node at both: :math:`kL = n\pi`

when its end faces are spherical caps about the apex.  Losses are those of the tube of the local
radius, constant over each of many short slices.
"""

from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq

from borestudy.air import Air
from borestudy.closed_form.tube import Complex, transfer_matrix, wall_functions

Ends = Literal["closed-closed", "closed-open", "open-closed", "open-open"]
SMALLEST_SLOPE = 1e-9
RATIO_PER_SLICE = 1.02


def _characteristic(wavenumber: float, first: float, length: float, ends: Ends) -> float:
    """The resonance condition multiplied by cos kL, so that it has no poles."""
    second, argument = first + length, wavenumber * length
    sine, cosine = np.sin(argument), np.cos(argument)
    if ends == "closed-closed":
        return float(sine * (1 + wavenumber**2 * first * second) - argument * cosine)
    if ends == "closed-open":
        return float(sine + wavenumber * first * cosine)
    if ends == "open-closed":
        return float(sine - wavenumber * second * cosine)
    return float(sine)


def resonances(
    first_radius: float,
    last_radius: float,
    length: float,
    sound_speed: float,
    ends: Ends,
    count: int = 2,
) -> NDArray[np.float64]:
    """Lowest lossless resonances [Hz] of a cone measured along its axis.

    Parameters
    ----------
    first_radius, last_radius, length : float [m]
        The first radius is the smaller one; ``length`` between the sections on the axis.
    sound_speed : float [m/s]
        Of the air in the cone.
    ends : str
        "closed-closed", "closed-open", "open-closed" or "open-open", the narrow end first.
    count : int
        How many.

    Returns
    -------
    ndarray, shape (count,)
    """
    apex = first_radius * length / (last_radius - first_radius)
    roots: list[float] = []
    grid = np.arange(1, 200 * (count + 2)) * np.pi / length / 150
    values = [_characteristic(k, apex, length, ends) for k in grid]
    for index in range(len(grid) - 1):
        if values[index] * values[index + 1] < 0:
            wavenumber = brentq(
                _characteristic, grid[index], grid[index + 1], args=(apex, length, ends), xtol=1e-12
            )
            roots.append(wavenumber * sound_speed / (2 * np.pi))
    return np.array(roots[:count])


def plane_face_stretch(first_radius: float, last_radius: float, length: float) -> float:
    """How much longer a cone with *plane* end faces is to its waves than along its axis.

    A plane face at axial distance x lies at x/cos φ from the apex; its mean over the face is
    x (1 + θ²/4 + O(θ⁴)) with θ the half angle, at both ends alike, so that resonances are those
    of a cone with caps divided by this factor.
    """
    angle = np.arctan2(abs(last_radius - first_radius), length)
    return float(1 + angle**2 / 4)


def transfer_matrix_slice(
    first_radius: float,
    last_radius: float,
    length: float,
    omega: ArrayLike,
    air: Air,
    lossless: bool = False,
) -> Complex:
    """Chain matrix of one cone with the losses of its mean radius, shape (n_frequencies, 2, 2).

    Either end may be the wider one; flows are through the plane sections π r².
    """
    slope = (last_radius - first_radius) / length
    if abs(slope) < SMALLEST_SLOPE:
        return transfer_matrix((first_radius + last_radius) / 2, length, omega, air, lossless)
    omega = np.atleast_1d(omega)
    mean = (first_radius + last_radius) / 2
    viscous, thermal = (0.0, 0.0) if lossless else wall_functions(mean, omega, air)
    inertia = 1j * omega * air.density / (1 - np.asarray(viscous))
    compliance = 1 + (air.heat_capacity_ratio - 1) * np.asarray(thermal)
    stiffness = air.density * air.sound_speed**2
    gamma = np.sqrt(inertia) * np.sqrt(1j * omega * compliance / stiffness)
    x1, x2 = first_radius / slope, last_radius / slope  # negative where the cone narrows
    series1 = inertia / (np.pi * first_radius**2)
    series2 = inertia / (np.pi * last_radius**2)
    sinh, cosh = np.sinh(gamma * length), np.cosh(gamma * length)
    matrix = np.empty((len(omega), 2, 2), dtype=complex)
    matrix[:, 0, 0] = (x2 * cosh - sinh / gamma) / x1
    matrix[:, 0, 1] = x2 * series2 * sinh / (gamma * x1)
    matrix[:, 1, 0] = (matrix[:, 0, 0] + x2 * gamma * sinh - cosh) / (x1 * series1)
    matrix[:, 1, 1] = (matrix[:, 0, 1] + x2 * series2 * cosh) / (x1 * series1)
    return matrix


def cone_transfer_matrix(
    first_radius: float,
    last_radius: float,
    length: float,
    omega: ArrayLike,
    air: Air,
    lossless: bool = False,
    ratio_per_slice: float = RATIO_PER_SLICE,
) -> Complex:
    """Chain matrix of a cone, sliced so finely that the losses follow the local radius.

    Parameters
    ----------
    first_radius : float [m]
        Where the wave comes in; the narrower or the wider end.
    last_radius : float [m]
        Where it leaves.
    length : float [m]
        Along the axis.
    omega : array_like, shape (n_frequencies,) [rad/s]
        Angular frequencies.
    air : Air
        In the cone.
    lossless : bool
        Leave out the wall losses.
    ratio_per_slice : float
        Largest ratio of the two radii of one slice.

    Returns
    -------
    ndarray, shape (n_frequencies, 2, 2)
    """
    ratio = abs(np.log(last_radius / first_radius))
    slices = 1 if lossless else max(1, int(np.ceil(ratio / np.log(ratio_per_slice))))
    radii = np.geomspace(first_radius, last_radius, slices + 1)
    matrix: Complex | None = None
    for start, end in pairwise(radii):
        part = length * (end - start) / (last_radius - first_radius) if slices > 1 else length
        piece = transfer_matrix_slice(start, end, part, omega, air, lossless)
        matrix = piece if matrix is None else matrix @ piece
    assert matrix is not None
    return matrix
