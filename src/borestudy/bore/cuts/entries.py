"""A throat entry cut from a measured bore.

**What is cut.**  A rounding is the arc of a ball in the metal that rests on the cup's wall and on
the throat's (`borestudy.bore.cuts.rolling`): it begins and ends where the ball touches them.  A
chamfer is the face of a cone of its angle, fed along the axis until the face is as long as asked
for: it begins on the cup's wall at the height over the throat that its length and angle give, and
ends on the throat's wall.

**What cannot be cut.**  The edge of a measured bore may be rounded already.  The entry that is
asked for, cut from the sharp edge (`borestudy.bore.cuts.edges`), shows whether it would need metal
that is no longer there.  One that would stand inside the measured wall by more than the error of
two radii is refused.  Where none of it does, only metal is removed: the entry is cut from the wall
as it was measured.  A new piece has the entry cut from the sharp edge where the measured wall does
not leave it.
"""

import numpy as np
from scipy.optimize import brentq

from borestudy.bore.bore import Bore
from borestudy.bore.cuts.edges import Halves, sharpened
from borestudy.bore.cuts.rolling import rest
from borestudy.bore.cuts.wall import added_metal, joined, radii
from borestudy.bore.entry import KEY, Entry
from borestudy.bore.errors import BoreError, millimetres
from borestudy.bore.measured.errors import READING
from borestudy.bore.segment import Segment, line

#: What is missing from a sharp edge where its radius and the measured one, each off by half a
#: reading's error, differ by more than their errors do [m].
LIMIT = READING / np.sqrt(2)
#: Metal added by a cut that is rounding of its computation alone [m].
ROUNDING = 1e-9


class Misfit(ValueError):
    """Why a wall does not have an entry."""


def check_entry(bore: Bore, entry: Entry, *, new: bool = False) -> bool:
    """Whether an entry is to be cut from the edge made sharp, and not from the wall as it is.

    Parameters
    ----------
    bore : Bore
        With parts named ``cup`` and ``throat``.
    entry : Entry
        As a tool cuts it.
    new : bool
        Whether a new piece is made, to which the measured bore is but the pattern.

    Raises
    ------
    BoreError
        If the entry does not fit, or needs metal that is not there.
    """
    halves = _halves(bore)
    try:
        return _checked(halves, entry, new=new)
    except Misfit as problem:
        example = _example(halves, entry, new=new)
        found = f"found {str(entry)!r}{problem}, for example {example}"
        raise BoreError(KEY, found) from None


def with_entry(bore: Bore, entry: Entry, *, sharp: bool = False) -> Bore:
    """The bore with an entry cut from the edge between its cup and its throat.

    Parameters
    ----------
    bore : Bore
        With parts named ``cup`` and ``throat``.
    entry : Entry
        As a tool cuts it.
    sharp : bool
        Whether the edge is made sharp before, which adds metal: see `check_entry`.

    Raises
    ------
    ValueError
        If the entry does not fit.
    """
    halves = _halves(bore)
    return Bore(_cut(sharpened(halves) if sharp else halves, entry), entry)


def _halves(bore: Bore) -> Halves:
    parts = [segment.part for segment in bore.segments]
    if "throat" not in parts or "cup" not in parts:
        raise BoreError(
            KEY,
            "found a bore that narrows from its rim on to no throat; allowed is a bore with a cup "
            "and a throat after it, for example stations at 0 mm, 10 mm and 15 mm of 16 mm, "
            "3.66 mm and 3.66 mm",
        )
    first = parts.index("throat")
    return Halves(list(bore.segments[:first]), list(bore.segments[first:]))


def _checked(halves: Halves, entry: Entry, *, new: bool) -> bool:
    """As `check_entry`, a Misfit where there is no such entry."""
    measured = halves.whole
    depth, place = added_metal(measured, _cut(sharpened(halves), entry))
    if depth > LIMIT:
        if new:
            return True
        raise Misfit(
            ", which would add metal: the edge is rounded already, and the wall as it was measured "
            f"is wider there by up to {_digits(2 * depth)} in diameter, {_digits(place)} from the "
            "rim plane; allowed is what only removes metal, or 'piece: new' in the study's bore"
        )
    depth, place = added_metal(measured, _cut(halves, entry))
    if depth > ROUNDING:
        raise Misfit(
            f", which would add metal: the wall as it was measured is wider by up to "
            f"{_digits(2 * depth)} in diameter, {_digits(place)} from the rim plane; allowed is "
            "what only removes metal"
        )
    return False


def _cut(halves: Halves, entry: Entry) -> list[Segment]:
    """The wall with the entry cut from the edge that it has."""
    if entry.shape == "square":
        return halves.whole
    if entry.shape == "chamfered":
        return _chamfered(halves, entry.sizes[0], entry.angle)
    along, across = entry.sizes[0], entry.sizes[-1]
    return _rounded(halves, along, across)


def _rounded(halves: Halves, along: float, across: float) -> list[Segment]:
    arc = rest(halves.cup, halves.rest, across, across / along)
    if arc is None:
        raise Misfit(
            ", of which nothing is cut: the edge is rounded as far already; allowed is a larger one"
        )
    first, last = arc.first, arc.last
    if first.number == 0 and first.parameter == 0.0:
        raise Misfit(", which reaches beyond the rim; allowed is a smaller one")
    if halves.rest[last.number].part != "throat":
        raise Misfit(", which ends behind the throat; allowed is a smaller one")
    cup = [*halves.cup[: first.number], halves.cup[first.number].split(first.parameter)[0]]
    behind = [halves.rest[last.number].split(last.parameter)[1], *halves.rest[last.number + 1 :]]
    return _after_throat_left([*cup, arc.segment, *behind])


def _chamfered(halves: Halves, length: float, angle: float) -> list[Segment]:
    height = length * float(np.tan(angle))
    whole = halves.whole
    end = float(whole[-1].stop[0])

    def over(place: float, piece: Segment) -> float:
        """How much more than the face's height a place is above what lies its length behind."""
        x, r = piece(place)
        return float(r - height - radii(whole, np.array([min(x + length, end)]))[0])

    higher = [number for number, piece in enumerate(halves.cup) if over(0.0, piece) >= 0]
    if not higher:
        raise Misfit(
            f" on a cup wall that is nowhere {millimetres(height)} higher than what lies "
            f"{millimetres(length)} behind it, so that it would cut no metal; allowed is a smaller "
            "angle or length"
        )
    number = higher[-1]
    piece, place = halves.cup[number], 1.0
    if over(1.0, piece) < 0:
        place = float(brentq(over, 0.0, 1.0, (piece,), xtol=1e-16, rtol=1e-14))
    start = piece(place)
    before = [*halves.cup[:number], piece.split(place)[0]]
    x = float(start[0] + length)
    behind = [one for one in halves.rest if one.stop[0] > x]
    if x < halves.rest[0].start[0] or not behind or behind[0].part != "throat":
        raise Misfit(", which does not end in the throat; allowed is a length that does")
    first = behind[0].split(behind[0].parameter_at(x, axis=0))[1]
    face = line(start, first.start, "entry")
    return _after_throat_left([*before, face, first, *behind[1:]])


def _after_throat_left(segments: list[Segment]) -> list[Segment]:
    kept = joined(segments)
    if not any(segment.part == "throat" for segment in kept):
        raise Misfit(", which leaves no throat; allowed is a smaller one")
    return kept


def _fits(halves: Halves, entry: Entry, *, new: bool) -> bool:
    try:
        _checked(halves, entry, new=new)
    except Misfit:
        return False
    return True


def _example(halves: Halves, entry: Entry, *, new: bool) -> str:
    """The entry of round sizes and the shape asked for that fits and is nearest to what is asked.

    Where none fits it is a square one, or the one that was measured.
    """
    factors = sorted((1.4**step for step in range(-16, 9)), key=lambda one: abs(np.log(one)))
    for share in (1, 2, 4) if entry.shape == "chamfered" else (1,):
        angle = float(np.radians(np.floor(np.degrees(entry.angle) / share)))
        for factor in factors if entry.sizes else []:
            # In twentieths of a millimetre.
            sizes = tuple(max(round(2e4 * factor * size), 1) / 2e4 for size in entry.sizes)
            tried = Entry(entry.shape, sizes, angle or entry.angle)
            if _fits(halves, tried, new=new):
                return str(tried)
    return "square" if _fits(halves, Entry(), new=new) else "as measured"


def _digits(length: float) -> str:
    return f"{1e3 * length:.3g} mm"
