"""The whole generatrix of a bore, from the rim plane to the shank end."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from borestudy.bore.entry import Entry
from borestudy.bore.segment import Segment, line

# Ends of neighbouring segments may differ by rounding of their control points only.
JOIN_TOLERANCE = 1e-12
# Directions closer than this are tangent: rounding of a fillet's control points is far below.
CORNER_ANGLE = 1e-6


class Bore:
    """A bore of revolution about the x axis.

    Parameters
    ----------
    segments : sequence of Segment
        Pieces from the rim plane at x = 0 to the shank end, each starting where the last stops.
    entry : Entry, optional
        How the throat entry was asked for; None where the bore was not made from dimensions.

    Raises
    ------
    ValueError
        If the segments do not join, go back along the axis, or touch it.
    """

    def __init__(self, segments: Sequence[Segment], entry: Entry | None = None) -> None:
        self.segments = tuple(segments)
        self.entry = entry
        for before, after in pairwise(self.segments):
            if np.abs(before.stop - after.start).max() > JOIN_TOLERANCE:
                raise ValueError(f"segments do not join: {before.stop} m and {after.start} m")
        for segment in self.segments:
            if (np.diff(segment.points[:, 0]) < 0).any():
                raise ValueError(f"segment of the {segment.part} goes back: {segment.points} m")
            if (segment.points[:, 1] <= 0).any():
                raise ValueError(
                    f"segment of the {segment.part} meets the axis: {segment.points} m"
                )

    @property
    def length(self) -> float:
        """Overall length, rim plane to the end of the last segment [m]."""
        return float(self.segments[-1].stop[0])

    @property
    def rim_radius(self) -> float:
        """Radius in the rim plane [m]."""
        return float(self.segments[0].start[1])

    @property
    def shank_radius(self) -> float:
        """Radius at the end of the last segment [m]."""
        return float(self.segments[-1].stop[1])

    @property
    def throat_radius(self) -> float:
        """Least radius [m]; no segment is narrower between its ends than at them."""
        return float(min(segment.points[[0, -1], 1].min() for segment in self.segments))

    @property
    def parts(self) -> tuple[str, ...]:
        """Names of the parts in order."""
        return tuple(dict.fromkeys(segment.part for segment in self.segments))

    @property
    def part_ranges(self) -> dict[str, tuple[float, float]]:
        """Start and end of each part along the axis [m]."""
        starts = {segment.part: float(segment.start[0]) for segment in reversed(self.segments)}
        stops = {segment.part: float(segment.stop[0]) for segment in self.segments}
        return {part: (starts[part], stops[part]) for part in self.parts}

    @property
    def throat_start(self) -> float:
        """Where the throat begins [m]; a bore without a part of that name is all throat."""
        return self.part_ranges.get("throat", (0.0, self.length))[0]

    @property
    def throat_end(self) -> float:
        """Where the throat ends [m]."""
        return self.part_ranges.get("throat", (0.0, self.length))[1]

    @property
    def corners(self) -> list[tuple[NDArray[np.float64], float]]:
        """Places where the wall turns, shape (2,) [m], each with its turning angle [rad].

        Positive where the wall turns outward (toward the metal): an edge that air must go
        round has such a turn.
        """
        joints = zip(self.segments, self.turns, strict=False)
        return [(segment.stop, turn) for segment, turn in joints if abs(turn) > CORNER_ANGLE]

    @property
    def turns(self) -> list[float]:
        """Angle by which the wall turns at the end of each segment but the last [rad]."""
        angles = []
        for before, after in pairwise(self.segments):
            (x0, r0), (x1, r1) = before.tangent(1.0), after.tangent(0.0)
            angles.append(float(np.arctan2(x0 * r1 - r0 * x1, x0 * x1 + r0 * r1)))
        return angles

    def radius(self, position: ArrayLike) -> NDArray[np.float64]:
        """Radius at positions along the axis [m], same shape; at a step the one after it."""
        positions = np.asarray(position, float)
        radii = np.empty(positions.shape)
        for index, x in np.ndenumerate(positions):
            pieces = [s for s in self.segments if not s.is_step and s.start[0] <= x <= s.stop[0]]
            if not pieces:
                raise ValueError(f"found position {x} m; allowed is 0 to {self.length} m")
            radii[index] = pieces[-1](pieces[-1].parameter_at(x, axis=0))[1]
        return radii

    def volume(self, part: str | None = None) -> float:
        """Volume of one part, or of all of the bore, π ∫ r² dx [m³]."""
        chosen = [s for s in self.segments if part in (None, s.part) and not s.is_step]
        return float(sum(segment.volume() for segment in chosen))

    def divided(self, position: float) -> "Bore":
        """The same bore with a joint between two segments at a position [m] if that is inside."""
        segments: list[Segment] = []
        for segment in self.segments:
            inside = segment.start[0] < position < segment.stop[0]
            place = segment.parameter_at(position, axis=0) if inside else 0.0
            segments += segment.split(place) if inside else [segment]
        return Bore(segments, self.entry)

    def cut(self, position: float) -> tuple["Bore", "Bore"]:
        """The bore before and after a position along the axis [m], each from x = 0.

        Raises
        ------
        ValueError
            If the position is not inside the bore.
        """
        if not 0 < position < self.length:
            raise ValueError(f"found position {position} m; allowed is inside 0 to {self.length} m")
        pieces = self.divided(position).segments
        # A joint's own x is exact to rounding only.
        front = [piece for piece in pieces if piece.start[0] + piece.stop[0] <= 2 * position]
        back = [replace(s, points=s.points - [position, 0.0]) for s in pieces[len(front) :]]
        back[0].points[0, 0] = 0.0
        return Bore(front), Bore(back)

    def extended(self, length: float, part: str = "pipe") -> "Bore":
        """The bore with a straight pipe after it, as wide as the shank end, length in m."""
        x, r = self.segments[-1].stop
        return Bore([*self.segments, line((x, r), (x + length, r), part)], self.entry)


def cylinder(radius: float, length: float, part: str = "throat") -> Bore:
    """A straight pipe, dimensions in m."""
    return cone(radius, radius, length, part)


def cone(first_radius: float, last_radius: float, length: float, part: str = "backbore") -> Bore:
    """A straight cone from the rim plane to the shank end, dimensions in m."""
    return Bore([line((0.0, first_radius), (length, last_radius), part)])


@dataclass(frozen=True, kw_only=True)
class BoreDescription:
    """Lengths, diameters and volumes of a bore, exact to rounding."""

    length_mm: float
    rim_diameter_mm: float
    throat_diameter_mm: float
    throat_length_mm: float
    end_diameter_mm: float
    #: Volume of all that lies before the throat, so of the entry as well.
    cup_volume_cm3: float
    throat_volume_cm3: float
    backbore_volume_cm3: float
    #: Shape of the throat entry.
    entry: str | None = None
    #: Start and end of each part [mm from the rim plane].
    parts: Mapping[str, tuple[float, ...]] = field(default_factory=dict)
    #: What is to be said of the stations that the bore was made from.
    doubtful_stations: tuple[str, ...] = ()


def describe(bore: Bore) -> BoreDescription:
    """Lengths, diameters and volumes of a bore of any origin."""
    volumes = {part: 1e6 * bore.volume(part) for part in bore.parts}
    return BoreDescription(
        length_mm=1e3 * bore.length,
        rim_diameter_mm=2e3 * bore.rim_radius,
        throat_diameter_mm=2e3 * bore.throat_radius,
        throat_length_mm=1e3 * (bore.throat_end - bore.throat_start),
        end_diameter_mm=2e3 * bore.shank_radius,
        cup_volume_cm3=volumes.get("cup", 0.0) + volumes.get("entry", 0.0),
        throat_volume_cm3=volumes.get("throat", 0.0),
        backbore_volume_cm3=volumes.get("backbore", 0.0),
        entry=bore.entry.shape if bore.entry else None,
        parts={part: (1e3 * start, 1e3 * stop) for part, (start, stop) in bore.part_ranges.items()},
    )
