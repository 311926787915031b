"""What the air's way through a bore is, in throat diameters: what the flow and its error go by."""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from .bore import Bore

#: An edge is judged by the stretch before the throat over which the bore is at most this much
#: wider than the throat.  Up to the first length, in throat diameters, the edge is square, in a cup
#: that meets it at 60 degrees or more; from the second on the flow follows it, as it does a
#: rounding of 0.16 throat diameters (the handbooks' entry losses end between 0.14 and 0.2).
WIDER = 1.1
SQUARE, FOLLOWED = 0.03, 0.12


@dataclass(frozen=True)
class Passage:
    """Lengths in throat diameters, areas over the throat's.

    Attributes
    ----------
    throat_start, throat_end, end : float
        Distances of the throat's ends and of the shank end from the rim plane.
    run_in : float
        Length of the stretch before the throat over which the bore is at most a tenth wider:
        0 before a square edge, 0.36 of the square root of its radius before a rounded one.
    cup_area, end_area : float
        Areas of the rim plane and of the shank end.
    cone_angle : float
        Included angle of the straight cone from the throat's end to the shank end [degrees]; that
        of a sudden enlargement is 180.
    """

    throat_start: float
    throat_end: float
    end: float
    run_in: float
    cup_area: float
    end_area: float
    cone_angle: float

    @property
    def throat_length(self) -> float:
        """Length of the throat."""
        return self.throat_end - self.throat_start

    @property
    def sharpness(self) -> float:
        """1 for a square edge, falling to 0 for an entry that the flow follows; smooth between."""
        share = min(max((self.run_in - SQUARE) / (FOLLOWED - SQUARE), 0.0), 1.0)
        return 1 - share * share * (3 - 2 * share)


def passage(bore: Bore) -> Passage:
    """Read a bore's passage; a bore without a part named throat is all throat."""
    diameter = 2 * bore.throat_radius
    start, end = bore.throat_start, bore.throat_end
    return Passage(
        throat_start=start / diameter,
        throat_end=end / diameter,
        end=bore.length / diameter,
        run_in=(start - _narrow_from(bore)) / diameter,
        cup_area=(bore.rim_radius / bore.throat_radius) ** 2,
        end_area=(bore.shank_radius / bore.throat_radius) ** 2,
        cone_angle=_cone_angle(bore),
    )


def _narrow_from(bore: Bore) -> float:
    """Where before the throat the bore becomes, for good, less than `WIDER` throats wide [m]."""
    limit, throat_start = WIDER * bore.throat_radius, bore.throat_start
    for segment in reversed([s for s in bore.segments if s.stop[0] <= throat_start]):
        if segment.start[1] > limit >= segment.stop[1]:
            if segment.is_step:
                return float(segment.start[0])
            place = brentq(lambda t, s=segment: float(s(t)[1]) - limit, 0.0, 1.0)
            return float(segment(place)[0])
    return 0.0


def _cone_angle(bore: Bore) -> float:
    """Included angle of the widening behind the throat, as if straight over its own length."""
    throat_end, throat_radius = bore.throat_end, bore.throat_radius
    behind = [s for s in bore.segments if s.start[0] >= throat_end]
    widest = max((float(s.stop[1]) for s in behind), default=throat_radius)
    rise = widest - throat_radius
    if rise <= 0:
        return 0.0
    steps = sum(abs(float(s.stop[1] - s.start[1])) for s in behind if s.is_step)
    if steps > 0.5 * rise:
        return 180.0
    reached = next(s for s in behind if float(s.stop[1]) >= widest)
    length = float(reached.stop[0]) - throat_end
    return float(np.degrees(2 * np.arctan(rise / length)))
