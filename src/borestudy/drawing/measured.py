"""A measured bore: the readings on the wall that was made of them."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from borestudy.drawing.bore import Outline, draw_section, frame_section, mark_parts
from borestudy.drawing.marks import write_upright
from borestudy.drawing.style import COLOURS, GREY, figure, legend, styled

#: How a station is marked, by what it is: words for the legend, marker, colour, filled.
LOOKS = {
    "reading": ("one reading", "o", COLOURS[0], False),
    "repeated": ("mean of repeated readings", "D", COLOURS[2], True),
    "step": ("step", "s", COLOURS[0], True),
    "doubtful": ("not what its neighbours suggest", "o", COLOURS[1], True),
    "left out": ("left out", "x", COLOURS[1], True),
}
#: Kinds of findings that mark their stations, the later over the earlier.
MARKED = {
    "repeated readings": "repeated",
    "step": "step",
    "doubtful station": "doubtful",
    "outlier": "doubtful",
    "step not suggested": "doubtful",
}
#: Changes of a diameter that are rounding [mm].
ROUNDING = 1e-6


def looks_of(record: Any) -> list[str]:
    """What each station of a measurement is, in words of `LOOKS`, in the stations' order.

    `record` has `stations` and `findings` as `borestudy.bore.measured.record` has them.
    """
    looks = []
    for station in record.stations:
        look = "reading"
        for kind, word in MARKED.items():
            about = [one for one in record.findings if one.kind == kind]
            if any(set(station.lines) & set(one.lines) for one in about):
                look = word
        looks.append(look)
    return looks


def deviations_mm(record: Any) -> tuple[np.ndarray, np.ndarray]:
    """Positions of all readings in the bore, and how far each is from the wall as used [mm]."""
    pairs = [
        (one.position_mm, reading - one.diameter_mm)
        for one in record.stations
        for reading in one.readings_mm
    ]
    places, off = np.array(pairs).T
    return places, np.where(np.abs(off) > ROUNDING, off, 0.0)


@styled
def readings_figure(walls: Sequence[Outline], records: Sequence[Any]) -> Any:
    """A figure of measured bores, each with its stations and, where any is, what is off its wall.

    Parameters
    ----------
    walls : list of Outline
        Of the bores.
    records : list of MeasurementRecord
        Of the same bores.

    Returns
    -------
    matplotlib.figure.Figure
    """
    below = [has_deviations(record) for record in records]
    heights = [size for both in below for size in ((1.0, 0.8) if both else (1.0,))]
    drawing = figure(12 + 48 * sum(heights))
    panels = list(drawing.subplots(len(heights), 1, height_ratios=heights, squeeze=False).flat)
    marks: dict[str, Any] = {}
    for wall, record, both in zip(walls, records, below, strict=True):
        axes = panels.pop(0)
        marks |= dict(draw_stations(axes, wall, record))
        if len(records) > 1:
            axes.set_title(record.file, loc="left", pad=14)
        if both:
            beneath = panels.pop(0)
            draw_deviations(beneath, record)
            beneath.set_xlim(axes.get_xlim())
    legend(drawing, marks.values(), list(marks))
    return drawing


def draw_stations(axes: Any, wall: Outline, record: Any) -> list[tuple[str, Any]]:
    """Draw a measured bore in section with its readings; returns words and marks for a legend."""
    draw_section(axes, wall, color="black", linewidth=0.9)
    looks = looks_of(record)
    shown = [(one.position_mm, one.diameter_mm / 2, look)
             for one, look in zip(record.stations, looks, strict=True)]  # fmt: skip
    shown += [(one.position_mm, reading / 2, "left out")
              for one in record.left_out for reading in one.readings_mm]  # fmt: skip
    handles = []
    for look, (words, marker, colour, filled) in LOOKS.items():
        places = [(x, r) for x, r, which in shown if which == look]
        if places:
            x, r = np.array(places).T
            (handle,) = axes.plot(
                x, r, linestyle="", marker=marker, color=colour, markersize=3.6, zorder=3,
                markerfacecolor=colour if filled else "white", markeredgewidth=0.9,
            )  # fmt: skip
            handles.append((words, handle))
    frame_section(axes)
    axes.margins(x=0.07, y=0.12)
    _name_places(axes, wall)
    return handles


def _name_places(axes: Any, wall: Outline) -> None:
    """Name the parts, and the rim plane and the shank end beside them."""
    mark_parts(axes, wall)
    low, high = axes.get_xlim()
    start, end = float(wall.position_mm[0]), float(wall.position_mm[-1])
    for place, side, words in ((start, -1, "rim plane"), (end, 1, "shank end")):
        axes.axvline(place, color=GREY, linewidth=0.6, linestyle=(0, (1, 2)), zorder=0.5)
        write_upright(axes, place + side * 0.018 * (high - low), 0.5, words, "center")
    # Mostly too short for its name above the axes, so that it is written into the metal.
    if "throat" in wall.parts and "throat" not in [one.get_text() for one in axes.texts]:
        middle = sum(wall.parts["throat"]) / 2
        axes.annotate("throat", (middle, 0.08), xycoords=("data", "axes fraction"), ha="center",
                      fontsize=8, color=GREY)  # fmt: skip


def draw_deviations(axes: Any, record: Any) -> None:
    """Draw how far each reading is from the wall, over the uncertainty of its station."""
    places, off = deviations_mm(record)
    x = np.array([one.position_mm for one in record.stations])
    error = np.array([one.diameter_mm_uncertainty or 0.0 for one in record.stations])
    axes.fill_between(x, -error, error, color=GREY, alpha=0.18, linewidth=0, zorder=1)
    axes.axhline(0, color="black", linewidth=0.7)
    axes.plot(places, off, linestyle="", marker="o", markersize=3, color=COLOURS[0])
    axes.set(xlabel="distance from the rim plane, mm", ylabel="reading\n− wall, mm")


def has_deviations(record: Any) -> bool:
    """Whether any reading is off its wall: repeated ones, or smoothed stations."""
    return bool((deviations_mm(record)[1] != 0).any())
