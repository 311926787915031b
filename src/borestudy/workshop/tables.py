"""Text and tables of a drawing."""

from collections.abc import Sequence
from typing import Any

from ezdxf.enums import TextEntityAlignment as At

#: From one row of a table to the next, in heights of its letters.
ROW = 1.75
#: Style of all letters of a drawing.
LETTERING = "LETTERS"


def add_text(
    space: Any, words: str, place: tuple[float, float], height: float, align: At = At.LEFT
) -> None:
    """Add a line of text of a height [mm in the drawing] at a place."""
    text = space.add_text(words, height=height, dxfattribs={"layer": "SHEET", "style": LETTERING})
    text.set_placement(place, align=align)


def add_rows(
    space: Any,
    rows: Sequence[Sequence[str]],
    place: tuple[float, float],
    widths: Sequence[float],
    letters: float,
    per: float,
) -> None:
    """Add a table downward from a place; widths and letters in mm on paper, `per` mm of it."""
    left, top = place
    for number, row in enumerate(rows):
        y, x = top - number * ROW * letters * per, left
        for words, width in zip(row, widths, strict=True):
            add_text(space, words, (x, y), letters * per)
            x += width * per
        below = y - 0.4 * letters * per
        space.add_line((left, below), (x, below), dxfattribs={"layer": "SHEET", "lineweight": 9})


def pair_of_units(value: float, tolerance: float) -> tuple[str, str]:
    """A length [mm] with its tolerance in mm and in inches."""
    either, inches = (
        (f" ± {tolerance:.2g}", f" ± {tolerance / 25.4:.2g}") if tolerance else ("", "")
    )
    return f"{value:.3f}{either}", f"{value / 25.4:.4f}{inches}"
