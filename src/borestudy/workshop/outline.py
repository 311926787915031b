"""The wall of a bore as entities of a drawing, in mm: exact, since its curves are rational too.

A piece of the generatrix is a rational Bézier curve (`borestudy.bore.segment`), which DXF knows as
a SPLINE with weights whose knots are 0 and 1 only (Autodesk, DXF Reference, SPLINE).
"""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from borestudy.bore import Bore
from borestudy.bore.segment import Segment

MM = 1e3
#: Points on a curve where a polygon stands for it, as in hatching.
POINTS = 33


def add_wall(space: Any, bore: Bore, *, mirrored: bool = False, **attributes: Any) -> None:
    """Add the wall to a layout of ezdxf, one entity a segment; attributes are those of DXF."""
    for segment in bore.segments:
        points = MM * segment.points * [1.0, -1.0 if mirrored else 1.0]
        if segment.degree == 1:
            space.add_line(*points, dxfattribs=attributes)
        else:
            _add_curve(space, segment, points, attributes)


def _add_curve(
    space: Any, segment: Segment, points: NDArray[np.float64], attributes: dict[str, Any]
) -> None:
    order = segment.degree + 1
    curve = space.add_spline(degree=segment.degree, dxfattribs=attributes)
    curve.control_points = [(x, r, 0.0) for x, r in points]
    curve.knots = [0.0] * order + [1.0] * order
    curve.weights = segment.weights.tolist()


def sampled(bore: Bore) -> NDArray[np.float64]:
    """Points on the wall from rim plane to shank end, shape (n, 2) [mm]."""
    places = np.linspace(0, 1, POINTS)
    pieces = [s(places if s.degree > 1 else places[[0, -1]]) for s in bore.segments]
    return MM * np.concatenate(pieces)


def stations(bore: Bore, count: int) -> Sequence[tuple[float, float]]:
    """Positions and diameters [mm] that a template can be checked at, `count` or a few more.

    Half of them are along the cup, since its wall is curved; every end of a part is one.
    """
    edges = sorted({0.0, bore.length, *(end for pair in bore.part_ranges.values() for end in pair)})
    cup = bore.throat_start
    inside = [*np.linspace(0, cup, count // 2 + 1), *np.linspace(cup, bore.length, count // 2 + 1)]
    places = [x for x in inside if min(abs(x - edge) for edge in edges) > bore.length / 200]
    return [(MM * x, 2 * MM * float(bore.radius(x))) for x in sorted([*edges, *places])]
