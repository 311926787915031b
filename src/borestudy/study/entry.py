"""The throat entry in words: ``square``, ``rounded 0.5 mm``, ``chamfered 0.5 mm at 45 deg``."""

import re
from typing import Annotated, Literal, NamedTuple

from pydantic import BeforeValidator, WithJsonSchema

from borestudy.units import UnitError, parse_angle, parse_length, quoted, split_number

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


class EntryWords(NamedTuple):
    """A throat entry as its words say, SI.

    Attributes
    ----------
    shape : str
        ``square``, ``rounded``, ``chamfered`` or ``elliptical``.
    sizes : tuple of float
        Radius; or size of the chamfer along the axis; or semi-axes along the axis and across [m].
    angle : float
        Of the chamfer to the axis [rad]; 0 for the others.
    """

    shape: Literal["square", "rounded", "chamfered", "elliptical"]
    sizes: tuple[float, ...] = ()
    angle: float = 0.0


def parse_entry(text: object) -> EntryWords:
    """Shape and sizes of a throat entry from its words.

    Parameters
    ----------
    text : str
        One of the ways of writing in `ALLOWED`.

    Returns
    -------
    EntryWords

    Raises
    ------
    ValueError
        If the words do not describe an entry.

    Examples
    --------
    >>> parse_entry("chamfered 0.5 mm")
    EntryWords(shape='chamfered', sizes=(0.0005,), angle=0.7853981633974483)
    """
    shape, _, rest = (str(text).strip() if isinstance(text, str) else "").partition(" ")
    try:
        match shape:
            case "square" if not rest:
                return EntryWords("square")
            case "rounded":
                return EntryWords("rounded", (_size(rest),))
            case "chamfered":
                size, at, angle = rest.partition(" at ")
                return EntryWords("chamfered", (_size(size),), _angle(angle if at else "45 deg"))
            case "elliptical":
                return EntryWords("elliptical", _semi_axes(rest))
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


def _checked(text: object) -> str:
    parse_entry(text)
    return " ".join(str(text).split())


ThroatEntry = Annotated[
    str,
    BeforeValidator(_checked),
    WithJsonSchema(
        {
            "type": "string",
            "pattern": r"^\s*(square|rounded .+|chamfered .+|elliptical .+ ?[x×] ?.+)\s*$",
            "description": ALLOWED,
            "examples": list(EXAMPLES.values()),
        }
    ),
]
