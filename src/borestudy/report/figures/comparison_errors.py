"""The best estimate against measurements, by throat Reynolds number."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pandas as pd

from borestudy.drawing import style
from borestudy.report.captions import save

#: Name of the figure.
COMPARISON_ERRORS = "comparison-errors"


@style.styled
def draw_measurements(rows: pd.DataFrame, directory: Path) -> style.FigureRecord | None:
    """Write the figure of every comparison of the best estimate; None without one."""
    if rows.empty:
        return None
    drawing = style.figure(105)
    axes = drawing.subplots()
    draw_comparison_errors(axes, rows)
    style.legend(drawing, *axes.get_legend_handles_labels())
    return save(drawing, directory, COMPARISON_ERRORS, count=len(rows))


def draw_comparison_errors(
    axes: Any, rows: pd.DataFrame, stated: Mapping[str, float] | None = None
) -> None:
    """Draw comparison errors, marks by part and hollow for simulations, with their uncertainties.

    Parameters
    ----------
    axes : matplotlib.axes.Axes
        To draw on.
    rows : pandas.DataFrame
        As `borestudy.results.comparison_errors.comparison_table` makes it.
    stated : mapping of str to float, optional
        The model error that is stated for a part [q], drawn as two lines in its colour.
    """
    axes.axhline(0, color=style.GREY, linewidth=0.9)
    for index, part in enumerate(rows["part"].unique()):
        line = style.line_style(index, style.LEGEND_LIMIT) | {"linestyle": ""}
        for kind, group in rows[rows["part"] == part].groupby("kind", sort=False):
            face = "white" if kind == "simulation" else line["color"]
            axes.errorbar(
                group["throat_reynolds"],
                group["error"],
                yerr=group["validation_uncertainty"],
                label=f"{part}, {kind}",
                markerfacecolor=face,
                **line,
            )
        width = (stated or {}).get(str(part))
        for end in () if width is None else (-width, width):
            axes.axhline(end, color=line["color"], linewidth=0.8)
    axes.set_xscale("log")
    ticks = [500, 1000, 2000, 5000, 10000, 20000, 50000, 100000]
    low, high = axes.get_xlim()
    axes.set_xticks([tick for tick in ticks if low <= tick <= high])
    axes.minorticks_off()
    axes.xaxis.set_major_formatter(lambda value, _: f"{value:g}")
    axes.set_xlabel("throat Reynolds number")
    axes.set_ylabel("computed less measured, ½ρU² of the throat")
