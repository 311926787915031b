"""A ball in the metal that rests on the wall on both sides of an edge.

A tool that rounds an edge with a radius R leaves an arc tangent to the wall on either side: that of
a ball of that radius which lies in the metal and rests on both.  It rests on a wall whose points
are (x, r) if its centre, at x_c, is as high as

    c(x_c) = max over the points of r + √(R² - (x - x_c)²),

where it touches the wall in the point of the maximum: tangent to it inside a segment, or at a
corner that stands out into the metal's side of the wall.  On both sides of the edge at once it
rests where c of the one is c of the other.  As it lies in the metal, the arc between the points
that it touches nowhere leaves metal where there was none.

For an ellipse the axis is stretched so that it becomes a circle.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from borestudy.bore.segment import Segment, conic

#: Places of a curve among which the highest is looked for before it is found exactly.
SAMPLES = np.linspace(0, 1, 33)


@dataclass(frozen=True)
class Touch:
    """Where a ball rests on a wall: height of its centre [m], segment's number, parameter."""

    height: float
    number: int = -1
    parameter: float = 0.0


@dataclass(frozen=True)
class Arc:
    """An arc between two walls, and where on each it begins and ends."""

    segment: Segment
    first: Touch
    last: Touch


def rest(
    before: Sequence[Segment], after: Sequence[Segment], radius: float, stretch: float = 1.0
) -> Arc | None:
    """The arc of a ball that rests on the walls before and after their common edge.

    Parameters
    ----------
    before, after : sequence of Segment
        Walls that meet in the edge.
    radius : float
        Radius of the ball across the axis [m].
    stretch : float
        What the axis is multiplied by, so that an ellipse becomes the ball.

    Returns
    -------
    Arc or None
        None where the edge does not stand out, so that nothing is cut from it.
    """
    walls = [[piece.scaled(stretch) for piece in wall] for wall in (before, after)]
    edge = float(walls[0][-1].stop[0])

    def apart(centre: float) -> float:
        first, last = (_height(wall, centre, radius) for wall in walls)
        return last.height - first.height

    if apart(edge) >= 0:
        return None
    centre = float(brentq(apart, edge, edge + radius, xtol=1e-16, rtol=1e-14))
    first, last = (_height(wall, centre, radius) for wall in walls)
    start = walls[0][first.number](first.parameter)
    stop = walls[1][last.number](last.parameter)
    middle = np.array([centre, (first.height + last.height) / 2])
    u, v = (start - middle) / radius, (stop - middle) / radius
    share = 1 + float(u @ v)
    control = middle + radius * (u + v) / share
    arc = conic(start, control, stop, float(np.sqrt(share / 2)), "entry")
    return Arc(arc.scaled(1 / stretch), first, last)


def _height(wall: Sequence[Segment], centre: float, radius: float) -> Touch:
    """Where a ball whose centre is at a position rests on a wall."""
    near: list[tuple[float, int]] = []
    for number, piece in enumerate(wall):
        if piece.start[0] <= centre + radius and piece.stop[0] >= centre - radius:
            places = np.array([_on_line(piece, centre, radius)]) if piece.degree == 1 else SAMPLES
            near.append((float(_above(piece, places, centre, radius).max()), number))
    best = Touch(-np.inf)
    for about, number in sorted(near, reverse=True):
        piece = wall[number]
        # Between two of its places a curve is hardly higher than there: far lower ones are left.
        if about < best.height - float(np.linalg.norm(piece.stop - piece.start)) / len(SAMPLES):
            continue
        on = _on_line if piece.degree == 1 else _on_curve
        place = on(piece, centre, radius)
        height = float(_above(piece, np.array([place]), centre, radius)[0])
        if height > best.height:
            best = Touch(height, number, place)
    return best


def _above(
    piece: Segment, places: NDArray[np.float64], centre: float, radius: float
) -> NDArray[np.float64]:
    """Height of the centre at which the ball meets each place of a segment; -inf out of reach."""
    x, r = piece(places).T
    under = radius**2 - (x - centre) ** 2
    # What is out of reach by rounding alone is in reach.
    reached = under >= -1e-12 * radius**2
    return np.where(reached, r + np.sqrt(np.maximum(under, 0.0)), -np.inf)


def _on_line(piece: Segment, centre: float, radius: float) -> float:
    (x0, r0), (x1, r1) = piece.points
    if x1 == x0:
        return float(r1 > r0)
    slope = (r1 - r0) / (x1 - x0)
    touched = centre + radius * slope / np.hypot(1.0, slope)
    return float(np.clip((touched - x0) / (x1 - x0), 0.0, 1.0))


def _on_curve(piece: Segment, centre: float, radius: float) -> float:
    heights = _above(piece, SAMPLES, centre, radius)
    top = int(np.argmax(heights))
    low, high = SAMPLES[max(top - 1, 0)], SAMPLES[min(top + 1, len(SAMPLES) - 1)]

    def rising(place: float) -> float:
        (x, _), (along, across) = piece(place), piece.derivative(place)
        under = np.sqrt(max(radius**2 - (x - centre) ** 2, 0.0))
        return float(across * under - (x - centre) * along)

    if rising(low) > 0 > rising(high):
        return float(brentq(rising, low, high, xtol=1e-16, rtol=1e-14))
    return float(SAMPLES[top])
