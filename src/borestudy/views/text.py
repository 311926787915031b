"""Tables as lines of text."""

import math
from collections.abc import Iterable, Sequence
from difflib import get_close_matches
from typing import Any

from borestudy.rounding import MINUS, NO_VALUE, is_missing

#: Longest name of a quantity that is left in one line.
SHORT = 10


def aligned(rows: Sequence[Sequence[str]], words_last: bool = False) -> list[str]:
    """Rows of cells as lines, in columns.

    The first column is to the left, and the last where it is of words; the others to the right.
    """
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    left = {0, len(widths) - 1} if words_last else {0}
    return [
        "  "
        + "  ".join(
            cell.ljust(width) if place in left else cell.rjust(width)
            for place, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    ]


def signed(value: Any, digits: int = 2, decimals: int = 3) -> str:
    """A number with its sign, so many digits that count and so many decimals at most."""
    if is_missing(value):
        return NO_VALUE
    number = float(value)
    exponent = math.floor(math.log10(abs(number))) if number else 0
    places = min(max(digits - 1 - exponent, 0), decimals)
    text = f"{abs(number):.{places}f}"
    if not float(text):
        return "0"
    return f"{MINUS if number < 0 else '+'}{text}"


def refused(
    argument: str, found: Any, allowed: Iterable[str], example: str = "", note: str = ""
) -> str:
    """A message for a word that is none of some: which argument, what is allowed, an example."""
    words = list(allowed)
    near = get_close_matches(str(found), words, n=1)
    hint = f"did you mean {near[0]}? " if near else ""
    chosen = near[0] if near else example or words[0]
    listed = f"allowed is {', '.join(words)}, for example {chosen}"
    first = "A" if hint else "a"
    return f"{argument}: found {found!r}{note}; {hint}{first}{listed[1:]}"


def in_two(name: str) -> tuple[str, str]:
    """A quantity's name in two lines: before and from its flow rate, or its last word."""
    head, separator, rate = name.partition(" at ")
    if separator:
        return head, f"at {rate}"
    if len(name) <= SHORT:
        return "", name
    head, _, last = name.rpartition(" ")
    return head, last
