"""Figures of the open nozzle benchmark: lines along it, and each segment's deviation."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from borestudy.closed_form.nozzle_taps import FRICTION_REYNOLDS, TAP_DROPS
from borestudy.drawing.style import COLOURS, GREY, FigureRecord, figure, save, styled
from borestudy.validation.nozzle import CONE_MM, Comparison, NozzleFlow, compare_nozzle

#: The first tap, from which the pressure along the wall is drawn, and the throat's end, z in mm.
FIRST_TAP, THROAT_END = -32.0, 40.0
#: Where the nozzle changes its course, z in mm.
CORNERS = (0.0, THROAT_END, THROAT_END + CONE_MM)
PRESSURE_LABEL = "wall pressure less that at −32 mm, q"


@styled
def draw_nozzle(laminar: NozzleFlow, folder: Path) -> FigureRecord:
    """Draw wall pressure and velocity on the axis, computed as lines and measured as points."""
    drawing = figure(132)
    above, below = drawing.subplots(2, 1, sharex=True)
    rows = compare_nozzle(laminar)
    for rate, colour in zip(laminar.rates, COLOURS, strict=False):
        measured = [row for row in rows if row.reynolds == rate.reynolds]
        for axes, lines, unit in ((above, rate.wall, "q"), (below, rate.axis, "U")):
            points = [row for row in measured if row.check.unit == unit]
            if not points or not lines:
                continue
            start = lines[-1].at(FIRST_TAP) if unit == "q" else 0.0
            label = f"Re {rate.reynolds:g}"
            line = lines[-1].moved(0.0, start)
            axes.plot(line.position, line.value, color=colour, label=label)
            _points(axes, points, colour)
    above.set_ylabel(PRESSURE_LABEL)
    below.set_ylabel("velocity on the axis over U")
    below.set_xlabel("distance from the square edge z, mm")
    below.set_xlim(-40.0, 105.0)
    for axes in (above, below):
        _corners(axes)
        axes.legend(loc="upper right")
    return save(
        drawing,
        folder,
        "nozzle-benchmark",
        title="Computed against measured in an open nozzle",
        caption="Lines: laminar computation. Points: mean of the laboratories, bars from their "
        "least to their greatest, or 8 % of a velocity. From Re 3500 on the flow downstream of the "
        "square edge is turbulent and the laminar line is shown for what it is: right before the "
        "edge, wrong after it. Dotted lines: the throat's ends and the cone's.",
        alt="Wall pressure and centreline velocity along a nozzle of 4 mm, computed and measured.",
    )


@styled
def draw_nozzle_segments(flows: Sequence[NozzleFlow], folder: Path) -> FigureRecord:
    """Draw each measured segment at Reynolds number 5000 beside both models."""
    drawing = figure(110)
    above, below = drawing.subplots(2, 1, height_ratios=(3, 2))
    places = np.arange(len(TAP_DROPS[FRICTION_REYNOLDS]))
    for index, flow in enumerate(flows):
        (rate,) = (rate for rate in flow.rates if rate.reynolds == FRICTION_REYNOLDS)
        rows = [row for row in compare_nozzle(flow) if row.reynolds == FRICTION_REYNOLDS]
        for along in rate.wall[-1:]:
            line = along.moved(0.0, along.at(FIRST_TAP))
            label = f"{flow.model} solution"
            above.plot(line.position, line.value, color=COLOURS[index], label=label)
        below.barh(
            places + 0.36 * (index - 0.5),
            [row.check.computed - row.measured[0] for row in rows],
            height=0.32,
            xerr=[row.check.uncertainty or 0.0 for row in rows],
            color=COLOURS[index],
            error_kw={"linewidth": 0.9},
        )
    _points(above, rows, "#000000", label="measured, mean and range")
    _corners(above)
    for word, middle in (("pipe", -16.0), ("throat", 20.0), ("cone", 51.3), ("pipe", 82.0)):
        above.annotate(word, (middle, 0.12), ha="center", color=GREY)
    above.set_ylim(-2.9, 0.35)
    above.set_xlim(FIRST_TAP, 100)
    above.set_xlabel("distance from the square edge, mm")
    above.set_ylabel(PRESSURE_LABEL)
    above.set_title("Open nozzle benchmark at Reynolds number 5000", loc="left", fontweight="bold")
    above.legend(loc="lower right")
    mean, low, high = np.array([row.measured for row in rows]).T
    below.errorbar(np.zeros(len(rows)), places, xerr=[mean - low, high - mean], fmt="o",
                   markersize=3, color="#000000")  # fmt: skip
    below.set_yticks(places, [row.check.quantity.replace("-", "−") for row in rows])
    below.invert_yaxis()
    below.set_xlabel("computed less measured pressure difference, q; black: range measured")
    below.grid(axis="y", visible=False)
    return save(
        drawing,
        folder,
        "nozzle-segments",
        title="Open nozzle benchmark at Reynolds number 5000",
        caption="Above: pressure along the wall less that at −32 mm. Below: each segment's "
        "deviation with its numerical uncertainty, and the laboratories' range about zero. "
        "q is the throat's dynamic pressure.",
        alt="Wall pressure of both solutions along a nozzle with measured points between them.",
    )


def _corners(axes: Any) -> None:
    for place in CORNERS:
        axes.axvline(place, color=GREY, linewidth=0.7, linestyle=(0, (1, 2)))


def _points(axes: Any, rows: Sequence[Comparison], colour: str, label: str | None = None) -> None:
    """Draw velocities, and segments from the first tap as pressures below it, with their ranges."""
    from_first = f"p({FIRST_TAP:g} mm)"
    shown = [r for r in rows if r.check.unit == "U" or r.check.quantity.startswith(from_first)]
    mean, low, high = np.array([row.measured for row in shown]).T
    bars = np.array([mean - low, high - mean])
    if shown[0].check.unit == "q":
        mean, bars = -mean, bars[::-1]
    axes.errorbar(
        [row.z_mm for row in shown], mean, bars, fmt="o", color=colour, zorder=3, label=label
    )
