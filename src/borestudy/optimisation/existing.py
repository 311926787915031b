"""A bore that exists already: metal can be taken away and none put back.

The new wall may lie nowhere inside the old one: at every place along the axis the new radius is at
least the old one.  The bore may be shortened at the shank end.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from borestudy.bore import Bore, Dimension, Segment, places_on_wall

Real = NDArray[np.float64]

#: Points of each segment of the wall that are looked at, and the most of the old wall's outline.
PLACES, OUTLINE = 17, 257
#: How far a new wall may lie inside an old one [m]: far less than can be cut or measured.
ROOM = 1e-7


def added_metal(old: Bore, new: Bore) -> tuple[float, float]:
    """Where the new wall lies farthest inside the old one.

    Returns
    -------
    (float, float) [m]
        By how much, negative where it lies inside, and the place along the axis.
    """
    points, normals = _places(new, PLACES * 4)
    gaps, _ = _gaps(old, points, normals)
    least = int(np.argmin(gaps))
    return float(gaps[least]), float(points[0, least])


def wall_gaps(old: Bore, new: Bore, dimensions: Sequence[Dimension]) -> tuple[Real, Real, Real]:
    """How far places of the new wall lie outside the old one, and the derivative of that.

    Parameters
    ----------
    old, new : Bore
        The bore that exists, and what shall become of it.
    dimensions : sequence of Dimension
        The new bore's.

    Returns
    -------
    gaps : array, shape (k,) [m]
        Negative inside the old wall, where there would have to be metal again.
    slopes : array, shape (k, n) [m per SI unit]
        Derivative of each gap by each dimension.
    positions : array, shape (k,) [m]
        Where along the axis the places lie.
    """
    points, normals = _places(new, PLACES)
    gaps, outward = _gaps(old, points, normals)
    places = places_on_wall(new, points)
    slopes = np.array([(one.velocity(places) * outward).sum(axis=0) for one in dimensions])
    # Longer than the old bore it would be all metal there.
    gaps = np.append(gaps, old.length - new.length)
    end = places_on_wall(new, points[:, -1:])
    longer = [float(one.velocity(end)[0, 0]) for one in dimensions]
    slopes = np.column_stack([slopes, -np.array(longer)]) if len(dimensions) else slopes
    return gaps, slopes.T, np.append(points[0], new.length)


def _places(bore: Bore, count: int) -> tuple[Real, Real]:
    """Points of the wall, (2, k), and unit vectors into the metal there."""
    # Not at the very ends of a segment, where a wall has two normals.
    at = 0.5 - 0.5 * np.cos(np.linspace(0.02, np.pi - 0.02, count))
    points = np.vstack([segment(at) for segment in bore.segments]).T
    along = np.vstack([segment.derivative(at) for segment in bore.segments]).T
    along = along / np.maximum(np.hypot(*along), 1e-300)
    return points, np.array([-along[1], along[0]])


def _outline(segment: Segment) -> Real:
    """Points of a segment whose chords stay a tenth of the room from it, up to `OUTLINE`."""
    # A polynomial curve is off a chord by an eighth of its second derivative.
    bend = np.abs(np.diff(segment.points, 2, axis=0)).max(initial=0.0)
    off = segment.degree * (segment.degree - 1) * bend / 8
    count = min(2 + int(np.sqrt(10 * off / ROOM)), OUTLINE)
    return segment(np.linspace(0, 1, count))


def _gaps(old: Bore, points: Real, normals: Real) -> tuple[Real, Real]:
    """Distance of points (2, k) from the old wall, and its gradient there, (2, k).

    It is positive in the old bore's metal; where a point lies on the old wall its own normal is the
    gradient.
    """
    wall = np.vstack([_outline(segment) for segment in old.segments])
    start, along = wall[:-1], np.diff(wall, axis=0)
    length = np.maximum((along**2).sum(axis=1), 1e-300)
    gaps, gradients = np.empty(points.shape[1]), normals.copy()
    for number, point in enumerate(points.T):
        share = np.clip(((point - start) * along).sum(axis=1) / length, 0, 1)
        offset = point - (start + share[:, None] * along)
        distance = np.hypot(*offset.T)
        near = np.flatnonzero(distance <= distance.min() + 1e-12)
        # At a corner the side is that of the piece that is seen most from the front.
        cross = along[near, 0] * offset[near, 1] - along[near, 1] * offset[near, 0]
        seen = int(np.argmax(np.abs(cross) / np.sqrt(length[near])))
        side = 1.0 if cross[seen] >= 0 else -1.0
        gaps[number] = side * distance.min()
        if distance.min() > ROOM:
            gradients[:, number] = side * offset[near[seen]] / distance[near[seen]]
    return gaps, gradients
