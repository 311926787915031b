r"""Exact steps of lips and modes whose drop and flow are parabolas within a step.

At the times :math:`\tau` from 0 to 1 of a step, with the values :math:`u_-` a step before its
begin, :math:`u_0` at its begin and :math:`u_+` at its end,

.. math:: u = u_0 + \tau\,\frac{u_+ - u_-}{2} + \tau^2\,\frac{u_+ - 2 u_0 + u_-}{2}.

What a decay :math:`e^{s t}` makes of the powers of :math:`\tau` are the functions φ of exponential
integrators (Hochbruck & Ostermann 2010, Acta Numerica 19, 209, from memory).
"""

from math import factorial

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import expm

Real = NDArray[np.float64]
Complex = NDArray[np.complex128]


def parts(values: Complex) -> Real:
    """Real and imaginary parts in turn."""
    return np.column_stack([values.real, values.imag]).ravel()


def modal_step(poles: Complex, residues: Complex, step: float) -> tuple[Real, Complex, float]:
    """What takes the modes over a step with a flow that is a parabola.

    With :math:`z = v + a u`, of which the `a` are returned, a step is
    :math:`v' = E v + g u + k u_-`, with the flow :math:`u_-` a step before: the flow at the step's
    end is not in it.  The matrix does this for the real and imaginary parts of v, of which the two
    flows follow; it gives the new v, their pressure, and the flow that then is the one before.
    The pressure of the :math:`a u` is the last number times u.

    Parameters
    ----------
    poles, residues : ndarray, shape (n,)
        Poles [rad/s], and the residues [Pa/m³] of which the real parts of z add up to the pressure.
    step : float
        [s].

    Returns
    -------
    ndarray, shape (2n + 2, 2n + 2); ndarray, shape (n,); float
    """
    over = poles * step
    grown, first, second, third = np.exp(over), *(phi(over, order) for order in (1, 2, 3))
    by_flow = step * residues
    ahead = by_flow * (second / 2 + third)
    flow = grown * ahead + by_flow * (first - 2 * third)
    count = len(over)
    matrix = np.zeros((2 * count + 2, 2 * count + 2))
    even, odd = np.arange(0, 2 * count, 2), np.arange(1, 2 * count, 2)
    matrix[even, even] = matrix[odd, odd] = grown.real
    matrix[odd, even], matrix[even, odd] = grown.imag, -grown.imag
    matrix[:-2, -2], matrix[:-2, -1] = parts(flow), parts(by_flow * (third - second / 2))
    matrix[-2] = matrix[even].sum(axis=0)
    matrix[-1, -2] = 1.0
    return matrix, ahead, float(ahead.real.sum())


def phi(x: Complex, order: int) -> Complex:
    """The functions φ₀ = e^x, φₖ = (φₖ₋₁ - 1/(k - 1)!)/x, by their series where x is small."""
    small = np.abs(x) < 0.5
    series, term = np.zeros_like(x), np.full_like(x, 1 / factorial(order))
    for k in range(order + 1, order + 18):
        series, term = series + term, term * np.where(small, x, 0) / k
    safe = np.where(small, 1, x)
    closed = np.exp(safe)
    for k in range(order):
        closed = (closed - 1 / factorial(k)) / safe
    return np.asarray(np.where(small, series, closed))


def lips_step(
    omega: float, quality_factor: float, mass_per_area: float, step: float
) -> list[list[float]]:
    """What takes opening and velocity over a step with a pressure drop that is a parabola.

    Two rows of factors: of opening, velocity, drop a step before the step's begin, at its begin,
    and at its end.

    Parameters
    ----------
    omega, quality_factor, mass_per_area, step : float
        Of the lips [rad/s], [], [kg/m²]; time step [s].
    """
    system = np.zeros((5, 5))
    system[0, 1] = 1.0
    system[1, :3] = -(omega**2), -omega / quality_factor, 1 / mass_per_area
    # The drop, its rise over a step of one, and the change of that.
    system *= step
    system[2, 3] = system[3, 4] = 1.0
    solved = expm(system)[:2]
    value, rise, bend = solved[:, 2], solved[:, 3], solved[:, 4]
    return np.column_stack(
        [solved[:, :2], bend - rise / 2, value - 2 * bend, rise / 2 + bend]
    ).tolist()


def parabola_factor(frequencies: Real, step: float) -> Complex:
    """What the parabolas have of an oscillation [Hz], by the samples that they go through.

    It is 1 less terms of the third power of the step.
    """
    angle = 2 * np.pi * np.asarray(frequencies, dtype=float) * step
    first, second, third = (
        phi(np.asarray(1j * angle, dtype=complex), order) for order in (1, 2, 3)
    )
    held = first + 1j * np.sin(angle) * second + 2 * (np.cos(angle) - 1) * third
    return np.asarray(np.exp(-1j * angle) * held)
