"""A bore from its dimensions: cup, throat entry, throat and backbore.

The cup is a conic of weight √½ from the rim to the throat's edge, whose control point moves from
the middle of the chord (shape 0, a straight cone) to the corner at the bottom of the cup (shape 1,
a quarter of an ellipse, the full bowl). A curved backbore is a conic of the same weight with its
control point half-way from the middle of the chord to a corner; a number from -1 to 1 says how far
toward which: to the corner that opens early where it is above 0, to the other below.
"""

from collections.abc import Sequence
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from borestudy.bore.bore import Bore
from borestudy.bore.entry import Entry, cut_entry
from borestudy.bore.errors import below, check_diameter, check_length, millimetres, refusal
from borestudy.bore.segment import Segment, conic, line

QUARTER_TURN_WEIGHT = np.sqrt(0.5)
#: How far the control point of a backbore lies from the chord toward a corner, by its word.
TAPERS = {"straight": 0.0, "opening early": 0.5, "opening late": -0.5}

#: A usual throat [m], for messages.
THROAT = 3.66e-3

Taper = Literal["straight", "opening early", "opening late"] | float | Sequence[tuple[float, float]]


def bore_from_dimensions(
    *,
    length: float,
    cup_diameter: float,
    cup_depth: float,
    cup_shape: float,
    throat_diameter: float,
    throat_length: float,
    entry: Entry,
    backbore_end_diameter: float,
    backbore_taper: Taper = "straight",
) -> Bore:
    """A bore from its dimensions, all in m.

    Parameters
    ----------
    length : float
        Overall length, rim plane to shank end.
    cup_diameter, throat_diameter, backbore_end_diameter : float
        Diameters at the rim's inner edge, of the throat and at the shank end.
    cup_depth : float
        Depth from the rim plane to the edge where cup wall and throat meet.
    cup_shape : float
        Shape from 0 (straight cone) to 1 (full bowl).
    throat_length : float
        Length from that edge on: an entry is cut from cup and throat.
    entry : Entry
        Entry that is cut from the edge between cup and throat.
    backbore_taper : str, float or sequence of (float, float)
        ``straight``, ``opening early``, ``opening late``, a number from -1 to 1 (0 straight, 0.5
        opening early, -0.5 opening late), or stations: distance from the end of the throat and
        diameter there.

    Raises
    ------
    BoreError
        If the dimensions make no bore.
    """
    check_length("length", length)
    for key, diameter in (
        ("cup.diameter", cup_diameter),
        ("throat.diameter", throat_diameter),
        ("backbore.end_diameter", backbore_end_diameter),
    ):
        check_diameter(key, diameter)
    _check_along_axis(length, cup_depth, throat_length)
    _check_across_axis(cup_diameter, throat_diameter, backbore_end_diameter)
    if not 0 <= cup_shape <= 1:
        raise refusal("cup.shape", str(cup_shape), "is 0 (straight cone) to 1 (full bowl)", "0.6")
    edge = (cup_depth, throat_diameter / 2)
    throat_end = cup_depth + throat_length
    cup = curve((0.0, cup_diameter / 2), edge, cup_shape, (edge[0], cup_diameter / 2), "cup")
    head = cut_entry(cup, throat_end, entry)
    start, stop = head[-1].stop, (length, backbore_end_diameter / 2)
    return Bore([*head, *_backbore(start, stop, backbore_taper)], entry)


def curve(
    start: ArrayLike, stop: ArrayLike, fullness: float, corner: ArrayLike, part: str
) -> Segment:
    """Draw a curve between the straight line (fullness 0) and a quarter ellipse (fullness 1)."""
    if fullness == 0:
        return line(start, stop, part)
    middle = (np.asarray(start) + np.asarray(stop)) / 2
    control = (1 - fullness) * middle + fullness * np.asarray(corner)
    return conic(start, control, stop, QUARTER_TURN_WEIGHT, part)


def _backbore(start: ArrayLike, stop: tuple[float, float], taper: Taper) -> list[Segment]:
    (x0, r0), (x1, r1) = np.asarray(start), stop
    if isinstance(taper, Sequence) and not isinstance(taper, str):
        return _through_stations([(float(x0), float(r0)), (x1, r1)], taper)
    fullness = TAPERS[taper] if isinstance(taper, str) else taper
    if not -1 <= fullness <= 1:
        raise refusal("backbore.taper", str(taper), "is -1 (opening late) to 1 (early)", "0.2")
    corner = (x0, r1) if fullness > 0 else (x1, r0)
    return [curve(start, stop, abs(fullness), corner, "backbore")]


def _through_stations(
    ends: list[tuple[float, float]], stations: Sequence[tuple[float, float]]
) -> list[Segment]:
    """Straight lines through the ends and the stations between them."""
    (start, throat_radius), (stop, end_radius) = ends
    length, throat, end = stop - start, 2 * throat_radius, 2 * end_radius
    reached, points = 0.0, [(start, throat_radius)]
    for index, (distance, diameter) in enumerate(stations):
        place, width = f"backbore.taper[{index}].position", f"backbore.taper[{index}].diameter"
        if not 0 <= distance <= length + 1e-9:
            allowed = f"is 0 mm to the backbore's length of {millimetres(length)}"
            raise refusal(place, millimetres(distance), allowed, below(length / 2))
        if index and not distance > reached:
            found = f"{millimetres(distance)} after {millimetres(reached)}"
            example = millimetres((reached + length) / 2)
            raise refusal(place, found, "are positions in ascending order", example)
        check_diameter(width, diameter)
        if not diameter >= throat * (1 - 1e-9):
            allowed = f"is at least the throat's {millimetres(throat)}"
            raise refusal(width, millimetres(diameter), allowed, millimetres(end))
        for where, known, name in ((0.0, throat, "throat"), (length, end, "shank end")):
            if abs(distance - where) < 1e-9 and abs(diameter - known) > 1e-6:
                found = f"{millimetres(diameter)} at the {name}"
                raise refusal(width, found, "is its own diameter", millimetres(known))
        if 1e-9 < distance < length - 1e-9:
            reached = distance
            points.append((start + distance, diameter / 2))
    points.append((stop, end_radius))
    return [line(first, last, "backbore") for first, last in pairwise(points)]


def _check_along_axis(length: float, cup_depth: float, throat_length: float) -> None:
    # A fifth of what is there leaves room for the other two.
    room_of_cup = length - throat_length if throat_length < length else length
    room_of_throat = length - cup_depth if cup_depth < length else length
    for key, value, room in (
        ("cup.depth", cup_depth, room_of_cup),
        ("throat.length", throat_length, room_of_throat),
    ):
        if not value > 0:
            raise refusal(key, millimetres(value), "is a length above zero", below(room / 5))
    if not cup_depth < length:
        found = f"{millimetres(cup_depth)} in a bore of {millimetres(length)}"
        allowed = "is less than the overall length"
        raise refusal("cup.depth", found, allowed, below(room_of_cup / 5))
    if not cup_depth + throat_length < length:
        found = (
            f"{millimetres(throat_length)} after a cup of {millimetres(cup_depth)} in a bore of "
            f"{millimetres(length)}"
        )
        allowed = f"is less than {millimetres(room_of_throat)}, so that a backbore is left"
        raise refusal("throat.length", found, allowed, below(room_of_throat / 5))


def _check_across_axis(cup: float, throat: float, end: float) -> None:
    if not throat < cup:
        found = f"{millimetres(throat)} in a cup of {millimetres(cup)}"
        example = below(min(THROAT, 0.8 * cup, end))
        raise refusal("throat.diameter", found, "is less than the cup's diameter", example)
    if not end >= throat:
        found = f"{millimetres(end)} after a throat of {millimetres(throat)}"
        allowed, example = "is at least the throat's diameter", millimetres(2 * throat)
        raise refusal("backbore.end_diameter", found, allowed, example)
