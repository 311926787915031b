"""What a study took: against the number of its cases, and against the size of its meshes."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.ticker import MaxNLocator

from borestudy.drawing import looks, style
from borestudy.drawing.lettering import wrapped
from borestudy.report.captions import save

#: Name of the figure.
COSTS = "costs"
#: Longest line of words of a panel's title, of the width [mm].
TITLE_SHARE = 0.42
#: Height of the axis of a panel with a legend, of the highest mark.
HEADROOM = 1.5
#: Most marks of a panel, or of one level of mesh in it: evenly spaced cases stand for all.
MARKS = 200
#: Seconds from which hours, and minutes, are drawn.
UNITS = ((7200.0, 3600.0, "h"), (180.0, 60.0, "min"), (0.0, 1.0, "s"))


@style.styled
def draw_costs(
    seconds: Mapping[str, float], others: float, meshes: pd.DataFrame, directory: Path
) -> style.FigureRecord | None:
    """Draw the time so far after each case, and what a flow solve takes on a mesh of its size.

    Parameters
    ----------
    seconds : mapping of str to float
        Time that each case kept a core [s], in the study's order.
    others : float
        Time of all that is done once, whatever the number of cases [s].
    meshes : pandas.DataFrame
        A row a case, model and level of mesh: ``mesh_level``, ``unknowns``, ``solve_time_s``.
    directory : Path
        Where its files are written.
    """
    if not seconds or meshes.empty:
        return None
    narrow = looks.is_narrow()
    drawing = style.figure(110 if narrow else 66)
    left, right = drawing.subplots(2, 1) if narrow else drawing.subplots(1, 2)
    title_mm = looks.width_mm() * (1 if narrow else TITLE_SHARE)
    every = others + np.concatenate([[0.0], np.cumsum([*seconds.values()])])
    count = np.array(style.evenly_spaced(len(every), MARKS))
    so_far = every[count]
    _draw_cases(left, count, so_far, title_mm)
    levels = [rows for _, rows in meshes.groupby(["model", "mesh_level"])]
    meshes = pd.concat([rows.iloc[style.evenly_spaced(len(rows), MARKS)] for rows in levels])
    _draw_meshes(right, meshes, title_mm)
    mean = float(np.mean([*seconds.values()]))
    counted = pd.DataFrame({"cases": count, "core_time_s": np.round(so_far, 3), "panel": "cases"})
    data = pd.concat([counted, meshes.assign(panel="meshes")], ignore_index=True)
    return save(
        drawing,
        directory,
        COSTS,
        data[["panel", *data.columns.drop("panel")]],
        count=len(seconds),
        mean=f"{mean:.3g}",
        others=f"{others:.3g}",
        levels=meshes["mesh_level"].nunique(),
    )


def _draw_cases(axes: Any, count: np.ndarray, so_far: np.ndarray, title_mm: float) -> None:
    """Time of a core after so many cases, and the straight line from none to all of them."""
    _, unit, word = next(one for one in UNITS if so_far[-1] >= one[0])
    few = len(so_far) <= style.LINE_LIMIT
    axes.plot([0, count[-1]], so_far[[0, -1]] / unit, color=style.GREY, linewidth=0.9)
    axes.plot(
        count,
        so_far / unit,
        color=style.COLOURS[0],
        marker="o" if few else "",
        linestyle="" if few else "-",
    )
    axes.set_title(wrapped(f"time of one core, {word}", title_mm), loc="left")
    axes.set_xlabel("cases that are done")
    axes.xaxis.set_major_locator(MaxNLocator(5, integer=True))
    style.from_zero([axes])


def _draw_meshes(axes: Any, meshes: pd.DataFrame, title_mm: float) -> None:
    """Seconds of the flow's solves on each mesh against its unknowns."""
    # A mesh on which all rates were known took no time.
    solved = meshes[meshes["solve_time_s"] > 0]
    for level in sorted(set(solved["mesh_level"].astype(int))):
        rows = solved[solved["mesh_level"] == level]
        line = style.line_style(level, style.LEGEND_LIMIT) | {"linestyle": ""}
        thousands = rows["unknowns"] / 1000
        axes.plot(thousands, rows["solve_time_s"], label=f"level {level}", **line)
    axes.set_title(wrapped("flow solves on a mesh, s", title_mm), loc="left")
    axes.set_xlabel("thousand unknowns")
    axes.set_xlim(0, 1.07 * max(solved["unknowns"], default=1000) / 1000)
    # The legend is above the marks, which rise from left to right.
    axes.set_ylim(0, HEADROOM * max(solved["solve_time_s"], default=1.0))
    if len(solved):
        axes.legend(loc="upper left")
