r"""One pointwise function for all that is not linear, and its exact derivative.

At a point the unknowns' values and gradients are nine numbers,

.. math:: s = (u_x, \partial_x u_x, \partial_r u_x,\;
               u_r, \partial_x u_r, \partial_r u_r,\; \chi, \partial_x\chi, \partial_r\chi),

and the weak form's integrand is nine numbers :math:`F(s)` against the same nine of the test
functions: value, axial and radial derivative of the tests of axial momentum, radial momentum and
working variable.  The exact Newton matrix needs only :math:`\partial F/\partial s`, 9 × 9, of
which less than half is not zero.

Eddy viscosity and diffusivity are functions of χ alone, and they alone are differentiated by a
complex step; the reaction's derivatives are written out, in a third of the time.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from borestudy.fem import Floats, Ints
from borestudy.flow.forms import momentum_derivative, momentum_integrand

from .onset import Onset
from .pointwise import CB2, SIGMA, diffusivity, eddy_viscosity, source, source_slopes

#: Length of the complex step: no difference is taken, so it may be as small as this.
STEP = 1e-30


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
    axial : ndarray or None
        Distance from the rim plane, where the flow turns turbulent at a place of `onset`.
    onset : Onset or None
        Rule of that place; None for a model that is turbulent everywhere.
    """

    radius: Floats
    distance: Floats
    metric: Floats
    forcing: Floats | None = None
    axial: Floats | None = None
    onset: Onset | None = None

    def part(self, elements: slice | Ints) -> "Points":
        """The same of some of the elements."""
        forcing = None if self.forcing is None else self.forcing[elements]
        axial = None if self.axial is None else self.axial[elements]
        radius, distance, metric = self.radius, self.distance, self.metric
        return Points(
            radius[elements], distance[elements], metric[:, elements], forcing, axial, self.onset
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
        + reaction(chi, vorticity, points, reynolds)
        - CB2 / (SIGMA * reynolds) * steepness
    )
    result[6] = residual
    # what is left of ∇·((1+χ)∇χ) inside an element where χ is linear
    strong = residual - (steepness + (1 + chi) * chi_r / points.radius) / (SIGMA * reynolds)
    upwind = stabilisation_time(u, w, spread, points.metric) * strong
    result[7] = spread * chi_x + upwind * u
    result[8] = spread * chi_r + upwind * w
    return result


def reaction(chi: NDArray, vorticity: NDArray, points: Points, reynolds: complex) -> NDArray:
    """All of the working variable's equation that depends on it and the vorticity at a point."""
    if points.onset is None or points.axial is None:
        found = source(chi, vorticity, points.distance, reynolds)
    else:
        ramp = points.onset.ramp(reynolds)
        share, rate = ramp.share(points.axial)
        found = source(chi, vorticity, points.distance, reynolds, share)
        found = found + rate * (chi - ramp.first)
    return found if points.forcing is None else found - points.forcing


def reaction_slopes(
    chi: Floats, vorticity: Floats, points: Points, reynolds: float
) -> tuple[Floats, Floats, Floats]:
    """`reaction` of real arrays, and its derivatives by the working variable and the vorticity."""
    if points.onset is None or points.axial is None:
        found = source_slopes(chi, vorticity, points.distance, reynolds)
    else:
        ramp = points.onset.ramp(reynolds)
        share, rate = ramp.share(points.axial)
        made, by_chi, by_vorticity = source_slopes(chi, vorticity, points.distance, reynolds, share)
        found = made + rate * (chi - ramp.first), by_chi + rate, by_vorticity
    return found if points.forcing is None else (found[0] - points.forcing, *found[1:])


def stabilisation_time(u: NDArray, w: NDArray, spread: NDArray, metric: Floats) -> NDArray:
    """Weight of the streamline-upwind term, from the metric of stretched elements.

    The usual sum of squares of 2|u|/h and 3 · 4κ/h² (Shakib, Hughes & Johan 1991, Comput. Methods
    Appl. Mech. Eng. 89, 141).
    """
    xx, xr, rr = metric
    convection = 4 * (u * u * xx + 2 * u * w * xr + w * w * rr)
    diffusion = 72 * spread * spread * (xx * xx + 2 * xr * xr + rr * rr)
    return 1 / np.sqrt(convection + diffusion)


def flux_derivative(
    state: Floats, points: Points, reynolds: float
) -> dict[tuple[int, int], Floats]:
    """Derivative of the flux by the state: its entries that are not zero, by row and column.

    Parameters
    ----------
    state, points, reynolds
        See `flux`; real.

    Returns
    -------
    dict of ndarray, shape (E, Q) each
    """
    u, _, u_r, w, w_x, _, chi, chi_x, chi_r = state
    unit = 1 / (SIGMA * reynolds)
    stepped = chi + 1j * STEP
    viscosity, spread = (1 + eddy_viscosity(stepped)) / reynolds, unit * diffusivity(stepped)
    found = momentum_derivative(state[:6], viscosity.real, viscosity.imag / STEP, points.radius)

    turns = np.where(u_r < w_x, -1.0, 1.0)
    vorticity = turns * (u_r - w_x)
    made, by_chi, by_vorticity = reaction_slopes(chi, vorticity, points, reynolds)
    by_rotation = turns * by_vorticity
    steepness = chi_x * chi_x + chi_r * chi_r
    residual = u * chi_x + w * chi_r + made - CB2 * unit * steepness
    # by column: u, its radial derivative, w, its axial derivative, χ and its two derivatives
    of_residual = {
        0: chi_x,
        2: by_rotation,
        3: chi_r,
        4: -by_rotation,
        6: by_chi,
        7: u - 2 * CB2 * unit * chi_x,
        8: w - 2 * CB2 * unit * chi_r,
    }
    found |= {(6, column): entry for column, entry in of_residual.items()}
    strong = residual - unit * (steepness + (1 + chi) * chi_r / points.radius)
    of_strong = of_residual | {
        6: of_residual[6] - unit * chi_r / points.radius,
        7: of_residual[7] - 2 * unit * chi_x,
        8: of_residual[8] - unit * (2 * chi_r + (1 + chi) / points.radius),
    }
    xx, xr, rr = points.metric
    time = stabilisation_time(u, w, spread.real, points.metric)
    by_spread = 72 * spread.real * (xx * xx + 2 * xr * xr + rr * rr) * spread.imag / STEP
    of_time = {0: 4 * (u * xx + w * xr), 3: 4 * (u * xr + w * rr), 6: by_spread}
    upwind = {column: time * entry for column, entry in of_strong.items()}
    for column, entry in of_time.items():
        # of 1/√s, whose s has twice this derivative
        upwind[column] -= time**3 * strong * entry
    for row, along in ((7, u), (8, w)):
        found |= {(row, column): along * entry for column, entry in upwind.items()}
    found[7, 0] += time * strong
    found[8, 3] += time * strong
    found[7, 6] += spread.imag / STEP * chi_x
    found[8, 6] += spread.imag / STEP * chi_r
    found[7, 7] += spread.real
    found[8, 8] += spread.real
    return found
