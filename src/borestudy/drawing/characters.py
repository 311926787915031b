"""A bore cut lengthwise, drawn in plain characters for a terminal."""

import math

import numpy as np

from borestudy.drawing.outline import Outline

#: A character is about so many times as high as it is wide.
CHARACTER = 2.0
#: What a place in the metal and one in the bore are drawn as.
METAL, AIR = "/", " "
#: Rows of the drawing at most, which a long and narrow bore stays below.
MOST_ROWS = 25


def section_in_characters(wall: Outline, width: int = 76) -> list[str]:
    """The metal around a bore, hatched, and its parts below.

    Diameters are drawn larger than lengths, twice where the rows are enough for it.

    Parameters
    ----------
    wall : Outline
        Of the bore.
    width : int
        Characters in a line.
    """
    length, radius = float(wall.position_mm[-1]), float(wall.radius_mm.max())
    column = length / width  # millimetres in a character's width
    stretch = 2.0
    half = max(math.ceil(stretch * radius / (CHARACTER * column)), 2)
    if half > MOST_ROWS // 2:
        half = MOST_ROWS // 2
        stretch = half * CHARACTER * column / radius
    places = column * (np.arange(width) + 0.5)
    inside = stretch * _radius_at(wall, places) / (CHARACTER * column)
    # A row above the widest place shows that there is metal around it too.
    heights = np.abs(np.arange(-half, half + 1))
    rows = [
        "".join(AIR if height <= reach else METAL for reach in inside).rstrip()
        for height in heights
    ]
    return [METAL * width, *rows, METAL * width, *part_lines(wall, width)]


def part_lines(wall: Outline, width: int) -> list[str]:
    """A mark below a drawing where each part begins and ends, and the parts with their places."""
    length = float(wall.position_mm[-1])
    marks = [" "] * (width + 1)
    for place in {0.0, length}.union(*wall.parts.values()):
        marks[round(place / length * width)] = "|"
    said = [f"{name} {start:.4g} to {stop:.4g}" for name, (start, stop) in wall.parts.items()]
    return ["".join(marks).rstrip(), f"{', '.join(said)} mm from the rim plane"]


def _radius_at(wall: Outline, places: np.ndarray) -> np.ndarray:
    """Radius at positions [mm], the larger one at a step."""
    # A step has two radii at one position, for which interpolation needs a little room.
    apart = np.arange(len(wall.position_mm)) * 1e-9 * wall.position_mm[-1]
    return np.interp(places, wall.position_mm + apart, wall.radius_mm)
