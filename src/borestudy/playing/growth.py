r"""Growth of small oscillations about the steady state of lips on a bore.

About the steady state with drop :math:`P`, opening :math:`h_s` and flow :math:`u_s`,

.. math::
    \delta u = w\sqrt{2P/\rho}\,\delta h - \frac{w h_s}{\sqrt{2\rho P}}\,\delta p,

so that lips and modes are a linear system.  The real parts of its eigenvalues are rates of growth,
the imaginary parts angular frequencies.
"""

import numpy as np
from scipy.optimize import brentq

from borestudy.playing.tone import Complex, Oscillator

#: A threshold is looked for up to so many times, or down to so small a share, of a first guess.
FARTHEST = 2.0


def growth_rates(oscillator: Oscillator, mouth_pressure: float) -> Complex:
    """Eigenvalues [1/s] at a mouth pressure [Pa], the fastest growing first, one of each pair.

    Raises
    ------
    ValueError
        If the mouth pressure leaves no pressure drop over the lips.
    """
    drop, opening = oscillator.steady(mouth_pressure)
    if drop <= 0:
        raise ValueError(
            f"mouth pressure: found {mouth_pressure!r} Pa, which does not blow through the lips; "
            f"allowed is one above {oscillator.offset:g} Pa, for example {oscillator.offset + 1e3}"
        )
    by_opening = oscillator.flow_factor * np.sqrt(drop)
    by_pressure = -oscillator.flow_factor * opening / (2 * np.sqrt(drop))
    poles, residues = oscillator.modes.poles, oscillator.weighted
    count = len(poles)
    real, imaginary = slice(2, 2 + count), slice(2 + count, None)
    system = np.zeros((2 + 2 * count, 2 + 2 * count))
    omega, lips = oscillator.omega, oscillator.lips
    system[0, 1] = 1.0
    system[1, :2] = -(omega**2), -omega / lips.quality_factor
    system[1, real] = -1 / lips.mass_per_area
    system[real, real] = system[imaginary, imaginary] = np.diag(poles.real)
    system[imaginary, real], system[real, imaginary] = np.diag(poles.imag), -np.diag(poles.imag)
    for part, of in ((real, residues.real), (imaginary, residues.imag)):
        system[part, 0] += by_opening * of
        system[part, real] += by_pressure * of[:, None]
    # The imaginary part of a real pole is nothing, and would be an eigenvalue of its own.
    kept = np.concatenate([[True, True], np.ones(count, bool), poles.imag != 0])
    found = np.linalg.eigvals(system[np.ix_(kept, kept)])
    found = found[found.imag >= 0]
    return np.asarray(found[np.argsort(-found.real, kind="stable")], dtype=complex)


def nearest(eigenvalues: Complex, frequency: float) -> complex:
    """The eigenvalue that oscillates nearest to a frequency [Hz]."""
    return complex(eigenvalues[np.argmin(np.abs(eigenvalues.imag - 2 * np.pi * frequency))])


def threshold_pressure(oscillator: Oscillator, frequency: float, near: float) -> float | None:
    """Mouth pressure [Pa] from which an oscillation grows, next to `near`; None without one.

    Parameters
    ----------
    oscillator : Oscillator
        Lips and bore.
    frequency : float
        The oscillation's, about [Hz].
    near : float
        A first guess [Pa].
    """

    def rate(pressure: float) -> float:
        return nearest(growth_rates(oscillator, pressure), frequency).real

    shares = np.geomspace(1, FARTHEST, 20)[1:]
    low = high = near
    for share in shares:
        if rate(low) < 0 < rate(high):
            return float(brentq(rate, low, high, xtol=1e-9 * near, rtol=1e-12))
        low, high = near / share, near * share
    return None
