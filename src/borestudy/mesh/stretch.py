"""Long triangles where the flow changes along the bore more slowly than across it.

The bore behind a place is drawn shorter than it is, meshed with triangles of any shape the sizes
ask for, and the mesh is pulled out again to the bore's length.  A pull along the axis is affine,
so the wall's curves stay what they are and so do the second-order triangles on them.
"""

from dataclasses import replace

import numpy as np

from borestudy.bore import Bore, Segment


def divided(bore: Bore, position: float) -> Bore:
    """The same bore with a joint between two segments at a position [m], if that is inside it."""
    segments: list[Segment] = []
    for segment in bore.segments:
        if segment.start[0] < position < segment.stop[0]:
            segments += segment.split(segment.parameter_at(position, axis=0))
        else:
            segments.append(segment)
    return Bore(segments, bore.entry)


def shortened(bore: Bore, position: float, factor: float) -> Bore:
    """The bore with all that lies behind a joint [m] shorter by a factor."""

    def place(points: np.ndarray) -> np.ndarray:
        behind = np.maximum(points[:, 0] - position, 0.0)
        return np.column_stack([points[:, 0] - behind * (1 - 1 / factor), points[:, 1]])

    segments = [replace(segment, points=place(segment.points)) for segment in bore.segments]
    return Bore(segments, bore.entry)
