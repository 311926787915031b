r"""Lips of one mass on a resonator of one mode: a polynomial of degree four.

Lips with resonance :math:`\omega_l` that the mouth's pressure opens, on a bore with

.. math::
    \ddot p + (\omega_r/Q_r)\dot p + \omega_r^2 p = Z_r(\omega_r/Q_r)\dot u .

At rest the mouth's pressure :math:`P` is all over the lips, whose opening is
:math:`h_s = h_0 + P/(\mu\omega_l^2)`.  With :math:`q = \sqrt{2P/\rho}`, a small oscillation of the
flow is :math:`w q\,\delta h - w h_s/(\rho q)\,\delta p`, so that its exponents s are the roots of

.. math::
    \Big(s^2 + \frac{\omega_l}{Q_l}s + \omega_l^2\Big)
    \Big(s^2 + \frac{\omega_r}{Q_r}\Big(1 + \frac{Z_r w h_s}{\rho q}\Big)s + \omega_r^2\Big)
    + \frac{Z_r\omega_r}{Q_r}\frac{w q}{\mu}s = 0 .

Of :math:`s^4 + c_3 s^3 + c_2 s^2 + c_1 s + c_0` two roots are imaginary where
:math:`c_1 c_2 c_3 = c_1^2 + c_3^2 c_0`, with :math:`\omega^2 = c_1/c_3`.

References
----------
Hurwitz, A. (1895), Math. Ann. 46, 273: conditions for roots with negative real parts.
Silva, F., Kergomard, J. & Vergez, C. (2007): valves that strike outwards on one mode, oscillation
    thresholds (abstract; the polynomial was derived anew).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq, minimize_scalar

Real = NDArray[np.float64]

#: Mouth pressures at which the least one that starts a tone is bracketed [Pa].
PRESSURES: Real = np.geomspace(1.0, 1e6, 241)


@dataclass(frozen=True)
class LipsOnMode:
    """Lips but for their resonance, on one mode.

    Attributes
    ----------
    mass_per_area, lips_quality, width, opening_at_rest : float
        μ [kg/m²], Q_l, w [m], h_0 [m].
    mode_frequency, mode_quality, height : float
        ω_r/2π [Hz], Q_r, Z_r [Pa·s/m³].
    density : float
        ρ [kg/m³].
    """

    mass_per_area: float
    lips_quality: float
    width: float
    opening_at_rest: float
    mode_frequency: float
    mode_quality: float
    height: float
    density: float

    def polynomial(self, mouth_pressure: float, lips_frequency: float) -> Real:
        """Coefficients of the polynomial in s, highest power first, shape (5,)."""
        lips, mode = (2 * np.pi * one for one in (lips_frequency, self.mode_frequency))
        velocity = np.sqrt(2 * mouth_pressure / self.density)
        opening = self.opening_at_rest + mouth_pressure / (self.mass_per_area * lips**2)
        gain = self.height * mode / self.mode_quality
        damping = mode / self.mode_quality + gain * self.width * opening / (self.density * velocity)
        found = np.polymul([1.0, lips / self.lips_quality, lips**2], [1.0, damping, mode**2])
        found[3] += gain * self.width * velocity / self.mass_per_area
        return np.asarray(found, dtype=float)

    def growth(self, mouth_pressure: float, lips_frequency: float) -> complex:
        """The exponent s of greatest real part, with positive imaginary part [1/s]."""
        roots = np.roots(self.polynomial(mouth_pressure, lips_frequency))
        upper = roots[roots.imag > 0]
        return complex(upper[np.argmax(upper.real)])

    def threshold(self, lips_frequency: float) -> float:
        """Least mouth pressure [Pa] from which an oscillation grows; infinite without one."""

        def margin(pressure: float) -> float:
            _, c3, c2, c1, c0 = self.polynomial(pressure, lips_frequency)
            return float(c1 * c2 * c3 - c1**2 - c3**2 * c0)

        margins = np.array([margin(pressure) for pressure in PRESSURES])
        crossed = np.flatnonzero((margins[:-1] > 0) & (margins[1:] <= 0))
        if not len(crossed):
            return np.inf
        low, high = PRESSURES[crossed[0]], PRESSURES[crossed[0] + 1]
        return float(brentq(margin, low, high, xtol=1e-12, rtol=1e-14))

    def sounding_frequency(self, mouth_pressure: float, lips_frequency: float) -> float:
        """Frequency of the oscillation at a threshold [Hz]."""
        found = self.polynomial(mouth_pressure, lips_frequency)
        return float(np.sqrt(found[3] / found[1]) / (2 * np.pi))

    def least_threshold(self) -> tuple[float, float]:
        """The least threshold over the lips' resonance [Pa], and that resonance [Hz]."""
        ends = (0.5 * self.mode_frequency, 1.5 * self.mode_frequency)
        found = minimize_scalar(
            self.threshold, bounds=ends, method="bounded", options={"xatol": 1e-7 * ends[0]}
        )
        return float(found.fun), float(found.x)
