"""Drills, reamers and the lathe: what they cut from a measured bore, and where they meet its wall.

**Throat opened.**  A drill that is run through the bore leaves nothing narrower than itself: the
wall is the measured one where that is wider, and the drill's cylinder elsewhere.  It meets the
measured wall in front of the throat and behind it where that is as wide as the drill, and the
throat is what lies between, longer than it was.  A new piece may have a narrower throat: a cylinder
in the place of the measured one, with cup and backbore blended to it.

**Blended to a new end.**  The radius of the cup, or of the backbore, is changed in proportion to
the distance from the throat, by nothing there and by half of what its end's diameter is changed by
at the rim plane or at the shank end.

**Cup deeper, throat of another length.**  The cup's wall is stretched along the axis to its new
depth, and the throat ends where it did.  The backbore's wall is stretched along the axis from the
throat's new end to the shank end.  Where the throat's own wall is not as wide there as where it was
measured to end, cup or backbore are blended to it.

**Faced off.**  The shank end is cut square to the axis; what is in front of it stays.  In a longer
new piece the backbore is stretched along the axis.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from borestudy.bore.bore import Bore
from borestudy.bore.cuts.wall import joined
from borestudy.bore.errors import below, check_diameter, millimetres, refusal
from borestudy.bore.segment import Segment, line

#: A drill narrower than the throat by less than this is as wide [m].
SAME = 1e-9


@dataclass(frozen=True)
class Parts:
    """The wall's segments before, in and behind the throat."""

    cup: list[Segment]
    throat: list[Segment]
    backbore: list[Segment]

    def whole(self) -> Bore:
        """The bore of all three."""
        return Bore(joined([*self.cup, *self.throat, *self.backbore]))


def parts_of(bore: Bore, key: str) -> Parts:
    """The three parts of a measured bore; a BoreError of the key where one is missing."""
    parts = Parts(*(
        [segment for segment in bore.segments if segment.part == name]
        for name in ("cup", "throat", "backbore")
    ))  # fmt: skip
    if not (parts.cup and parts.throat and parts.backbore):
        missing = [name for name, found in vars(parts).items() if not found]
        found = f"a bore without {' and '.join(missing)}"
        raise refusal(key, found, "is a bore with cup, throat and backbore", "as measured")
    return parts


def sizes_as_measured(bore: Bore) -> dict[str, float]:
    """The sizes [m] that changes are made to, by their keys, of a bore as it was measured."""
    return {
        "length": bore.length,
        "cup.diameter": 2 * bore.rim_radius,
        "cup.depth": bore.throat_start,
        "throat.diameter": 2 * bore.throat_radius,
        "throat.length": bore.throat_end - bore.throat_start,
        "backbore.end_diameter": 2 * bore.shank_radius,
    }


def faced(bore: Bore, length: float) -> Bore:
    """The bore cut off at a length [m], or its backbore stretched to a longer one."""
    key = "length"
    parts = parts_of(bore, key)
    start, now = float(parts.throat[-1].stop[0]), bore.length
    if not length > start:
        found = f"{millimetres(length)} of a bore whose throat ends at {millimetres(start)}"
        example = millimetres((start + now) / 2)
        raise refusal(key, found, "is more than that, so that a backbore is left", example)
    if length < now:
        return bore.cut(length)[0]
    return replace(parts, backbore=_stretched(parts.backbore, now, start, length, start)).whole()


def with_rim(bore: Bore, diameter: float) -> Bore:
    """The bore with its cup blended to another rim diameter [m]."""
    check_diameter("cup.diameter", diameter)
    parts = parts_of(bore, "cup.diameter")
    depth = float(parts.cup[-1].stop[0])
    change = diameter / 2 - bore.rim_radius
    _refuse_narrow("cup.diameter", diameter, bore, 2 * bore.rim_radius)
    return replace(parts, cup=_sheared(parts.cup, depth, 0.0, change)).whole()


def with_end(bore: Bore, diameter: float) -> Bore:
    """The bore with its backbore blended to another diameter of the shank end [m]."""
    key = "backbore.end_diameter"
    check_diameter(key, diameter)
    parts = parts_of(bore, key)
    start = float(parts.backbore[0].start[0])
    change = diameter / 2 - bore.shank_radius
    _refuse_narrow(key, diameter, bore, 2 * bore.shank_radius)
    return replace(parts, backbore=_sheared(parts.backbore, start, bore.length, change)).whole()


def drilled(bore: Bore, diameter: float) -> Bore:
    """The bore with its throat opened by a drill, or narrower, to a diameter [m]."""
    key, radius = "throat.diameter", diameter / 2
    check_diameter(key, diameter)
    parts = parts_of(bore, key)
    widest = min(bore.rim_radius, bore.shank_radius)
    if not radius < widest:
        found = f"{millimetres(diameter)} in a bore that ends {millimetres(2 * widest)} wide"
        raise refusal(key, found, "is less than both ends", below(bore.throat_radius + widest))
    if radius < bore.throat_radius - SAME:
        return _narrowed(parts, radius)
    pieces = [one for segment in bore.segments for one in _opened(segment, radius)]
    inside = [number for number, (one, _) in enumerate(pieces) if one.part == "throat"]
    first, last = inside[0], inside[-1]
    while pieces[first - 1][1]:
        first -= 1
    while pieces[last + 1][1]:
        last += 1
    named = [
        one.named("throat") if first <= number <= last else one
        for number, (one, _) in enumerate(pieces)
    ]
    return Bore(joined(named))


def _opened(segment: Segment, radius: float) -> list[tuple[Segment, bool]]:
    """A segment opened to a radius, in up to two pieces, and whether the drill has cut each."""
    ends = segment.start[1], segment.stop[1]
    if min(ends) >= radius:
        return [(segment, False)]
    pieces = [segment]
    if max(ends) > radius:
        pieces = list(segment.split(segment.parameter_at(radius, axis=1)))
    found = []
    for piece in pieces:
        cut = bool(piece.start[1] + piece.stop[1] < 2 * radius)
        (x0, _), (x1, _) = piece.start, piece.stop
        straight = line((x0, radius), (x1, radius), piece.part)
        found.append((straight if cut else piece, cut))
    return found


def _narrowed(parts: Parts, radius: float) -> Bore:
    """A new piece with a narrower throat, its cup and backbore blended to it."""
    start, stop = float(parts.throat[0].start[0]), float(parts.throat[-1].stop[0])
    end = float(parts.backbore[-1].stop[0])
    before, behind = parts.cup[-1].stop[1], parts.backbore[0].start[1]
    return Parts(
        _sheared(parts.cup, 0.0, start, radius - before),
        [line((start, radius), (stop, radius), "throat")],
        _sheared(parts.backbore, end, stop, radius - behind),
    ).whole()


def with_depth(bore: Bore, depth: float) -> Bore:
    """The bore with a cup of another depth [m], its throat ending where it did."""
    key = "cup.depth"
    parts = parts_of(bore, key)
    start, stop = float(parts.throat[0].start[0]), float(parts.throat[-1].stop[0])
    if not 0 < depth < stop:
        found = f"{millimetres(depth)} in a bore whose throat ends at {millimetres(stop)}"
        raise refusal(key, found, "is above zero and less than that", below((start + stop) / 2))
    cup = _stretched(parts.cup, start, 0.0, depth, 0.0)
    throat = parts.throat
    if depth < start:
        corner = throat[0].start
        throat = [line((depth, corner[1]), corner, "throat"), *throat]
    elif depth > start:
        throat = _behind(throat, depth)
        cup = _sheared(cup, 0.0, depth, float(throat[0].start[1] - cup[-1].stop[1]))
    return Parts(cup, throat, parts.backbore).whole()


def with_throat_length(bore: Bore, length: float) -> Bore:
    """The bore with a throat of another length [m] from its start, the backbore behind it."""
    key = "throat.length"
    parts = parts_of(bore, key)
    start, stop = float(parts.throat[0].start[0]), float(parts.throat[-1].stop[0])
    end = bore.length
    if not 0 < length < end - start:
        found = f"{millimetres(length)} of a throat that starts {millimetres(end - start)} before "
        allowed = "is above zero and less than that, so that a backbore is left"
        raise refusal(key, f"{found}the shank end", allowed, below(0.9 * (stop - start)))
    reached = start + length
    throat = parts.throat
    backbore = _stretched(parts.backbore, stop, end, reached, end)
    if reached > stop:
        corner = throat[-1].stop
        throat = [*throat, line(corner, (reached, corner[1]), "throat")]
    elif reached < stop:
        throat = _before(throat, reached)
        change = float(throat[-1].stop[1] - backbore[0].start[1])
        backbore = _sheared(backbore, end, reached, change)
    return Parts(parts.cup, throat, backbore).whole()


def _before(wall: list[Segment], x: float) -> list[Segment]:
    kept = [one for one in wall if one.stop[0] <= x]
    cut = [one for one in wall if one.start[0] < x < one.stop[0]]
    return kept + [one.split(one.parameter_at(x, axis=0))[0] for one in cut]


def _behind(wall: list[Segment], x: float) -> list[Segment]:
    kept = [one for one in wall if one.start[0] >= x]
    cut = [one for one in wall if one.start[0] < x < one.stop[0]]
    return [one.split(one.parameter_at(x, axis=0))[1] for one in cut] + kept


def _stretched(
    wall: Sequence[Segment], moved: float, kept: float, there: float, there_kept: float
) -> list[Segment]:
    """The wall stretched along the axis: one place [m] goes to another, a second one stays."""

    def place(x: NDArray[np.float64]) -> NDArray[np.float64]:
        return there_kept + (x - kept) * ((there - there_kept) / (moved - kept))

    return [
        replace(one, points=np.column_stack([place(one.points[:, 0]), one.points[:, 1]]))
        for one in wall
    ]


def _sheared(wall: Sequence[Segment], fixed: float, moved: float, change: float) -> list[Segment]:
    """The wall with its radius changed in proportion to the distance from a fixed place [m]."""

    def added(x: NDArray[np.float64]) -> NDArray[np.float64]:
        return change * (x - fixed) / (moved - fixed)

    return [
        replace(one, points=one.points + np.column_stack([np.zeros(len(one.points)),
                                                          added(one.points[:, 0])]))
        for one in wall
    ]  # fmt: skip


def _refuse_narrow(key: str, diameter: float, bore: Bore, now: float) -> None:
    throat = 2 * bore.throat_radius
    if not diameter > throat:
        found = f"{millimetres(diameter)} of a bore whose throat is {millimetres(throat)} wide"
        raise refusal(key, found, "is more than that", millimetres(now))
