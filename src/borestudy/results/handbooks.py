"""What the handbooks say of a bore's pressure drop, which stands beside the answer."""

import numpy as np

from borestudy.bore import Bore
from borestudy.closed_form import handbook as books
from borestudy.closed_form.handbook import SMOOTH_ENTRY, Dimensions, Span
from borestudy.results.estimate import BACKBORE, TO_THROAT_END, WHOLE


def handbook_dimensions(bore: Bore, pipe_behind: float = 0.0) -> Dimensions:
    """What the handbooks need of a bore, with a length [m] of straight pipe after it.

    The edge of a measured bore is known between its stations only: it may be anything from square
    to rounded so far that the flow follows it.
    """
    diameter = 2 * bore.throat_radius
    radii, chamfer = (0.0, SMOOTH_ENTRY * diameter), None
    if (asked := bore.entry) is not None:
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


def handbook_at(
    dimensions: Dimensions, reynolds: float, dynamic_pressure: float
) -> dict[str, Span]:
    """The handbooks' spans of the pressure drop and its halves [Pa].

    They are at a throat Reynolds number and dynamic pressure [Pa].
    """
    halves = {
        TO_THROAT_END: books.pressure_drop_to_throat_end(dimensions, reynolds),
        BACKBORE: books.backbore_pressure_drop(dimensions, reynolds),
    }
    spans = {WHOLE: halves[TO_THROAT_END] + halves[BACKBORE], **halves}
    return {drop: span.scaled(dynamic_pressure) for drop, span in spans.items()}
