"""The sharp edge that a measured bore had between cup and throat before it was rounded, if it was.

It is where the cup's wall, at its steepest nearest to the throat and continued straight, meets the
median radius of the throat.  The steepness of a place is that of the chord over which the wall
falls by ten readings' errors, which two readings leave uncertain by a twentieth of a radian: the
place nearest to the throat that is as steep as the steepest to within so much is taken.  A cup that
steepens up to its edge would have met the throat farther on than this says, so that what is missing
from the edge is told too small and not too large.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from borestudy.bore.cuts.wall import joined, radii
from borestudy.bore.measured.errors import READING
from borestudy.bore.segment import Segment, line

#: A place's steepness is that of the chord over which the wall falls by so much [m].
FALL = 10 * READING
#: What two readings leave uncertain of it [rad]: half a reading's error, in the radius, at each end
#: of it by the rule of roots of squares, rounded down since both are seldom so large.
STEEPNESS = 0.05
#: Places of a curve whose steepness is looked at.
PLACES = np.linspace(0, 1, 9)[1:]
#: Places of the throat of whose radii the median is its own.
THROAT_PLACES = 101


@dataclass(frozen=True)
class Halves:
    """The wall before the throat's first place, and from there on."""

    cup: list[Segment]
    rest: list[Segment]

    @property
    def whole(self) -> list[Segment]:
        """All of it."""
        return [*self.cup, *self.rest]


def sharpened(halves: Halves) -> Halves:
    """The wall with the edge that it had before it was rounded, if it was."""
    throat = [one for one in halves.rest if one.part == "throat" and not one.is_step]
    x = np.linspace(throat[0].start[0], throat[-1].stop[0], THROAT_PLACES)
    level = float(np.median(radii(throat, x)))
    upper, lower = _steepest(halves.cup)
    fall = upper[1] - lower[1]
    if not (lower[1] > level and fall > 0):
        return halves
    corner = np.array([lower[0] + (upper[0] - lower[0]) * (level - lower[1]) / fall, level])
    reached = _from_radius(halves.rest, level)
    if not (reached and lower[0] <= corner[0] < reached[0].start[0]):
        return halves
    kept = _until(halves.cup, float(lower[0]), float(lower[1]))
    cup = joined([*kept, line(lower, corner, "cup")])
    return Halves(cup, [line(corner, reached[0].start, "throat"), *reached])


def _from_radius(wall: list[Segment], radius: float) -> list[Segment]:
    """The wall from where it is no wider than a radius on; nothing where it is nowhere."""
    for number, piece in enumerate(wall):
        if piece.start[1] <= radius:
            return wall[number:]
        if piece.stop[1] <= radius:
            behind = piece.split(piece.parameter_at(radius, axis=1))[1]
            return [behind, *wall[number + 1 :]]
    return []


def _until(wall: list[Segment], x: float, radius: float) -> list[Segment]:
    """The wall up to a place on it."""
    kept: list[Segment] = []
    for piece in wall:
        if piece.stop[0] < x or (piece.stop[0] == x and piece.stop[1] >= radius):
            kept.append(piece)
            continue
        if piece.start[0] < x:
            kept.append(piece.split(piece.parameter_at(x, axis=0))[0])
        break
    return kept


def _steepest(cup: list[Segment]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The chord, from (x, r) to (x, r) [m], of the place nearest the throat that is steepest."""
    points = np.vstack(
        [cup[0].start[None], *(one(PLACES) if one.degree > 1 else one.stop[None] for one in cup)]
    )
    chords = []
    for number in range(1, len(points)):
        lower = points[number]
        higher = np.flatnonzero(points[:number, 1] >= lower[1] + FALL)
        if not len(higher):
            continue
        top = int(higher[-1])
        # On the wall between two of the places, where it has fallen by so much.
        share = (lower[1] + FALL - points[top + 1, 1]) / (points[top, 1] - points[top + 1, 1])
        upper = points[top + 1] + share * (points[top] - points[top + 1])
        angle = float(np.arctan2(upper[1] - lower[1], lower[0] - upper[0]))
        chords.append((angle, upper, lower))
    if not chords:
        return points[0], points[-1]
    steepest = max(angle for angle, *_ in chords)
    nearest = [chord for chord in chords if chord[0] >= steepest - STEEPNESS][-1]
    return nearest[1], nearest[2]
