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

from collections.abc import Callable
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq

from borestudy.air import Air
from borestudy.closed_form import tube
from borestudy.closed_form.tube import Complex, two_by_two

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
    return float(sine - wavenumber * second * cosine if ends == "open-closed" else sine)


def resonances(
    first_radius: float,
    last_radius: float,
    length: float,
    sound_speed: float,
    ends: Ends,
    count: int = 2,
) -> NDArray[np.float64]:
    """Lowest lossless resonances of a cone measured along its axis.

    Parameters
    ----------
    first_radius, last_radius, length : float
        Smaller and greater radius, and distance between the two sections on the axis [m].
    sound_speed : float
        Speed of sound in the cone [m/s].
    ends : {"closed-closed", "closed-open", "open-closed", "open-open"}
        Both ends, the narrow one first.
    count : int
        Number of resonances.

    Returns
    -------
    ndarray, shape (count,)
        Frequencies [Hz].
    """
    apex = first_radius * length / (last_radius - first_radius)
    grid = np.arange(1, 200 * (count + 2)) * np.pi / length / 150
    wavenumbers = roots(lambda k: _characteristic(k, apex, length, ends), grid)
    return wavenumbers[:count] * sound_speed / (2 * np.pi)


def roots(function: Callable[[float], float], grid: NDArray[np.float64]) -> NDArray[np.float64]:
    """Zeros of a function between neighbours on a grid where its sign changes."""
    values = np.array([function(place) for place in grid])
    changes = np.flatnonzero(values[:-1] * values[1:] < 0)
    return np.array([brentq(function, grid[i], grid[i + 1], xtol=1e-12) for i in changes])


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
        return tube.transfer_matrix((first_radius + last_radius) / 2, length, omega, air, lossless)
    omega = np.atleast_1d(omega)
    mean = (first_radius + last_radius) / 2
    series, _ = tube.line_constants(mean, omega, air, lossless)
    gamma = tube.propagation_constant(mean, omega, air, lossless)
    first, last = ((mean / radius) ** 2 * series for radius in (first_radius, last_radius))
    x1, x2 = first_radius / slope, last_radius / slope  # negative where the cone narrows
    sinh, cosh = np.sinh(gamma * length), np.cosh(gamma * length)
    a, b = (x2 * cosh - sinh / gamma) / x1, x2 * last * sinh / (gamma * x1)
    c, d = a + x2 * gamma * sinh - cosh, b + x2 * last * cosh
    return two_by_two(a, b, c / (x1 * first), d / (x1 * first))


def cone_transfer_matrix(
    first_radius: float,
    last_radius: float,
    length: float,
    omega: ArrayLike,
    air: Air,
    lossless: bool = False,
    ratio_per_slice: float = RATIO_PER_SLICE,
) -> Complex:
    """Chain matrix, shape (n_frequencies, 2, 2), of a cone sliced so finely that losses follow it.

    Parameters
    ----------
    first_radius, last_radius, length : float
        Radii where the wave comes in and where it leaves, of which either may be the smaller one,
        and length along the axis [m].
    omega : array_like, shape (n_frequencies,)
        Angular frequencies [rad/s].
    air, lossless
        Its air, and whether to leave out the wall losses.
    ratio_per_slice : float
        Largest ratio of the two radii of one slice.
    """
    ratio = abs(np.log(last_radius / first_radius))
    slices = 1 if lossless else max(1, int(np.ceil(ratio / np.log(ratio_per_slice))))
    radii = np.geomspace(first_radius, last_radius, slices + 1)
    matrix = np.eye(2, dtype=complex)
    for start, end in pairwise(radii):
        part = length * (end - start) / (last_radius - first_radius) if slices > 1 else length
        matrix = matrix @ transfer_matrix_slice(start, end, part, omega, air, lossless)
    return matrix
