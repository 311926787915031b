"""Intervals of quantities below one another, a panel for each unit."""

from collections.abc import Mapping, Sequence
from typing import Any

from matplotlib.figure import Figure

from borestudy.drawing.style import COLOURS, figure

#: Heights of a quantity and of what is round a panel [mm].
ROW_MM, ROUND_MM = 8.0, 20.0
LOOKS: Any = ({"height": 0.34, "alpha": 0.45}, {"height": 0.6, "alpha": 1.0})


def intervals_figure(
    panels: Mapping[str, Mapping[str, Sequence[float]]], words: tuple[str, str], across: str
) -> Figure:
    """A figure of intervals; call it inside `borestudy.drawing.style.styled`.

    Parameters
    ----------
    panels : mapping of str to mapping of str to sequence of float
        Five rising values a quantity, by its words, in each panel, by the panel's unit: the ends
        of the outer interval are the first and the last, of the inner one the second and the
        fourth; the third is its middle.
    words : (str, str)
        What the outer and the inner interval are.
    across : str
        What the axes are, before the unit.
    """
    counts = [len(rows) for rows in panels.values()]
    drawing = figure(ROUND_MM * len(panels) + ROW_MM * sum(counts))
    grid = drawing.subplots(len(panels), 1, squeeze=False, height_ratios=counts)[:, 0]
    for axes, (unit, rows) in zip(grid, panels.items(), strict=True):
        for place, values in enumerate(rows.values()):
            outer, inner = (values[0], values[-1]), (values[1], values[-2])
            for (low, high), look in zip((outer, inner), LOOKS, strict=True):
                axes.barh(place, high - low, left=low, color=COLOURS[0], **look)
            axes.plot(values[2], place, marker="|", markersize=12, color="white")
        axes.axvline(0, color="black", linewidth=0.8)
        axes.set_yticks(range(len(rows)), list(rows))
        axes.set_ylim(len(rows) - 0.4, -0.6)
        ends = [value for values in rows.values() for value in values]
        room = 0.05 * (max(ends) - min(ends))
        axes.set_xlim(min(ends) - room, max(ends) + room)
        axes.tick_params(axis="y", length=0)
        axes.grid(visible=False, axis="y")
        axes.set_xlabel(f"{across}, {unit}")
    handles = [grid[0].barh(0, 0, color=COLOURS[0], **look) for look in LOOKS]
    drawing.legend(handles, words, loc="outside upper center", ncols=2)
    return drawing
