"""A bore's dimensions in the handbooks' terms."""

import numpy as np

from borestudy.bore import Bore
from borestudy.closed_form.handbook import SMOOTH_ENTRY, Dimensions


def handbook_dimensions(bore: Bore, pipe_behind: float = 0.0) -> Dimensions:
    """What the handbooks need of a bore, with a length [m] of straight pipe behind it.

    The edge of a measured bore is known between its stations only: it may be anything from square
    to rounded so far that the flow follows it.
    """
    diameter = 2 * bore.throat_radius
    asked, chamfer = bore.entry, None
    radii = (0.0, SMOOTH_ENTRY * diameter)
    if asked is not None:
        radii = (min(asked.sizes, default=0.0), max(asked.sizes, default=0.0))
        if asked.shape == "chamfered":
            radii, chamfer = (0.0, 0.0), (asked.sizes[0], float(np.degrees(asked.angle)))
    return Dimensions(
        cup_diameter=2 * bore.rim_radius,
        throat_diameter=diameter,
        outlet_diameter=2 * bore.shank_radius,
        throat_length=bore.throat_end - bore.throat_start,
        backbore_length=bore.length - bore.throat_end,
        entry_radius=radii,
        chamfer=chamfer,
        funnel_angle=funnel_angle(bore),
        pipe_length=pipe_behind,
    )


def funnel_angle(bore: Bore) -> float | None:
    """Included angle of the cup's wall where the entry begins [degrees]; None without a funnel."""
    cup = [segment for segment in bore.segments if segment.part == "cup"]
    if not cup:
        return None
    along, across = cup[-1].tangent(1.0)
    angle = 2 * float(np.degrees(np.arctan2(-across, along)))
    return angle if 0 < angle < 180 else None
