r"""What the flux does when a point is elsewhere: its derivative by all that a place decides.

The unknowns' values and gradients are held.  Of a flux :math:`F` against tests :math:`t`, given as
in the module `flux`, these are derivatives of the number :math:`F\cdot t` at each point.  The
working variable's residual stands against its own test and, weighted, against
:math:`u\cdot\nabla` of it.
"""

from dataclasses import dataclass

import numpy as np

from borestudy.fem import Floats, Ints
from borestudy.flow.by_place import ByPlace, PlaceValues
from borestudy.flow.equations import Entries

from .flux import Points, stabilisation_time
from .pointwise import CB2, SIGMA, diffusivity, eddy_viscosity, source

#: Share of the ramp's length over which the jumps of its derivative are spread either way: more
#: than the distance of two points of quadrature along the bore, and little beside the ramp.
BLUR = 0.15


@dataclass(frozen=True)
class FluxByPlace(ByPlace):
    """Coefficients of tests, of shape (E, Q) but for the first axes.

    Attributes
    ----------
    velocity : ndarray, shape (2, E, Q)
    time : ndarray
        Weight of the streamline-upwind term.
    hoop, spread : ndarray
        Of the radius: with the radial test, and with u·∇ of the working variable's test.
    slopes : ndarray, shape (2, 2, E, Q)
        Of the motion's slopes, with u·∇ of that test.
    distance : ndarray
        Derivative of the residual by the distance to the wall.
    elements : ndarray of int
        Those in the ramp or near it.
    ramp, blurred : ndarray, shape (5, elements, Q)
        There its derivatives by the distance from the rim plane and the ramp's numbers.
    """

    velocity: Floats
    time: Floats
    hoop: Floats
    spread: Floats
    slopes: Floats
    distance: Floats
    elements: Ints
    ramp: Floats
    blurred: Floats

    def against(self, tests: Floats) -> PlaceValues:
        along = self.velocity[0] * tests[7] + self.velocity[1] * tests[8]
        return PlaceValues(
            radius=self.hoop * tests[3] + self.spread * along,
            slopes=self.slopes * along,
            distance=self.distance * (tests[6] + self.time * along),
        )

    def of_ramp(self, tests: Floats, blurred: bool) -> tuple[Ints, Floats]:
        (u, w), time = self.velocity[:, self.elements], self.time[self.elements]
        chi, chi_x, chi_r = tests[6:, self.elements]
        found = self.blurred if blurred else self.ramp
        return self.elements, found * (chi + time * (u * chi_x + w * chi_r))


def flux_by_place(
    state: Floats, flux: Floats, entries: Entries, points: Points, reynolds: float
) -> FluxByPlace:
    """Prepare the derivatives at a state, with its flux, both of shape (9, E, Q), and that's own.

    `entries` are those of `flux_derivative`.
    """
    u, _, u_r, w, w_x, _, chi, chi_x, chi_r = state
    unit, r = 1 / (SIGMA * reynolds), points.radius
    vorticity = np.abs(u_r - w_x)
    spread = unit * diffusivity(chi)
    time = stabilisation_time(u, w, spread, points.metric)
    viscosity = (1 + eddy_viscosity(chi)) / reynolds
    diffusion = unit * (1 + chi) * chi_r / r
    strong = flux[6] - unit * (chi_x * chi_x + chi_r * chi_r) - diffusion

    xx, xr, rr = points.metric
    # of 1/√s, whose s has these derivatives by the metric's entries, the mixed one counted once
    of_square, twice = -0.5 * time**3 * strong, 144 * spread * spread
    by_xx = of_square * (4 * u * u + twice * xx)
    by_xr = of_square * (8 * u * w + 2 * twice * xr)
    by_rr = of_square * (4 * w * w + twice * rr)
    # the metric falls as the element grows
    slopes = np.empty((2, 2, *r.shape))
    slopes[0, 0], slopes[0, 1] = -2 * xx * by_xx - xr * by_xr, -xx * by_xr - 2 * xr * by_rr
    slopes[1, 0], slopes[1, 1] = -2 * xr * by_xx - rr * by_xr, -xr * by_xr - 2 * rr * by_rr

    # production and destruction grow by a factor with the vorticity and with 1/d² together: Euler's
    # theorem on homogeneous functions gives their derivative by d
    own = flux[6] - u * chi_x - w * chi_r + CB2 * unit * (chi_x * chi_x + chi_r * chi_r)
    if points.onset is not None and points.axial is not None:
        ramp_here = points.onset.ramp(reynolds)
        own -= ramp_here.share(points.axial)[1] * (chi - ramp_here.first)
    if points.forcing is not None:
        own += points.forcing
    distance = 2 / points.distance * ((u_r - w_x) * entries[6, 2] - own)
    hoop, of_spread = -4 * viscosity * w / r**3, time * diffusion / r
    of_ramp = _by_ramp(chi, vorticity, points, reynolds)
    return FluxByPlace(state[[0, 3]], time, hoop, of_spread, slopes, distance, *of_ramp)


def _by_ramp(
    chi: Floats, vorticity: Floats, points: Points, reynolds: float
) -> tuple[Ints, Floats, Floats]:
    """Elements of the ramp, and there the reaction's derivatives by it: sharp, and blurred."""
    if points.onset is None or points.axial is None:
        return np.zeros(0, dtype=np.int64), *np.zeros((2, 5, 0, chi.shape[1]))
    ramp = points.onset.ramp(reynolds)
    along = (points.axial - ramp.place) / ramp.length
    elements = np.flatnonzero(((along > -BLUR) & (along < 1 + BLUR)).any(axis=1))
    there, chi, place = points.part(elements), chi[elements], points.axial[elements]
    with_all, with_none = (
        source(chi, vorticity[elements], there.distance, reynolds, share) for share in (1.0, 0.0)
    )
    found = []
    for blur in (0.0, BLUR):
        share, rate = ramp.slopes(place, blur)
        both = share * (with_all - with_none) + rate * (chi - ramp.first)
        both[-1] -= ramp.share(place)[1]
        found.append(both)
    return elements, *found
