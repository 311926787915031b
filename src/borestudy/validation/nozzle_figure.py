"""Computed against measured along the open nozzle benchmark."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from borestudy.drawing.style import COLOURS, GREY, FigureRecord, figure, save, styled

#: What is shown of the nozzle, z in mm.
SHOWN_MM = (-40.0, 105.0)


@styled
def draw_nozzle(
    flow: Mapping[str, Any], rows: Sequence[Mapping[str, Any]], edge_mm: float, directory: Path
) -> FigureRecord:
    """Draw wall pressure and centreline velocity, computed as lines and measured as points.

    Parameters
    ----------
    flow : mapping
        ``flow.json`` of the nozzle.
    rows : sequence of mapping
        Computed against measured.
    edge_mm : float
        Position of the square edge, where z is 0.
    directory : Path
        Where the files go.
    """
    drawing = figure(132)
    above, below = drawing.subplots(2, 1, sharex=True)
    for rate in flow["rates"]:
        reynolds = round(rate["throat_reynolds"], -1)
        velocities, taps = (_of(rows, reynolds, unit) for unit in "Uq")
        if not rate["converged"]:
            continue
        colour = COLOURS[[500, 2000, 3500, 5000].index(int(reynolds))]
        label = f"Re {reynolds:g}"
        if velocities:
            _line(below, rate, "axis", "velocity_m_per_s", edge_mm, colour, label)
            _points(below, velocities, "z_mm", 1.0, colour)
        if taps:
            _line(above, rate, "wall", "pressure_Pa", edge_mm, colour, label)
            _points(above, [row for row in taps if "(-32)" in row["quantity"]], "z_mm", -1, colour)
    above.set_ylabel("wall pressure less that at −32 mm, q")
    below.set_ylabel("velocity on the axis over U")
    below.set_xlabel("distance from the square edge z, mm")
    below.set_xlim(*SHOWN_MM)
    for axes in (above, below):
        for place in (0.0, 40.0, 62.685):
            axes.axvline(place, color=GREY, linewidth=0.7, linestyle=(0, (1, 2)))
        axes.legend(loc="upper right")
    return save(
        drawing,
        directory,
        "nozzle-benchmark",
        title="Computed against measured in an open nozzle",
        caption="Lines: laminar computation. Points: mean of the laboratories, bars from their "
        "least to their greatest, or 8 % of a velocity. From Re 3500 on the flow behind the square "
        "edge is turbulent and the laminar line is shown for what it is: right before the edge, "
        "wrong behind it. Dotted lines: the throat's ends and the cone's.",
        alt="Wall pressure and centreline velocity along a nozzle of 4 mm, computed and measured.",
    )


def _of(rows: Sequence[Mapping[str, Any]], reynolds: float, unit: str) -> list[Mapping[str, Any]]:
    return [row for row in rows if row["throat_reynolds"] == reynolds and row["unit"] == unit]


def _line(
    axes: Any,
    rate: Mapping[str, Any],
    line: str,
    quantity: str,
    edge_mm: float,
    colour: str,
    label: str,
) -> None:
    position = np.asarray(rate[line]["position_mm"]) - edge_mm
    value = np.asarray(rate[line][quantity])
    if line == "wall":
        value = (value - np.interp(-32.0, position, value)) / rate["dynamic_pressure_Pa"]
    else:
        value = value / rate["throat_velocity_m_per_s"]
    axes.plot(position, value, color=colour, label=label)


def _points(
    axes: Any, rows: Sequence[Mapping[str, Any]], place: str, sign: float, colour: str
) -> None:
    middle = np.array([row["measured"] for row in rows])
    bars = np.abs([[row["measured_low"], row["measured_high"]] for row in rows] - middle[:, None])
    bars = bars.T if sign > 0 else bars.T[::-1]
    axes.errorbar(
        [row[place] for row in rows], sign * middle, bars, fmt="o", color=colour, zorder=3
    )
