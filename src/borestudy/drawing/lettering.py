"""Words on figures, broken into lines by their measured width so that none runs into another."""

from collections.abc import Sequence
from functools import lru_cache

from matplotlib.font_manager import FontProperties
from matplotlib.textpath import TextPath

from borestudy.drawing import looks

POINTS_PER_MM = 72 / 25.4
#: The fonts that come with the library that draws.
FAMILIES = {"sans-serif": "DejaVu Sans", "serif": "DejaVu Serif", "monospace": "DejaVu Sans Mono"}
#: Of a legend in its own letters: the line sample with its gap, and the gap between columns.
SAMPLE_EM, GAP_EM = 4.0, 1.4


def text_width_mm(text: str, size: float = looks.USUAL_PT, weight: str = "normal") -> float:
    """Width of a line of text in the figures' letters.

    They are `size` points high in the usual look, and in another one in proportion.
    """
    return _width_mm(text, looks.points(size), weight, looks.current().font)


@lru_cache(maxsize=4096)
def _width_mm(text: str, size: float, weight: str, font: str) -> float:
    """The same in a font, with the height as it is [pt]."""
    if not text.strip():
        return 0.0
    letters = FontProperties(family=FAMILIES.get(font, font), weight=weight)
    # two dollar signs would be taken for a formula
    outline = TextPath((0, 0), text.replace("$", "S"), size=size, prop=letters, usetex=False)
    return float(outline.get_extents().x1) / POINTS_PER_MM


def wrapped(text: str, width_mm: float, size: float = 8.5, weight: str = "normal") -> str:
    """Break a text between words into lines no wider than a width.

    A word that is too wide by itself loses its middle, where the names of a sweep differ least.
    The size is the height of the letters in points, the weight matplotlib's word for how bold.
    """
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width_mm(longer, size, weight) <= width_mm:
            lines[-1] = longer
        else:
            lines.append(_narrowed(word, width_mm, size, weight))
    return "\n".join(lines)


def _narrowed(word: str, width_mm: float, size: float, weight: str) -> str:
    """A word with as much of its middle left out as the width asks for."""
    shown, kept = word, len(word)
    while kept > 2 and text_width_mm(shown, size, weight) > width_mm:
        kept -= 1
        shown = f"{word[: (kept + 1) // 2]}…{word[len(word) - kept // 2 :]}"
    return shown


def lines_of(texts: Sequence[str]) -> int:
    """How many lines the tallest of some texts has."""
    return max((text.count("\n") + 1 for text in texts), default=1)


def legend_columns(labels: Sequence[str], size: float = 8.0) -> int:
    """Choose a legend's columns: as many as fit side by side, as few as need no more rows."""
    width_mm = looks.width_mm() - 10.0
    em = looks.points(size) / POINTS_PER_MM
    widest = max(text_width_mm(line, size) for label in labels for line in label.split("\n"))
    column = widest + (SAMPLE_EM + GAP_EM) * em
    most = max(1, min(len(labels), int((width_mm + GAP_EM * em) // column)))
    rows = -(-len(labels) // most)
    return -(-len(labels) // rows)
