"""Natural frequencies of closed, lossless cavities, axisymmetric modes.

A cylinder has ``f = c/2π √((j'/a)² + (lπ/L)²)`` with ``j'`` a zero of J0' = −J1; a sphere has
``f = c z/(2π R)`` with ``z`` a zero of the derivative of the spherical Bessel function j_l
(Morse & Ingard, Theoretical Acoustics, 1968).
"""

import numpy as np
from scipy.special import jn_zeros, jnp_zeros, spherical_jn

from borestudy.closed_form.cone import roots


def cylinder_frequency(
    radius: float, length: float, radial: int, axial: int, sound_speed: float
) -> float:
    """Frequency [Hz] of the mode with ``radial`` and ``axial`` nodal surfaces.

    Radius and length are in m, the speed of sound in m/s.
    """
    zero = jn_zeros(1, radial)[-1] if radial else 0.0
    return float(sound_speed / (2 * np.pi) * np.hypot(zero / radius, axial * np.pi / length))


def sphere_frequency(radius: float, order: int, sound_speed: float) -> float:
    """Lowest frequency [Hz] of a sphere's mode of Legendre ``order`` 0 or above."""

    def slope(argument: float) -> float:
        return float(spherical_jn(order, argument, derivative=True))

    first = roots(slope, np.linspace(0.5, order + 6.0, 400))[0]
    return float(sound_speed * first / (2 * np.pi * radius))


def cut_on_frequencies(radius: float, sound_speed: float) -> tuple[float, float]:
    """Cut-on [Hz] of a tube's first non-axisymmetric and first axisymmetric higher mode.

    The radius is in m, the speed of sound in m/s.
    """
    sideways, axisymmetric = jnp_zeros(1, 1)[0], jn_zeros(1, 1)[0]
    scale = sound_speed / (2 * np.pi * radius)
    return float(sideways * scale), float(axisymmetric * scale)
