r"""Handbook pressure drop of a cup, throat and backbore, always as a low and a high value.

.. math::
   \Delta p = q\Big[\Big(\tfrac{A_t}{A_o}\Big)^2 - \Big(\tfrac{A_t}{A_c}\Big)^2
              + K_e + F_t + K_d\Big], \qquad q = \tfrac12 \rho U^2,

with the throat's mean velocity :math:`U` and the areas of throat, outlet and cup.

* Entry :math:`K_e`: the least and greatest of several handbooks for the edge, from a reservoir,
  times :math:`1-\beta^2` for a finite cup (:math:`\beta` throat over cup diameter).  No cut of the
  edge loses more than the square edge it is cut from.  A cup that runs down to the throat as a
  funnel loses less, so a conical contraction at the wall's angle lowers the low end.
* Throat :math:`F_t`: after a square edge Blasius' turbulent friction times what the open nozzle
  benchmark was measured to have over it (`borestudy.closed_form.nozzle_taps`), least to greatest;
  after an entry rounded by at least 0.15 throat diameters, from where on the flow follows the
  wall, laminar developing flow.  Nothing is measured between the two, so that half-way, at 0.075
  throat diameters, everything from the least to the greatest of both is allowed; from either side
  the ends of the span go there in proportion to the radius (an argument, and no measurement).
* Backbore :math:`K_d`: the least and greatest of the handbooks' conical diffusers from a
  Reynolds number of 5000 on, 1.3 times Rennels' among them, running into no recovery at all,
  :math:`1-(A_t/A_o)^2`, at 2000.

* Pipe after the outlet, where there is one: developed friction, laminar or Blasius' turbulent one.

The coefficients come from the library `fluids`, which names their sources.  Handbook data were
measured on large pipes at high Reynolds numbers; nobody has published them for this shape.

References
----------
Entry: Rennels & Hudson 2012; Crane 1982; Miller 1990; Idelchik 1966; Harris 1928; Swamee & Sharma
    2008.  Throat: Hariharan et al. 2011 over Blasius 1913; Shah 1978.  Backbore: Rennels & Hudson
    2012; Crane 2009; Miller 1990; Swamee & Sharma 2008; Idelchik 1966; Hooper 1988.
"""

from collections.abc import Collection
from dataclasses import dataclass, replace

import numpy as np
from fluids import fittings
from fluids.friction import Blasius

from .nozzle_taps import friction_over_blasius
from .pipe_flow import developing_flow_drop

ENTRY_METHODS = ("Rennels", "Crane", "Miller", "Idelchik", "Harris", "Swamee")
BEVEL_METHODS = ("Rennels", "Idelchik")
FUNNEL_METHODS = ("Rennels", "Idelchik", "Miller")
DIFFUSER_METHODS = ("Rennels", "Crane", "Miller", "Swamee", "Idelchik", "Hooper")
#: Throat friction over Blasius' after a square edge, least and greatest measured.
SQUARE_EDGE_FRICTION = friction_over_blasius()[1:]
#: Edge radius over throat diameter from which the flow does not leave the wall: handbooks' entry
#: losses no longer fall from there on (Crane), or fall by a few hundredths more.
SMOOTH_ENTRY = 0.15
#: Share of that radius at which neither way of the flow is any likelier.
UNDECIDED = 0.5
#: Loss of the open nozzle benchmark's cone over Rennels' at 5000: 1.26 (1.13 to 1.43).
DIFFUSER_FACTOR = 1.3
#: Reynolds numbers of no recovery and of the handbooks' diffuser: the benchmark's cone gives back
#: 0.0 q at 2000, 0.4 q at 3500 and 0.6 q at 5000.  Nobody has published it for slower cones.
NO_RECOVERY, FULL_RECOVERY = 2000.0, 5000.0
SHARP = 1e-9


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
    """The dimensions of a bore that the handbooks need.

    Attributes
    ----------
    cup_diameter, throat_diameter, outlet_diameter, throat_length, backbore_length : float
        Dimensions of the bore [m].
    entry_radius : (float, float)
        Least and greatest radius of the throat entry's edge [m]: both 0 for a square edge, two
        different values for an ellipse or where the edge is only known to lie between them.
    chamfer : (float, float), optional
        Length along the axis [m] and angle to the axis [degrees, 0 to 90] of a chamfered entry,
        which then has no radius.
    funnel_angle : float, optional
        Included angle [degrees] of the cup's wall just before the entry, where it is one.
    pipe_length : float
        Length [m] of a straight pipe after the outlet, as wide as it.
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
    def rounding(self) -> tuple[float, float]:
        """Least and greatest share of `SMOOTH_ENTRY` that the edge is rounded by, 0 to 1.

        A chamfer leaves two edges, so it is anything from square to undecided.
        """
        smooth = SMOOTH_ENTRY * self.throat_diameter
        if self.chamfer is not None:
            return 0.0, min(self.chamfer[0] / smooth, UNDECIDED)
        least, greatest = (min(radius / smooth, 1.0) for radius in sorted(self.entry_radius))
        return least, greatest


def edge_losses(dimensions: Dimensions) -> dict[str, Span]:
    """Loss coefficient of the entry's edge by each handbook, over what the edge may be."""
    diameter = dimensions.throat_diameter
    finite_cup = 1 - (diameter / dimensions.cup_diameter) ** 2

    def losses(method: str) -> list[float]:
        if dimensions.chamfer is not None:
            return [fittings.entrance_beveled(diameter, *dimensions.chamfer, method=method)]
        return [rounded(method, radius) for radius in dimensions.entry_radius]

    def rounded(method: str, radius: float = 0.0) -> float:
        edge = max(radius, SHARP * diameter)
        return float(fittings.entrance_rounded(diameter, edge, method=method))

    found = {}
    for method in ENTRY_METHODS if dimensions.chamfer is None else BEVEL_METHODS:
        each, square = losses(method), rounded(method)
        found[method] = Span(min(square, *each), min(square, max(each))).scaled(finite_cup)
    return found


def entry_coefficient(dimensions: Dimensions, reynolds: float) -> Span:
    """Loss coefficient of the throat entry on the throat's dynamic pressure."""
    edge = _hull(edge_losses(dimensions).values())
    square = replace(dimensions, chamfer=None, entry_radius=(0.0, 0.0))
    low = min(edge.low, _hull(edge_losses(square).values()).low)
    if (angle := dimensions.funnel_angle) is not None and 0 < angle < 180:
        diameters = dimensions.cup_diameter, dimensions.throat_diameter
        given = {"angle": angle, "Re": reynolds}
        for method in FUNNEL_METHODS:
            low = min(low, float(fittings.contraction_conical(*diameters, **given, method=method)))
    return Span(low, edge.high)


def throat_friction(dimensions: Dimensions, reynolds: float) -> Span:
    """Friction of the straight throat in units of its dynamic pressure."""
    slenderness = dimensions.throat_length / dimensions.throat_diameter
    turbulent = [factor * Blasius(reynolds) * slenderness for factor in SQUARE_EDGE_FRICTION]
    laminar = float(developing_flow_drop(slenderness / reynolds))
    least, greatest = dimensions.rounding
    # at a square edge, undecided, and smooth: between these the ends are in proportion
    places = (0.0, UNDECIDED, 1.0)
    lows = (turbulent[0], min(laminar, *turbulent), laminar)
    highs = (turbulent[1], max(laminar, *turbulent), laminar)
    # over a range of radii, an end is at one of the range's ends or where the line bends
    met = [least, *(place for place in places if least < place < greatest), greatest]
    return Span(float(min(np.interp(met, places, lows))), float(max(np.interp(met, places, highs))))


def backbore_losses(dimensions: Dimensions, reynolds: float) -> dict[str, float]:
    """Loss coefficient of the backbore as one cone by each handbook."""
    inner, outer = dimensions.throat_diameter, dimensions.outlet_diameter
    area_ratio = (inner / outer) ** 2
    if outer <= inner * (1 + 1e-6):
        friction = float(Blasius(reynolds) * dimensions.backbore_length / inner)
        return {"smooth": friction, "after a square edge": SQUARE_EDGE_FRICTION[1] * friction}
    cone = {"Di1": inner, "Di2": outer, "l": dimensions.backbore_length, "Re": reynolds}
    losses = {way: float(fittings.diffuser_conical(**cone, method=way)) for way in DIFFUSER_METHODS}
    losses[f"{DIFFUSER_FACTOR:g} Rennels"] = DIFFUSER_FACTOR * losses["Rennels"]
    # above the loss of a sudden expansion a handbook's fit has left its range
    most = max((1 - area_ratio) ** 2, min(losses.values()))
    none = 1 - area_ratio**2
    share = float(np.clip((reynolds - NO_RECOVERY) / (FULL_RECOVERY - NO_RECOVERY), 0, 1))
    return {method: none + share * (min(loss, most) - none) for method, loss in losses.items()}


def backbore_coefficient(dimensions: Dimensions, reynolds: float) -> Span:
    """Least and greatest loss coefficient of the backbore, on the throat's dynamic pressure."""
    losses = backbore_losses(dimensions, reynolds).values()
    return Span(min(losses), max(losses))


def pressure_drop_to_throat_end(dimensions: Dimensions, reynolds: float) -> Span:
    """Static pressure drop from the cup to the throat's end, in units of q."""
    return _beside_the_entry(dimensions, reynolds) + entry_coefficient(dimensions, reynolds)


def _beside_the_entry(dimensions: Dimensions, reynolds: float) -> Span:
    """Acceleration from the cup and friction of the throat, in units of q."""
    change = 1 - (dimensions.throat_diameter / dimensions.cup_diameter) ** 4
    return Span(change, change) + throat_friction(dimensions, reynolds)


def pipe_friction(dimensions: Dimensions, reynolds: float) -> Span:
    """Developed friction of the pipe after the outlet, on the throat's dynamic pressure."""
    ratio = dimensions.throat_diameter / dimensions.outlet_diameter
    in_pipe = reynolds * ratio
    factors = sorted((64 / in_pipe, float(Blasius(in_pipe))))
    slenderness = dimensions.pipe_length / dimensions.outlet_diameter
    return Span(factors[0], factors[1]).scaled(slenderness * ratio**4)


def backbore_by_handbook(dimensions: Dimensions, reynolds: float) -> dict[str, Span]:
    """Static pressure drop from the throat's end on by each handbook of the cone, units of q."""
    change = (dimensions.throat_diameter / dimensions.outlet_diameter) ** 4 - 1
    pipe = pipe_friction(dimensions, reynolds)
    return {
        method: Span(change + loss, change + loss) + pipe
        for method, loss in backbore_losses(dimensions, reynolds).items()
    }


def backbore_pressure_drop(dimensions: Dimensions, reynolds: float) -> Span:
    """Static pressure drop from the throat's end on, in units of q (below 0: a rise)."""
    return _hull(backbore_by_handbook(dimensions, reynolds).values())


def _hull(spans: Collection[Span]) -> Span:
    return Span(min(span.low for span in spans), max(span.high for span in spans))
