"""The throat entry: what is cut from the edge between the cup and the throat.

A rounded entry is an arc tangent to the cup wall and to the throat. With the cup as C(t), unit
tangent T(t) (pointing into the throat) and the throat of radius r_t, the arc of radius R has its
centre in the metal, R off both walls:

    C_r(t) + R T_x(t) = r_t + R

For a cup that steepens toward the throat the left side less the right falls with t: there is one
such t or none. An ellipse of semi-axes a along and b across the axis is a circle of radius b once
x is multiplied by b/a, and tangents stay tangents.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from borestudy.bore.errors import BoreError, millimetres
from borestudy.bore.segment import Segment, conic, line

KEY = "throat.entry"


@dataclass(frozen=True)
class Entry:
    """A throat entry as it is asked for.

    Attributes
    ----------
    shape : str
        ``square``, ``rounded``, ``chamfered`` or ``elliptical``.
    sizes : tuple of float
        Radius; or length of the chamfer along the axis; or semi-axes along and across it [m].
    angle : float
        Of the chamfer to the axis [rad].
    """

    shape: Literal["square", "rounded", "chamfered", "elliptical"] = "square"
    sizes: tuple[float, ...] = ()
    angle: float = 0.0


def cut_entry(cup: Segment, throat_end: float, entry: Entry) -> list[Segment]:
    """Cup, entry and throat, the edge between cup and throat cut as asked.

    Parameters
    ----------
    cup : Segment
        From the rim plane to the edge.
    throat_end : float
        Where the throat stops along the axis [m].
    entry : Entry
        What is cut from the edge.

    Returns
    -------
    list of Segment
        Cup, then the entry unless it is square, then the throat.

    Raises
    ------
    BoreError
        If the entry does not fit between cup and throat.
    """
    throat_radius = float(cup.stop[1])
    throat_stop = (throat_end, throat_radius)
    match entry.shape:
        case "square":
            return [cup, line(cup.stop, throat_stop, "throat")]
        case "chamfered":
            parameter, face = chamfer(cup, entry.sizes[0], entry.angle)
        case "rounded":
            parameter, face = fillet(cup, *entry.sizes, *entry.sizes)
        case _:
            parameter, face = fillet(cup, *entry.sizes)
    if not face.stop[0] < throat_end:
        raise BoreError(
            KEY,
            f"found {_words(entry)}, which ends {millimetres(face.stop[0] - cup.stop[0])} behind "
            f"the edge in a throat of {millimetres(throat_end - cup.stop[0])}; allowed is "
            f"{_greatest(cup, throat_end, entry)}, for example square",
        )
    return [cup.split(parameter)[0], face, line(face.stop, throat_stop, "throat")]


def fillet(cup: Segment, along: float, across: float) -> tuple[float, Segment]:
    """Arc of an ellipse tangent to the cup and the throat, and where on the cup it begins.

    Parameters
    ----------
    cup : Segment
        Ends at the edge to be rounded.
    along, across : float
        Semi-axes [m]; equal for a circle.

    Returns
    -------
    parameter : float
        On the cup.
    face : Segment

    Raises
    ------
    BoreError
        If the arc would be higher than the cup wall.
    """
    stretch = across / along
    wall = cup.scaled(stretch)
    throat_radius = float(cup.stop[1])

    def clearance(parameter: float) -> float:
        height = float(wall(parameter)[1]) - throat_radius
        return height - across * (1 - float(wall.tangent(parameter)[0]))

    if clearance(0.0) <= 0:
        entry = (
            Entry("rounded", (across,)) if along == across else Entry("elliptical", (along, across))
        )
        limit = (float(cup.start[1]) - throat_radius) / (1 - float(wall.tangent(0.0)[0]))
        raise BoreError(
            KEY,
            f"found {_words(entry)}, which reaches beyond the rim: the cup wall is "
            f"{millimetres(float(cup.start[1]) - throat_radius)} high; allowed is less than "
            f"{millimetres(limit)} across the axis, for example rounded 0.5 mm",
        )
    parameter = float(brentq(clearance, 0.0, 1.0, xtol=1e-15, rtol=1e-14))
    start, direction = wall(parameter), wall.tangent(parameter)
    turning = float(np.arctan2(-direction[1], direction[0]))
    centre = start[0] - across * float(direction[1])
    stop = np.array([centre, throat_radius])
    control = stop - [across * np.tan(turning / 2), 0.0]
    face = conic(start, control, stop, np.cos(turning / 2), "entry").scaled(1 / stretch)
    return parameter, face


def chamfer(cup: Segment, length: float, angle: float) -> tuple[float, Segment]:
    """Conical face of a length along the axis and an angle to it, and where on the cup it begins.

    Raises
    ------
    BoreError
        If the face would be higher than the cup, or cut no metal since the cup is less steep.
    """
    throat_radius = float(cup.stop[1])
    entry = Entry("chamfered", (length,), angle)
    height = length * float(np.tan(angle))
    if throat_radius + height >= cup.start[1]:
        raise BoreError(
            KEY,
            f"found {_words(entry)}, which reaches {millimetres(height)} out from the throat; "
            f"allowed is less than {millimetres(float(cup.start[1]) - throat_radius)}, for example "
            "chamfered 0.5 mm at 45 deg",
        )
    parameter = cup.parameter_at(throat_radius + height, axis=1)
    direction = cup.tangent(parameter)
    steepness = float(np.arctan2(-direction[1], direction[0]))
    if not angle < steepness:
        raise BoreError(
            KEY,
            f"found {_words(entry)} on a cup wall that stands at {np.degrees(steepness):.1f} deg "
            f"there, so that it would cut no metal; allowed is an angle below that, for example "
            f"chamfered 0.5 mm at {0.5 * np.degrees(steepness):.0f} deg",
        )
    start = cup(parameter)
    return parameter, line(start, [start[0] + length, throat_radius], "entry")


def _words(entry: Entry) -> str:
    sizes = " x ".join(millimetres(size) for size in entry.sizes)
    angle = f" at {np.degrees(entry.angle):.4g} deg" if entry.shape == "chamfered" else ""
    return f"'{entry.shape} {sizes}{angle}'"


def _greatest(cup: Segment, throat_end: float, entry: Entry) -> str:
    """The greatest entry of the same proportions that fits, by halving, rounded down."""

    def fits(factor: float) -> bool:
        sizes = tuple(factor * size for size in entry.sizes)
        try:
            cut_end = _end(cup, Entry(entry.shape, sizes, entry.angle))
        except BoreError:
            return False
        return bool(cut_end < throat_end)

    low, high = 0.0, 1.0
    for _ in range(30):
        middle = (low + high) / 2
        low, high = (middle, high) if fits(middle) else (low, middle)
    sizes = " x ".join(f"{np.floor(1e5 * low * size) / 100:g} mm" for size in entry.sizes)
    return f"at most {entry.shape} {sizes}"


def _end(cup: Segment, entry: Entry) -> NDArray[np.float64]:
    if entry.shape == "chamfered":
        return chamfer(cup, entry.sizes[0], entry.angle)[1].stop[0]
    sizes = entry.sizes * 2 if entry.shape == "rounded" else entry.sizes
    return fillet(cup, *sizes)[1].stop[0]
