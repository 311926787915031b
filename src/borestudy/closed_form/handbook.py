r"""Handbook pressure drop of a cup, throat and backbore, always as a low and a high value.

.. math::
   \Delta p = q\Big[\Big(\tfrac{A_t}{A_o}\Big)^2 - \Big(\tfrac{A_t}{A_c}\Big)^2
              + K_e + F_t + K_d\Big], \qquad q = \tfrac12 \rho U^2,

with the throat's mean velocity :math:`U` and the areas of throat, outlet and cup.

* Entry :math:`K_e`: the least and greatest of several handbooks for the edge, from a reservoir,
  times :math:`1-\beta^2` for a finite cup (:math:`\beta` throat over cup diameter).  A cup that
  runs down to the throat as a funnel loses less, so a conical contraction at the wall's angle
  lowers the low end.
* Throat :math:`F_t`: after a square edge 1.35 to 1.47 times Blasius' turbulent friction, which is
  what pipes downstream of such an edge were measured to have (Hariharan et al. 2011, tap
  differences at a throat Reynolds number of 5000); after an entry rounded by at least
  0.15 throat diameters laminar developing flow; between, both ends.
* Backbore :math:`K_d`: the least and greatest of the handbooks' conical diffusers from a
  Reynolds number of 5000 on, 1.3 times Rennels' among them, running into no recovery at all,
  :math:`1-(A_t/A_o)^2`, at 2000.

* Pipe behind the outlet, where there is one: developed friction, laminar or Blasius' turbulent one.

The coefficients come from the library `fluids`, which names their sources.  Handbook data were
measured on large pipes at high Reynolds numbers; nobody has published them for this shape.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import tan

import numpy as np
from fluids import fittings
from fluids.friction import Blasius

from .pipe_flow import developing_flow_drop

ENTRY_METHODS = ("Rennels", "Crane", "Miller", "Idelchik", "Harris", "Swamee")
BEVEL_METHODS = ("Rennels", "Idelchik")
FUNNEL_METHODS = ("Rennels", "Idelchik", "Miller")
DIFFUSER_METHODS = ("Rennels", "Crane", "Miller", "Swamee", "Idelchik", "Hooper")
#: Throat friction over Blasius' after a square edge, least and greatest measured.
SQUARE_EDGE_FRICTION = (1.35, 1.47)
#: Edge radius over throat diameter from which the flow does not leave the wall.
SMOOTH_ENTRY = 0.15
DIFFUSER_FACTOR = 1.3
#: Reynolds numbers of no recovery and of the handbooks' diffuser.
NO_RECOVERY, FULL_RECOVERY = 2000.0, 5000.0
SHARP = 1e-9

SOURCES = {
    "entry": "fluids.fittings.entrance_rounded: Rennels & Hudson 2012; Crane 1982; Miller 1990; "
    "Idelchik 1966; Harris 1928; Swamee & Sharma 2008",
    "chamfer": "fluids.fittings.entrance_beveled: Rennels & Hudson 2012; Idelchik 1966",
    "funnel": "fluids.fittings.contraction_conical: Rennels & Hudson 2012; Idelchik 1966; "
    "Miller 1990",
    "throat": "fluids.friction.Blasius times 1.35 to 1.47 (Hariharan et al. 2011); laminar "
    "developing flow: Shah 1978",
    "backbore": "fluids.fittings.diffuser_conical: Rennels & Hudson 2012 (also times 1.3); Crane "
    "2009; Miller 1990; Swamee & Sharma 2008; Idelchik 1966; Hooper 1988",
    "pipe": "64/Re and fluids.friction.Blasius",
}


@dataclass(frozen=True)
class Span:
    """A low and a high value of one quantity."""

    low: float
    high: float

    def __add__(self, other: "Span") -> "Span":
        return Span(self.low + other.low, self.high + other.high)

    def scaled(self, factor: float) -> "Span":
        """Both ends times a positive factor."""
        return Span(self.low * factor, self.high * factor)


@dataclass(frozen=True)
class Dimensions:
    """What the handbooks need of a bore, all lengths in metres.

    Attributes
    ----------
    cup_diameter, throat_diameter, outlet_diameter : float
    throat_length, backbore_length : float
    entry_radius : (float, float)
        Least and greatest radius of the throat entry's edge: both 0 for a square edge, two
        different values for an ellipse or where the edge is only known to lie between them.
    chamfer : (float, float), optional
        Axial length and included angle [degrees] of a chamfered entry instead of a radius.
    funnel_angle : float, optional
        Included angle [degrees] of the cup's wall just before the entry, where it is one.
    pipe_length : float
        Of a straight pipe behind the outlet, as wide as it.
    """

    cup_diameter: float
    throat_diameter: float
    outlet_diameter: float
    throat_length: float
    backbore_length: float
    entry_radius: tuple[float, float] = (0.0, 0.0)
    chamfer: tuple[float, float] | None = None
    funnel_angle: float | None = None
    pipe_length: float = 0.0

    @property
    def smooth_entry(self) -> bool:
        """Whether the flow is known to follow the entry's wall."""
        return self.chamfer is None and min(self.entry_radius) >= SMOOTH_ENTRY * (
            self.throat_diameter * (1 - 1e-9)
        )


def entry_coefficient(dimensions: Dimensions, reynolds: float) -> Span:
    """Loss coefficient of the throat entry on the throat's dynamic pressure."""
    diameter = dimensions.throat_diameter
    finite_cup = 1 - (diameter / dimensions.cup_diameter) ** 2
    if dimensions.chamfer is not None:
        length, angle = dimensions.chamfer
        edge = [
            fittings.entrance_beveled(diameter, length, angle, method=method)
            for method in BEVEL_METHODS
        ]
    else:
        edge = [
            fittings.entrance_rounded(diameter, max(radius, SHARP * diameter), method=method)
            for method in ENTRY_METHODS
            for radius in dimensions.entry_radius
        ]
    high = finite_cup * max(edge)
    low = finite_cup * min(edge)
    if dimensions.funnel_angle is not None and 0 < dimensions.funnel_angle < 180:
        funnel = [
            fittings.contraction_conical(
                dimensions.cup_diameter,
                diameter,
                angle=dimensions.funnel_angle,
                Re=reynolds,
                method=method,
            )
            for method in FUNNEL_METHODS
        ]
        low = min(low, *funnel)
    return Span(float(low), float(high))


def throat_friction(dimensions: Dimensions, reynolds: float) -> Span:
    """Friction of the straight throat in units of its dynamic pressure."""
    slenderness = dimensions.throat_length / dimensions.throat_diameter
    turbulent = [factor * Blasius(reynolds) * slenderness for factor in SQUARE_EDGE_FRICTION]
    laminar = float(developing_flow_drop(slenderness / reynolds))
    if dimensions.smooth_entry:
        return Span(laminar, laminar)
    if max(dimensions.entry_radius) == 0 and dimensions.chamfer is None:
        return Span(*turbulent)
    return Span(min(laminar, *turbulent), max(laminar, *turbulent))


def backbore_coefficient(dimensions: Dimensions, reynolds: float) -> Span:
    """Loss coefficient of the backbore as one cone, on the throat's dynamic pressure."""
    inner, outer = dimensions.throat_diameter, dimensions.outlet_diameter
    area_ratio = (inner / outer) ** 2
    if outer <= inner * (1 + 1e-6):
        friction = Blasius(reynolds) * dimensions.backbore_length / inner
        return Span(friction, SQUARE_EDGE_FRICTION[1] * friction)

    def cone(method: str) -> float:
        return float(
            fittings.diffuser_conical(
                inner, outer, l=dimensions.backbore_length, Re=reynolds, method=method
            )
        )

    # above the loss of a sudden expansion a handbook's fit has left its range
    sudden = (1 - area_ratio) ** 2
    losses = [cone(method) for method in DIFFUSER_METHODS]
    losses.append(DIFFUSER_FACTOR * cone("Rennels"))
    recovering = Span(min(losses), min(max(losses), max(sudden, min(losses))))
    none = 1 - area_ratio**2
    share = float(np.clip((reynolds - NO_RECOVERY) / (FULL_RECOVERY - NO_RECOVERY), 0, 1))
    return Span(none + share * (recovering.low - none), none + share * (recovering.high - none))


def pressure_drop_to_throat_end(dimensions: Dimensions, reynolds: float) -> Span:
    """Static pressure drop from the cup to the throat's end, in units of q."""
    cup = (dimensions.throat_diameter / dimensions.cup_diameter) ** 4
    change = 1 - cup
    return (
        Span(change, change)
        + entry_coefficient(dimensions, reynolds)
        + throat_friction(dimensions, reynolds)
    )


def pipe_friction(dimensions: Dimensions, reynolds: float) -> Span:
    """Developed friction of the pipe behind the outlet, on the throat's dynamic pressure."""
    ratio = dimensions.throat_diameter / dimensions.outlet_diameter
    in_pipe = reynolds * ratio
    factors = sorted((64 / in_pipe, float(Blasius(in_pipe))))
    slenderness = dimensions.pipe_length / dimensions.outlet_diameter
    return Span(factors[0], factors[1]).scaled(slenderness * ratio**4)


def backbore_pressure_drop(dimensions: Dimensions, reynolds: float) -> Span:
    """Static pressure drop from the throat's end on, in units of q (below 0: a rise)."""
    change = (dimensions.throat_diameter / dimensions.outlet_diameter) ** 4 - 1
    return (
        Span(change, change)
        + backbore_coefficient(dimensions, reynolds)
        + pipe_friction(dimensions, reynolds)
    )


def sampled(
    function: Callable[[Dimensions, float], Span],
    dimensions: Dimensions,
    reynolds: Sequence[float],
) -> tuple[np.ndarray, np.ndarray]:
    """Low and high of one of the spans at several Reynolds numbers."""
    spans = [function(dimensions, number) for number in reynolds]
    return np.array([span.low for span in spans]), np.array([span.high for span in spans])


def cone_angle(first_diameter: float, last_diameter: float, length: float) -> float:
    """Included angle [degrees] of a cone."""
    return float(2 * np.degrees(np.arctan2((last_diameter - first_diameter) / 2, length)))


def chamfer_length(depth: float, included_angle: float) -> float:
    """Axial length [m] of a chamfer that widens the radius by `depth`."""
    return depth / tan(np.radians(included_angle / 2))
