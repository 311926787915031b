"""A bore from its dimensions: cup, throat entry, throat and backbore.

The cup is a conic of weight √½ from the rim to the throat's edge, whose control point moves from
the middle of the chord (shape 0, a straight cone) to the corner at the bottom of the cup (shape 1,
a quarter of an ellipse, the full bowl). A curved backbore is a conic of the same weight with its
control point half-way from the middle of the chord to the corner.
"""

from collections.abc import Sequence
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from borestudy.bore.bore import Bore
from borestudy.bore.entry import Entry, cut_entry
from borestudy.bore.errors import BoreError, below, check_diameter, check_length, millimetres
from borestudy.bore.segment import Segment, conic, line

QUARTER_TURN_WEIGHT = np.sqrt(0.5)
#: How far the control point of a curved backbore lies from the chord toward the corner.
BACKBORE_FULLNESS = 0.5

#: A usual throat [m], for messages.
THROAT = 3.66e-3

Taper = Literal["straight", "opening early", "opening late"] | Sequence[tuple[float, float]]


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
        Overall, rim plane to shank end.
    cup_diameter : float
        At the rim's inner edge.
    cup_depth : float
        From the rim plane to the edge where cup wall and throat meet, before an entry is cut.
    cup_shape : float
        From 0 (straight cone) to 1 (full bowl).
    throat_diameter, throat_length : float
        The length counts from that edge: an entry is cut from cup and throat.
    entry : Entry
        What is cut from the edge between cup and throat.
    backbore_end_diameter : float
        At the shank end.
    backbore_taper : str or sequence of (float, float)
        ``straight``, ``opening early``, ``opening late``, or stations: distance from the end of
        the throat and diameter there.

    Returns
    -------
    Bore

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
        raise BoreError(
            "cup.shape",
            f"found {cup_shape}; allowed is 0 (straight cone) to 1 (full bowl), for example 0.6",
        )
    edge = (cup_depth, throat_diameter / 2)
    throat_end = cup_depth + throat_length
    cup = curve((0.0, cup_diameter / 2), edge, cup_shape, (edge[0], cup_diameter / 2), "cup")
    head = cut_entry(cup, throat_end, entry)
    start, stop = head[-1].stop, (length, backbore_end_diameter / 2)
    return Bore([*head, *_backbore(start, stop, backbore_taper)], entry)


def curve(
    start: ArrayLike, stop: ArrayLike, fullness: float, corner: ArrayLike, part: str
) -> Segment:
    """From the straight line (fullness 0) to the quarter ellipse about a corner (fullness 1)."""
    if fullness == 0:
        return line(start, stop, part)
    middle = (np.asarray(start) + np.asarray(stop)) / 2
    control = (1 - fullness) * middle + fullness * np.asarray(corner)
    return conic(start, control, stop, QUARTER_TURN_WEIGHT, part)


def _backbore(start: ArrayLike, stop: tuple[float, float], taper: Taper) -> list[Segment]:
    (x0, r0), (x1, r1) = np.asarray(start), stop
    match taper:
        case "straight":
            return [line(start, stop, "backbore")]
        case "opening early":
            return [curve(start, stop, BACKBORE_FULLNESS, (x0, r1), "backbore")]
        case "opening late":
            return [curve(start, stop, BACKBORE_FULLNESS, (x1, r0), "backbore")]
    return _through_stations([(float(x0), float(r0)), (x1, r1)], taper)


def _through_stations(
    ends: list[tuple[float, float]], stations: Sequence[tuple[float, float]]
) -> list[Segment]:
    """Straight lines through the ends and the stations between them."""
    (start, throat_radius), (stop, end_radius) = ends
    points = [(start, throat_radius)]
    for index, (distance, diameter) in enumerate(stations):
        key = f"backbore.taper[{index}]"
        position = start + distance
        if not 0 <= distance <= stop - start + 1e-9:
            raise BoreError(
                f"{key}.position",
                f"found {millimetres(distance)}; allowed is 0 mm to the backbore's length of "
                f"{millimetres(stop - start)}, for example {below((stop - start) / 2)}",
            )
        if index and not position > points[-1][0]:
            raise BoreError(
                f"{key}.position",
                f"found {millimetres(distance)} after {millimetres(points[-1][0] - start)}; "
                "allowed are positions in ascending order, for example "
                f"{millimetres((points[-1][0] + stop) / 2 - start)}",
            )
        if not diameter >= 2 * throat_radius * (1 - 1e-9):
            raise BoreError(
                f"{key}.diameter",
                f"found {millimetres(diameter)}; allowed is at least the throat's "
                f"{millimetres(2 * throat_radius)}, for example {millimetres(2 * end_radius)}",
            )
        for where, known, name in (
            (0.0, throat_radius, "throat"),
            (stop - start, end_radius, "shank end"),
        ):
            if abs(distance - where) < 1e-9 and abs(diameter - 2 * known) > 1e-6:
                raise BoreError(
                    f"{key}.diameter",
                    f"found {millimetres(diameter)} at the {name}; allowed is its own diameter, "
                    f"for example {millimetres(2 * known)}",
                )
        if 1e-9 < distance < stop - start - 1e-9:
            points.append((position, diameter / 2))
    points.append((stop, end_radius))
    return [line(first, last, "backbore") for first, last in pairwise(points)]


def _check_along_axis(length: float, cup_depth: float, throat_length: float) -> None:
    # A fifth of what is there leaves room for the other two.
    for key, value, room in (
        ("cup.depth", cup_depth, length - throat_length if throat_length < length else length),
        ("throat.length", throat_length, length - cup_depth if cup_depth < length else length),
    ):
        if not value > 0:
            raise BoreError(
                key,
                f"found {millimetres(value)}; allowed is a length above zero, for example "
                f"{below(room / 5)}",
            )
    if not cup_depth < length:
        room = length - throat_length if throat_length < length else length
        raise BoreError(
            "cup.depth",
            f"found {millimetres(cup_depth)} in a bore of {millimetres(length)}; allowed is less "
            f"than the overall length, for example {below(room / 5)}",
        )
    if not cup_depth + throat_length < length:
        raise BoreError(
            "throat.length",
            f"found {millimetres(throat_length)} behind a cup of {millimetres(cup_depth)} in a "
            f"bore of {millimetres(length)}; allowed is less than "
            f"{millimetres(length - cup_depth)}, so that a backbore is left, for example "
            f"{below((length - cup_depth) / 5)}",
        )


def _check_across_axis(cup: float, throat: float, end: float) -> None:
    if not throat < cup:
        raise BoreError(
            "throat.diameter",
            f"found {millimetres(throat)} in a cup of {millimetres(cup)}; allowed is less than the "
            f"cup's diameter, for example {below(min(THROAT, 0.8 * cup, end))}",
        )
    if not end >= throat:
        raise BoreError(
            "backbore.end_diameter",
            f"found {millimetres(end)} behind a throat of {millimetres(throat)}; allowed is at "
            f"least the throat's diameter, for example {millimetres(2 * throat)}",
        )
