"""The throat entry: what is cut from the edge between the cup and the throat.

A rounded entry is an arc tangent to the cup wall and to the throat. With the cup as C(t), unit
tangent T(t) (pointing into the throat) and the throat of radius r_t, the arc of radius R has its
centre in the metal, R off both walls:

    C_r(t) + R T_x(t) = r_t + R

For a cup that steepens toward the throat the left side less the right falls with t: there is one
such t or none. An ellipse of semi-axes a along and b across the axis is a circle of radius b once
x is multiplied by b/a, and tangents stay tangents.
"""

import re
from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.optimize import brentq

from borestudy.bore.errors import BoreError, millimetres, refusal
from borestudy.bore.segment import Segment, conic, line
from borestudy.units import UnitError, parse_angle, parse_length, quoted, split_number

KEY = "throat.entry"
ALLOWED = (
    "square, 'rounded RADIUS', 'chamfered SIZE' or 'chamfered SIZE at ANGLE', "
    "or 'elliptical LENGTH x HEIGHT'"
)
EXAMPLES = {
    "square": "square",
    "rounded": "rounded 0.5 mm",
    "chamfered": "chamfered 0.5 mm at 45 deg",
    "elliptical": "elliptical 2 mm x 1 mm",
}

#: Sizes of a throat entry by its shape: the last word of their keys, and words.
ENTRY_SIZES = {
    "rounded": (("radius", "entry radius"),),
    "chamfered": (("length", "chamfer length"),),
    "elliptical": (("length", "entry length"), ("height", "entry height")),
}


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
        Angle of the chamfer to the axis [rad]; 0 for other shapes.
    """

    shape: Literal["square", "rounded", "chamfered", "elliptical"] = "square"
    sizes: tuple[float, ...] = ()
    angle: float = 0.0

    def __str__(self) -> str:
        """Return the words that `parse_entry` reads, to the micrometre."""
        sizes = " x ".join(millimetres(size) for size in self.sizes)
        angle = f" at {np.degrees(self.angle):.4g} deg" if self.shape == "chamfered" else ""
        return f"{self.shape} {sizes}{angle}".strip()


def parse_entry(text: object) -> Entry:
    """Shape and sizes of a throat entry from its words, one of the ways of writing in `ALLOWED`.

    Raises
    ------
    ValueError
        If the words do not describe an entry.

    Examples
    --------
    >>> parse_entry("chamfered 0.5 mm")
    Entry(shape='chamfered', sizes=(0.0005,), angle=0.7853981633974483)
    """
    shape, _, rest = (text.strip() if isinstance(text, str) else "").partition(" ")
    try:
        match shape:
            case "square" if not rest:
                return Entry("square")
            case "rounded":
                return Entry("rounded", (_size(rest),))
            case "chamfered":
                size, at, angle = rest.partition(" at ")
                return Entry("chamfered", (_size(size),), _angle(angle if at else "45 deg"))
            case "elliptical":
                return Entry("elliptical", _semi_axes(rest))
    except UnitError as problem:
        example = EXAMPLES[shape]
        raise ValueError(f"in {quoted(text)}: {problem.reason}, for example {example}") from None
    raise ValueError(
        f"found {quoted(text)}; allowed is {ALLOWED}, for example {EXAMPLES['rounded']}"
    )


def _size(text: str) -> float:
    size = parse_length(text)
    if size <= 0:
        raise UnitError(f"found {text!r}; allowed is a length above zero", "0.5 mm")
    return size


def _angle(text: str) -> float:
    angle = parse_angle(text)
    if not 0 < angle < parse_angle("90 deg"):
        raise UnitError(f"found {text!r}; allowed is an angle between 0 and 90 deg", "45 deg")
    return angle


def _semi_axes(text: str) -> tuple[float, float]:
    both = re.split(r"\s*[x×]\s*", text)
    if len(both) != 2:
        raise UnitError(
            f"found {text!r}; allowed are two lengths, along the axis and across it", "2 mm x 1 mm"
        )
    first, second = both
    split = split_number(first)
    if split and not split[1]:  # "2 x 1 mm": one unit for both
        first += " " + (split_number(second) or ("", ""))[1]
    return _size(first), _size(second)


def cut_entry(cup: Segment, throat_end: float, entry: Entry) -> list[Segment]:
    """Cup, entry unless it is square, and throat, the edge between cup and throat cut as asked.

    Parameters
    ----------
    cup : Segment
        Wall from the rim plane to the edge.
    throat_end : float
        End of the throat along the axis [m].
    entry : Entry
        What is cut from the edge.

    Raises
    ------
    BoreError
        If the entry does not fit between cup and throat.
    """
    throat_radius = float(cup.stop[1])
    throat_stop = (throat_end, throat_radius)
    if entry.shape == "square":
        return [cup, line(cup.stop, throat_stop, "throat")]
    try:
        parameter, face = _face(cup, entry)
    except Misfit as problem:
        example = _example(cup, throat_end, entry)
        raise BoreError(KEY, f"found {str(entry)!r}{problem}, for example {example}") from None
    if not face.stop[0] < throat_end:
        most = Entry(entry.shape, _fitting(cup, throat_end, entry), entry.angle)
        end, throat = (millimetres(x - cup.stop[0]) for x in (face.stop[0], throat_end))
        found = f"{str(entry)!r}, which ends {end} from the edge in a throat of {throat}"
        raise refusal(KEY, found, f"is at most {most}", _example(cup, throat_end, entry))
    return [cup.split(parameter)[0], face, line(face.stop, throat_stop, "throat")]


class Misfit(ValueError):
    """Why this cup does not have an entry, whatever the throat's length."""


def _face(cup: Segment, entry: Entry) -> tuple[float, Segment]:
    """Where on the cup the face of an entry begins, and the face."""
    match entry.shape:
        case "chamfered":
            return chamfer(cup, entry.sizes[0], entry.angle)
        case "rounded":
            return fillet(cup, *entry.sizes, *entry.sizes)
    return fillet(cup, *entry.sizes)


def fillet(cup: Segment, along: float, across: float) -> tuple[float, Segment]:
    """Arc of an ellipse tangent to the cup and the throat, and where on the cup it begins.

    Its semi-axes [m] are equal for a circle; a Misfit says that it would be higher than the cup.
    """
    stretch = across / along
    wall = cup.scaled(stretch)
    throat_radius = float(cup.stop[1])

    def clearance(parameter: float) -> float:
        height = float(wall(parameter)[1]) - throat_radius
        return height - across * (1 - float(wall.tangent(parameter)[0]))

    if clearance(0.0) <= 0:
        height = float(cup.start[1]) - throat_radius
        limit = height / (1 - float(wall.tangent(0.0)[0]))
        raise Misfit(
            f", which reaches beyond the rim: the cup wall is {millimetres(height)} high; allowed "
            f"is less than {millimetres(limit)} across the axis"
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

    A Misfit says that it would be higher than the cup, or cut no metal since the cup is less steep.
    """
    throat_radius = float(cup.stop[1])
    height = length * float(np.tan(angle))
    if throat_radius + height >= cup.start[1]:
        raise Misfit(
            f", which reaches {millimetres(height)} out from the throat; "
            f"allowed is less than {millimetres(float(cup.start[1]) - throat_radius)}"
        )
    parameter = cup.parameter_at(throat_radius + height, axis=1)
    direction = cup.tangent(parameter)
    steepness = float(np.arctan2(-direction[1], direction[0]))
    if not angle < steepness:
        raise Misfit(
            f" on a cup wall that stands at {np.degrees(steepness):.1f} deg "
            "there, so that it would cut no metal; allowed is an angle below that"
        )
    start = cup(parameter)
    return parameter, line(start, [start[0] + length, throat_radius], "entry")


def _fits(cup: Segment, throat_end: float, entry: Entry) -> bool:
    try:
        return bool(_face(cup, entry)[1].stop[0] < throat_end)
    except Misfit:
        return False


def _fitting(cup: Segment, throat_end: float, entry: Entry) -> tuple[float, ...]:
    """Sizes [m] of the greatest entry of the same proportions that fits, rounded down to 10 µm."""
    low, high = 0.0, 1.0
    for _ in range(30):
        middle = (low + high) / 2
        sizes = tuple(middle * size for size in entry.sizes)
        fits = _fits(cup, throat_end, Entry(entry.shape, sizes, entry.angle))
        low, high = (middle, high) if fits else (low, middle)
    return tuple(float(np.floor(1e5 * low * size)) / 1e5 for size in entry.sizes)


def _example(cup: Segment, throat_end: float, entry: Entry) -> str:
    """An entry of the shape asked for that fits with room to spare; square where there is none."""
    for angle in (entry.angle, entry.angle / 2, entry.angle / 4):
        sizes = _fitting(cup, throat_end, Entry(entry.shape, entry.sizes, angle))
        # Half of it, in hundredths of a millimetre.
        half = tuple(float(np.floor(5e4 * size)) / 1e5 for size in sizes)
        fitting = Entry(entry.shape, half, float(np.radians(np.floor(np.degrees(angle)))))
        if min(half) > 0 and _fits(cup, throat_end, fitting):
            return str(fitting)
    return "square"
