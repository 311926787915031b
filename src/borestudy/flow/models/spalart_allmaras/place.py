"""What the flux does when a point is elsewhere: its derivative by all that a place decides.

The unknowns' values and gradients are held.  Of a flux :math:`F` against tests :math:`t`, given as
in the module `flux`, these are derivatives of the number :math:`F\\cdot t` at each point.
"""

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from borestudy.fem import Floats
from borestudy.flow.by_place import ByPlace

from .flux import STEP, Points, reaction, stabilisation_time
from .onset import Ramp
from .pointwise import CB2, SIGMA, diffusivity, eddy_viscosity, source


def flux_by_place(state: Floats, tests: Floats, points: Points, reynolds: float) -> ByPlace:
    """Derivative of the flux against tests, both of shape (9, E, Q), by where its points are."""
    u, _, u_r, w, w_x, _, chi, chi_x, chi_r = state
    unit, r = 1 / (SIGMA * reynolds), points.radius
    vorticity = np.abs(u_r - w_x)
    spread = unit * diffusivity(chi)
    time = stabilisation_time(u, w, spread, points.metric)
    along = u * tests[7] + w * tests[8]
    # the working variable's residual stands against its test and, weighted, against u·∇ of it
    of_residual = tests[6] + time * along

    viscosity = (1 + eddy_viscosity(chi)) / reynolds
    diffusion = (1 + chi) * chi_r
    by_radius = -4 * viscosity * w / r**3 * tests[3] + time * along * unit * diffusion / r**2

    steepness = chi_x * chi_x + chi_r * chi_r
    plain = reaction(chi, vorticity, points, reynolds)
    residual = u * chi_x + w * chi_r + plain - CB2 * unit * steepness
    strong = residual - unit * (steepness + diffusion / r)
    xx, xr, rr = points.metric
    # of 1/√s, whose s has these derivatives
    by_square = -0.5 * time**3 * strong * along
    twice = 144 * spread * spread
    by_metric = by_square * np.stack(
        [4 * u * u + twice * xx, 8 * u * w + 2 * twice * xr, 4 * w * w + twice * rr]
    )

    farther: Any = points.distance + 1j * STEP
    moved = replace(points, distance=farther)
    by_distance = of_residual * reaction(chi, vorticity, moved, reynolds).imag / STEP
    if points.onset is None or points.axial is None:
        return ByPlace(by_radius, by_metric, by_distance)
    ramp = points.onset.ramp(reynolds)
    produced = source(chi, vorticity, points.distance, reynolds, 1.0) - source(
        chi, vorticity, points.distance, reynolds, 0.0
    )

    def by(changed: Ramp, axial: NDArray) -> Floats:
        share, rate = changed.share(axial)
        return np.asarray(of_residual * (share * produced + rate * (chi - changed.first)).imag)

    step = 1j * STEP
    by_axial = by(ramp, points.axial + step) / STEP
    by_ramp = [
        by(replace(ramp, **{name: getattr(ramp, name) + step}), points.axial + 0 * step) / STEP
        for name in ("place", "length", "dose", "first")
    ]
    return ByPlace(by_radius, by_metric, by_distance, by_axial, np.stack(by_ramp))
