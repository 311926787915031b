r"""One pointwise function for all that is not linear, and its derivative by a complex step.

At a point the unknowns' values and gradients are nine numbers,

.. math:: s = (u_x, \partial_x u_x, \partial_r u_x,\;
               u_r, \partial_x u_r, \partial_r u_r,\; \chi, \partial_x\chi, \partial_r\chi),

and the weak form's integrand is nine numbers :math:`F(s)` against the same nine of the test
functions: value, axial and radial derivative of the tests of axial momentum, radial momentum and
working variable.  The exact Newton matrix needs only :math:`\partial F/\partial s`, 9 × 9.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from borestudy.fem import Floats
from borestudy.flow.forms import momentum_integrand

from .pointwise import CB2, SIGMA, diffusivity, eddy_viscosity, source

#: Length of the complex step: no difference is taken, so it may be as small as this.
STEP = 1e-30
COMPONENTS = 9


@dataclass(frozen=True)
class Points:
    """What the function needs of a place besides the unknowns, all of shape (E, Q).

    Attributes
    ----------
    radius, distance : ndarray
        Distances from the axis and to the nearest wall.
    metric : ndarray, shape (3, E, Q)
        Entries xx, xr, rr of the element's metric tensor: :math:`u\\cdot G u = (|u|/h)^2` with
        the element's size h along u.
    forcing : ndarray or None
        Right side of the working variable's equation, for manufactured solutions.
    """

    radius: Floats
    distance: Floats
    metric: Floats
    forcing: Floats | None = None

    def part(self, elements: slice) -> "Points":
        """The same of some of the elements."""
        forcing = None if self.forcing is None else self.forcing[elements]
        return Points(
            self.radius[elements], self.distance[elements], self.metric[:, elements], forcing
        )


def flux(state: NDArray, points: Points, reynolds: complex) -> NDArray:
    """The integrand of the weak form, without pressure and grad-div, which are linear.

    Parameters
    ----------
    state : ndarray, shape (9, E, Q), real or complex
        Values and gradients of axial velocity, radial velocity and working variable.
    points : Points
        Distances of the quadrature points from axis and wall.
    reynolds : float
        Throat Reynolds number; complex, with a complex state, for the derivative by it.

    Returns
    -------
    ndarray, shape (9, E, Q)
    """
    u, _, u_r, w, w_x, _, chi, chi_x, chi_r = state
    result = np.empty_like(state)
    momentum_integrand(state[:6], (1 + eddy_viscosity(chi)) / reynolds, points.radius, result[:6])

    rotation = u_r - w_x
    vorticity = np.where(rotation.real < 0, -rotation, rotation)
    spread = diffusivity(chi) / (SIGMA * reynolds)
    steepness = chi_x * chi_x + chi_r * chi_r
    residual = (
        u * chi_x
        + w * chi_r
        + source(chi, vorticity, points.distance, reynolds)
        - CB2 / (SIGMA * reynolds) * steepness
    )
    if points.forcing is not None:
        residual = residual - points.forcing
    result[6] = residual
    # what is left of ∇·((1+χ)∇χ) inside an element where χ is linear
    strong = residual - (steepness + (1 + chi) * chi_r / points.radius) / (SIGMA * reynolds)
    upwind = stabilisation_time(u, w, spread, points.metric) * strong
    result[7] = spread * chi_x + upwind * u
    result[8] = spread * chi_r + upwind * w
    return result


def stabilisation_time(u: NDArray, w: NDArray, spread: NDArray, metric: Floats) -> NDArray:
    """Weight of the streamline-upwind term, from the metric of stretched elements.

    The usual sum of squares of 2|u|/h and 3 · 4κ/h² (Shakib, Hughes & Johan 1991, Comput. Methods
    Appl. Mech. Eng. 89, 141).
    """
    xx, xr, rr = metric
    convection = 4 * (u * u * xx + 2 * u * w * xr + w * w * rr)
    diffusion = 72 * spread * spread * (xx * xx + 2 * xr * xr + rr * rr)
    return 1 / np.sqrt(convection + diffusion)


def flux_derivative(state: Floats, points: Points, reynolds: float) -> tuple[Floats, Floats]:
    """The flux (9, E, Q), and its derivative (9, 9, E, Q) by component of the state."""
    derivative = np.empty((COMPONENTS, *state.shape))
    stepped = state.astype(complex)
    for component in range(COMPONENTS):
        stepped[component] += 1j * STEP
        moved = flux(stepped, points, reynolds)
        derivative[:, component] = moved.imag / STEP
        stepped[component] = state[component]
    return moved.real, derivative
