r"""The Spalart–Allmaras model point by point: eddy viscosity, production, destruction, diffusion.

The working variable is :math:`\chi = \tilde\nu/\nu`.  With lengths in throat diameters, velocities
in throat mean velocities, :math:`d` the distance to the nearest wall and :math:`\Omega` the
magnitude of the vorticity,

.. math::
   u\cdot\nabla\chi = c_{b1}\tilde S\chi - \frac{c_{w1} f_w}{Re}\frac{\chi^2}{d^2}
   + \frac{1}{\sigma Re}\big[\nabla\cdot((1+\chi)\nabla\chi) + c_{b2}|\nabla\chi|^2\big],
   \qquad \frac{\nu_t}{\nu} = \chi f_{v1}.

Where :math:`\chi < 0`, which happens on the way to a solution and at the outer edge of a layer on a
coarse mesh, production, destruction and diffusion are those of the negative model, and
:math:`\nu_t = 0`.

Every function here but the last also takes complex arrays and branches on their real part alone, so
that a derivative is the imaginary part of a complex step (Squire & Trapp 1998, SIAM Rev. 40, 110).

References
----------
Spalart, P. R. & Allmaras, S. R. (1994), La Recherche Aérospatiale 1, 5.
Allmaras, S. R., Johnson, F. T. & Spalart, P. R. (2012), ICCFD7-1902: the modified vorticity that
cannot become negative, and the model for a negative working variable.
Constants and both papers' equations as NASA's Turbulence Modeling Resource repeats them.
"""

import numpy as np
from numpy.typing import NDArray

from borestudy.fem import Floats

KAPPA = 0.41
SIGMA = 2 / 3
CB1, CB2 = 0.1355, 0.622
CW1 = CB1 / KAPPA**2 + (1 + CB2) / SIGMA
CW2, CW3 = 0.3, 2.0
CV1 = 7.1
#: Where the modified vorticity leaves its first form (1994), and its second form's shape (2012).
C2, C3 = 0.7, 0.9
#: Of the negative model.
CT3, CN1 = 1.2, 16.0
#: The argument of the destruction function is cut here (1994).
GREATEST_R = 10.0
TINY = 1e-300


def eddy_viscosity(chi: NDArray) -> NDArray:
    """Eddy viscosity over the fluid's own."""
    positive = np.where(chi.real > 0, chi, 0)
    cubed = positive * positive * positive
    return cubed * positive / (cubed + CV1**3)


def diffusivity(chi: NDArray) -> NDArray:
    """Diffusivity of the working variable over ν/σ: 1 + χ, and positive for a negative χ."""
    negative = np.where(chi.real < 0, chi, 0)
    cubed = negative * negative * negative
    return 1 + chi * (CN1 + cubed) / (CN1 - cubed)


def modified_vorticity(chi: NDArray, vorticity: NDArray, scale: NDArray) -> NDArray:
    """Vorticity with the near-wall term, kept positive as in Allmaras et al. (2012), eq. 12.

    `vorticity` is the vorticity's magnitude, `scale` Re κ² d².
    """
    cubed = chi * chi * chi
    near_wall = chi / scale * (1 - chi / (1 + chi * cubed / (cubed + CV1**3)))
    plain = near_wall.real >= -C2 * vorticity.real
    below = (C3 - 2 * C2) * vorticity - near_wall
    bounded = vorticity * (C2**2 * vorticity + C3 * near_wall) / np.where(plain, 1, below)
    return vorticity + np.where(plain, near_wall, bounded)


def wall_function(chi: NDArray, shear: NDArray, scale: NDArray) -> NDArray:
    """The destruction function f_w."""
    whole = shear * scale
    beyond = chi.real >= GREATEST_R * whole.real
    ratio = np.where(beyond, GREATEST_R, chi / np.where(beyond, 1, whole))
    squared = ratio * ratio
    g = ratio + CW2 * (squared * squared * squared - ratio)
    squared = g * g
    return g * ((1 + CW3**6) / (squared * squared * squared + CW3**6)) ** (1 / 6)


def source(
    chi: NDArray,
    vorticity: NDArray,
    distance: Floats,
    reynolds: complex,
    produced: NDArray | float = 1.0,
) -> NDArray:
    """Destruction less a share of the production; the scaled wall distance is above zero."""
    scale = reynolds * (KAPPA * distance) ** 2
    positive = np.where(chi.real > 0, chi, 0)
    shear = modified_vorticity(positive, vorticity, scale)
    decay = CW1 / reynolds * (chi / distance) ** 2
    turbulent = wall_function(positive, shear, scale) * decay - produced * CB1 * shear * positive
    negative = -decay - produced * CB1 * (1 - CT3) * vorticity * chi
    return np.where(chi.real >= 0, turbulent, negative)


def source_slopes(
    chi: Floats,
    vorticity: Floats,
    distance: Floats,
    reynolds: float,
    produced: Floats | float = 1.0,
) -> tuple[Floats, Floats, Floats]:
    """`source` of real arrays, and its derivatives by the working variable and the vorticity."""
    scale = reynolds * (KAPPA * distance) ** 2
    alive = chi > 0
    positive = np.where(alive, chi, 0)
    squared = positive * positive
    lasting, constant = squared * positive, CV1**3
    share = lasting / (lasting + constant)
    share_slope = 3 * squared * constant / (lasting + constant) ** 2
    below = 1 + positive * share
    near_wall = positive / scale * (1 - positive / below)
    near_slope = (1 - positive / below - positive * (1 - squared * share_slope) / below**2) / scale

    plain = near_wall >= -C2 * vorticity
    reach = np.where(plain, 1, (C3 - 2 * C2) * vorticity - near_wall)
    above = C2**2 * vorticity + C3 * near_wall
    shear = vorticity + np.where(plain, near_wall, vorticity * above / reach)
    by_near = np.where(plain, 1, vorticity * (C3 * reach + above) / reach**2)
    turning = (above + C2**2 * vorticity) / reach - vorticity * above * (C3 - 2 * C2) / reach**2
    shear_by_vorticity = 1 + np.where(plain, 0, turning)
    shear_by_chi = by_near * near_slope * alive

    whole = shear * scale
    beyond = positive >= GREATEST_R * whole
    whole, shear_inside = np.where(beyond, 1, whole), np.where(beyond, 1, shear)
    ratio = np.where(beyond, GREATEST_R, positive / whole)
    fifth = (ratio * ratio) ** 2 * ratio
    g, g_slope = ratio + CW2 * (fifth * ratio - ratio), 1 + CW2 * (6 * fifth - 1)
    sixth = (g * g) ** 3 + CW3**6
    factor = ((1 + CW3**6) / sixth) ** (1 / 6)
    by_ratio = np.where(beyond, 0, factor * CW3**6 / sixth * g_slope)
    ratio_by_chi = alive / whole - ratio / shear_inside * shear_by_chi
    ratio_by_vorticity = -ratio / shear_inside * shear_by_vorticity

    rate = CW1 / (reynolds * distance**2)
    decay, fall, made = rate * chi * chi, 2 * rate * chi, produced * CB1
    inverse = made * (1 - CT3)
    turbulent = chi >= 0
    return (
        np.where(turbulent, g * factor * decay - made * shear * positive,
                 -decay - inverse * vorticity * chi),
        np.where(turbulent, by_ratio * ratio_by_chi * decay + g * factor * fall
                 - made * (shear * alive + shear_by_chi * positive),
                 -fall - inverse * vorticity),
        np.where(turbulent, by_ratio * ratio_by_vorticity * decay
                 - made * shear_by_vorticity * positive,
                 -inverse * chi),
    )  # fmt: skip
