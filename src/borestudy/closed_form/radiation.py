r"""Radiation from the open end of a round tube, without and with an infinite flange.

Unflanged, below the first axisymmetric higher mode (:math:`ka < 3.83`), Levine & Schwinger's
integrals, evaluated by quadrature:

.. math::
    |R| = \exp\Big[-\frac{2ka}{\pi}\int_0^{ka}\frac{\arctan(-J_1/N_1)}{x\sqrt{(ka)^2-x^2}}dx\Big],
    \quad
    \frac{l}{a} = \frac1\pi\int_0^{ka}\frac{\ln[\pi J_1\sqrt{J_1^2+N_1^2}]}{x\sqrt{(ka)^2-x^2}}dx
      + \frac1\pi\int_0^\infty\frac{-\ln[2 I_1 K_1]}{x\sqrt{x^2+(ka)^2}}dx .

Flanged: the pressures of the tube's modes and of the half space (Rayleigh's integral in
wavenumbers) are matched over the opening in functions that carry the edge's singularity
(:mod:`borestudy.closed_form.area_step`), which is exact as their number grows.

With :math:`R = -|R| e^{-2ikl}` the impedance is :math:`Z = (\rho c/S)(1+R)/(1-R)`.

References
----------
Levine, H. & Schwinger, J. (1948), Phys. Rev. 73, 383 (integrals from memory, checked by value).
Norris, A. N. & Sheng, I. C. (1989), J. Sound Vib. 135, 85 (flanged problem; method is ours).
"""

from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import CubicSpline
from scipy.special import gamma, ive, j1, kve, y1

from borestudy.air import Air
from borestudy.closed_form import area_step as edge

Flange = Literal["unflanged", "flanged"]
HIGHEST_KA = 3.8
TABLE_POINTS = 97
FARTHEST_WAVENUMBER = 150.0


def unflanged_end(ka: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Magnitude |R| and length l/a of an unflanged end at every ``ka`` in (0, 3.83)."""
    ka = np.atleast_1d(np.asarray(ka, dtype=float))[:, None]
    nodes, weights = np.polynomial.legendre.leggauss(120)
    angle, weight = (nodes + 1) * np.pi / 4, weights * np.pi / 4
    x = ka * np.sin(angle)
    phase = np.arctan(-j1(x) / y1(x))  # rises from 0 to π/2 where N1 = 0, then goes on
    phase = np.where(phase < 0, phase + np.pi, phase)
    magnitude = np.exp(-2 * ka[:, 0] / np.pi * ((phase / x) @ weight))
    near = (np.log(np.pi * j1(x) * np.hypot(j1(x), y1(x))) / x) @ weight / np.pi
    # x = exp(t): the integrand dies off exponentially both ways, the trapezoid rule is spectral
    t = np.linspace(-18.0, 36.0, 1081)
    far_x = np.exp(t)
    product = np.where(far_x < 1e4, 2 * ive(1, far_x) * kve(1, far_x), 1 / far_x)
    far = -np.log(product) / np.sqrt(far_x**2 + ka**2)
    return magnitude, near + far.sum(axis=1) * (t[1] - t[0]) / np.pi


def _static_kernel() -> NDArray[np.float64]:
    """∫₀^∞ of products of edge transforms: the critical Weber–Schafheitlin integral."""
    p = edge.EDGE_EXPONENTS[:, None] + 1
    q = edge.EDGE_EXPONENTS[None, :] + 1
    integral = np.sqrt(np.pi) * gamma(p + q) / (gamma(q + 0.5) * gamma(p + 0.5))
    return np.asarray(integral * gamma(p) * gamma(q) / (4 * gamma(p + q + 0.5)))


def _half_space_kernel(ka: float) -> NDArray[np.complex128]:
    """Pressure over the opening of the half space, in units of iωρ."""
    nodes, weights = np.polynomial.legendre.leggauss(200)
    angle, weight = (nodes + 1) * np.pi / 4, weights * np.pi / 4
    radiated = edge.edge_transform(ka * np.sin(angle))
    kernel = _static_kernel().astype(complex)
    # propagating waves, less the static part over the same wavenumbers
    factor = ka * (-1j * np.sin(angle) - np.cos(angle)) * weight
    kernel += (radiated * factor) @ radiated.T
    # evanescent waves, wavenumber ka cosh u: (τ/√(τ²−k²) − 1) dτ = k exp(−u) du
    last = np.arccosh(FARTHEST_WAVENUMBER / ka)
    u, weight = (nodes + 1) * last / 2, weights * last / 2
    stored = edge.edge_transform(ka * np.cosh(u))
    return np.asarray(kernel + (stored * (ka * np.exp(-u) * weight)) @ stored.T)


def flanged_end(ka: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Magnitude |R| and length l/a of an end in an infinite plane, at ``ka`` in (0, 3.83)."""
    wavenumbers = np.atleast_1d(np.asarray(ka, dtype=float))
    means = edge.edge_means()
    impedance = np.empty(len(wavenumbers), dtype=complex)
    for index, wavenumber in enumerate(wavenumbers):
        kernel = edge.evanescent_kernel(wavenumber=wavenumber) + _half_space_kernel(wavenumber)
        impedance[index] = 1j * wavenumber / (2 * means @ np.linalg.solve(kernel, means))
    reflection = (impedance - 1) / (impedance + 1)
    length = np.angle(-1 / reflection) / (2 * wavenumbers)
    return np.abs(reflection), length


@lru_cache(maxsize=2)
def _table(flange: Flange) -> CubicSpline:
    """−ln|R|/(ka)² and l/a against ka; both are smooth, so that a spline loses nothing."""
    ka = np.linspace(0.01, 3.82, TABLE_POINTS)
    magnitude, length = unflanged_end(ka) if flange == "unflanged" else flanged_end(ka)
    return CubicSpline(ka, np.column_stack([-np.log(magnitude) / ka**2, length]))


def reflection(ka: ArrayLike, flange: Flange) -> NDArray[np.complex128]:
    """Pressure reflection of the open end; above ``HIGHEST_KA`` that of ``HIGHEST_KA``."""
    clipped = np.clip(np.asarray(ka, dtype=float), 1e-6, HIGHEST_KA)
    values = _table(flange)(clipped)
    damping, length = values[..., 0], values[..., 1]
    return np.asarray(-np.exp(-damping * clipped**2 - 2j * clipped * length))


def radiation_impedance(
    radius: float, omega: ArrayLike, air: Air, flange: Flange
) -> NDArray[np.complex128]:
    """Impedance p/U of the open end [Pa·s/m³] for plane waves, good up to ``ka`` = 3.8.

    Parameters
    ----------
    radius : float
        Radius of the mouth [m].
    omega : array_like
        Real angular frequencies [rad/s].
    air : Air
        The air inside and outside.
    flange : {"unflanged", "flanged"}
        Surroundings of the mouth.
    """
    wave = reflection(np.asarray(omega) * radius / air.sound_speed, flange)
    plane = air.density * air.sound_speed / (np.pi * radius**2)
    return np.asarray(plane * (1 + wave) / (1 - wave))
