"""The way to a wish: every solve's wished quantities toward their targets, and its dimensions."""

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pandas as pd
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from borestudy.drawing import looks, style
from borestudy.drawing.lettering import wrapped
from borestudy.quantity import spelled
from borestudy.report.captions import save, text
from borestudy.results.wishes import WishResult

WISH = "wish"
#: Height of a row of panels, and of what stands above and below all [mm].
ROW_MM, ROUND_MM = 38.0, 14.0
#: Widest title of a panel [mm], also of a narrow figure.
TITLE_MM, NARROW_MM = 48.0, 27.0
COLUMNS = 3
#: Look of what is wished and of a dimension's limits.
TARGET, LIMIT = style.COLOURS[1], style.GREY


@style.styled
def draw_wish(found: WishResult, directory: Path) -> style.FigureRecord | None:
    """Draw a search: a panel for each wished quantity and one for each free dimension."""
    if not is_drawn(found):
        return None
    drawing = figure_of(found)
    words = {
        "count": len(found.path),
        "returned": len(found.returned),
        "wishes": len(found.wished),
        "tools": text(WISH, "tools") if any(one.tool_sizes for one in found.path) else "",
    }
    return save(drawing, directory, WISH, _table(found), **words)


def _table(found: WishResult) -> pd.DataFrame:
    """Every solve's wished quantities and free dimensions, a row a solve."""
    rows = []
    returned = {bore.solve for bore in found.returned}
    for number, one in enumerate(found.path, 1):
        row: dict[str, Any] = {"solve": number, "returned": number in returned}
        for wish in found.wished:
            row[f"{wish.quantity}, {wish.scale}"] = one.figures[wish.quantity]
        for free in found.free:
            words = f"{free.label}, {free.unit}" if free.unit else free.label
            row[words] = one.dimensions[free.key]
        rows.append(row)
    table = pd.DataFrame(rows)
    return table.rename(columns=lambda name: re.sub(r"[^\w.]+", "_", name))


def is_drawn(found: WishResult) -> bool:
    """Whether there is a way to draw."""
    return len(found.path) > 1 and bool(found.returned)


def figure_of(found: WishResult) -> Figure:
    """The figure with a panel for each wished quantity and one for each free dimension."""
    panels = len(found.wished) + len(found.free)
    columns = min(2 if looks.is_narrow() else COLUMNS, panels)
    rows = -(-panels // columns)
    drawing = style.figure(ROUND_MM + ROW_MM * rows)
    grid = drawing.subplots(rows, columns, squeeze=False)
    panel = iter(grid.flat)
    for wish in found.wished:
        axes, target = next(panel), found.targets[wish.quantity]
        axes.axhspan(target - wish.within, target + wish.within, color=TARGET, alpha=0.25,
                     linewidth=0)  # fmt: skip
        values = [one.figures[wish.quantity] for one in found.path]
        _draw(axes, values, found, [target - wish.within, target + wish.within])
        _name(axes, f"{wish.quantity}, {spelled(wish.scale)}")
    for one in found.free:
        axes = next(panel)
        for limit in (one.low, one.high):
            axes.axhline(limit, color=LIMIT, linestyle="--", linewidth=1.0)
        values = [step.dimensions[one.key] for step in found.path]
        _draw(axes, values, found, [one.low, one.high])
        _name(axes, f"{one.label}, {one.unit}" if one.unit else one.label)
    style.hide_unused(grid, panels)
    drawing.supxlabel("solve")
    return drawing


def _draw(
    axes: Any, values: Sequence[float | None], found: WishResult, ends: Sequence[float]
) -> None:
    """One panel: a mark a solve, square on tool sizes, filled where the bore is returned."""
    known = [(number, value) for number, value in enumerate(values, 1) if value is not None]
    on_sizes = {number for number, one in enumerate(found.path, 1) if one.tool_sizes}
    returned = {bore.solve for bore in found.returned}
    free = [one for one in known if one[0] not in on_sizes]
    if free:
        axes.plot(*zip(*free, strict=True), color=style.COLOURS[0], linewidth=0.9)
    for number, value in known:
        axes.plot(number, value, color=style.COLOURS[0], linestyle="", markersize=5,
                  marker="s" if number in on_sizes else "o",
                  markerfacecolor=style.COLOURS[0] if number in returned else "white")  # fmt: skip
    values_at = dict(known)
    for bore in found.returned:
        if bore.solve in values_at:
            axes.annotate(bore.name.split(" ")[-1], (bore.solve, values_at[bore.solve]), (0, 4),
                          textcoords="offset points", ha="center", va="bottom",
                          fontsize=looks.points(7))  # fmt: skip
    every = [value for _, value in known] + list(ends)
    room = 0.1 * (max(every) - min(every) or 1.0)
    axes.set_ylim(min(every) - room, max(every) + 2.2 * room)
    axes.set_xlim(0.5, len(values) + 0.5)
    axes.xaxis.set_major_locator(MaxNLocator(6, integer=True))
    axes.yaxis.set_major_locator(MaxNLocator(4))


def _name(axes: Any, words: str) -> None:
    axes.set_title(
        wrapped(words, TITLE_MM if not looks.is_narrow() else NARROW_MM, 8),
        loc="left",
        fontsize=looks.points(8),
    )
