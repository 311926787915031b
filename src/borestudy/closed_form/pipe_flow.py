r"""Laminar flow in straight round pipes: developed, developing, contracting, expanding.

With throat diameter :math:`D`, mean velocity :math:`U`, Reynolds number :math:`Re = UD/\nu` and
:math:`q = \tfrac12\rho U^2`; :math:`x^+ = x / (D\,Re)`.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from borestudy.air import Air


def developed_flow_drop(air: Air, radius: float, length: float, flow_rate: float) -> float:
    """Pressure drop [Pa] of developed laminar flow, 8 μ L Q / (π R⁴) (Hagen 1839, Poiseuille 1840).

    Parameters
    ----------
    air : Air
        The air, of which the viscosity counts.
    radius, length : float
        Dimensions of the pipe [m].
    flow_rate : float
        Volume flow [m³/s].
    """
    return 8 * air.viscosity * length * flow_rate / (np.pi * radius**4)


def developing_flow_drop(scaled_length: ArrayLike) -> NDArray[np.float64]:
    r"""Static pressure drop over q from a uniform inlet to :math:`x^+`, within 2 % (Shah 1978).

    .. math::
       \frac{\Delta p}{q} = 13.74\sqrt{x^+}
       + \frac{1.25 + 64 x^+ - 13.74\sqrt{x^+}}{1 + 0.00021\,(x^+)^{-2}}

    References
    ----------
    Shah, R. K. (1978), J. Fluids Eng. 100, 177; as in White, Viscous Fluid Flow, eq. 3-49
    (from memory).
    """
    length = np.asarray(scaled_length, dtype=float)
    entrance = 13.74 * np.sqrt(length)
    return np.asarray(
        entrance + (1.25 + 64 * length - entrance) / (1 + 0.00021 / length**2), dtype=float
    )


#: Developing flow from a uniform inlet, x⁺ against Δp/q.  Computed on two grids that agree to
#: 4e-4 with a steady axisymmetric finite-element solution at high Reynolds number; within 1e-3 of
#: the boundary-layer equations marched along the pipe (its test), within 2 % of Shah (1978).
DEVELOPING_FLOW_TABLE = {
    0.001: 0.4358,
    0.002: 0.6260,
    0.005: 1.0303,
    0.01: 1.5360,
    0.02: 2.3556,
    0.05: 4.4230,
}
#: Centreline velocity over the mean at x⁺, from the same computation.
DEVELOPING_CENTRE_TABLE = {0.005: 1.4250, 0.02: 1.7932}


def contraction_excess(reynolds: float) -> float:
    """Pressure drop over q of a sharp 3:1 contraction beyond developed friction on both sides.

    2.30 + 18.2 / Re on the small pipe's Reynolds number, for 20 to 100: no publication, but a fit
    to Taylor–Hood solutions on meshes graded to the edge, good to 2 %.  It lies where theory wants
    it: the constant above the kinetic energy that a parabola gains, 2 (1 − 3⁻⁴) = 1.98, and the
    creeping part near the end correction of an infinite wall, 6π / Re a side (Sampson 1891).
    """
    return 2.30 + 18.2 / reynolds


def expansion_reattachment(reynolds: float) -> float:
    """Reattachment length over step height after a sudden 1:2 expansion, parabolic inlet.

    0.0882 Re on the small pipe; computed, against 0.0876 Re of Hammad, Ötügen & Arik (1999), from
    memory.
    """
    return 0.0882 * reynolds


def long_radius_nozzle_discharge(reynolds: ArrayLike) -> NDArray[np.float64]:
    """Discharge coefficient of a long-radius nozzle, 0.9965 − 6.53 / √Re (ISO 5167-3:2003, 5.2).

    The standard holds for pipe Reynolds numbers from 1e4 on, times pipe over throat diameter in the
    throat's, and knows it to 2 %.
    """
    return np.asarray(0.9965 - 6.53 / np.sqrt(np.asarray(reynolds, dtype=float)))
