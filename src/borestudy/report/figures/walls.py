"""Pressure and shear along the wall of the throat entry, and where the flow leaves the wall."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from borestudy.drawing.style import (
    GREY,
    LINE_LIMIT,
    FigureRecord,
    evenly_spaced,
    figure,
    key,
    line_style,
    save,
    styled,
)
from borestudy.report.figures.case import CaseView
from borestudy.rounding import MINUS

#: How far before the throat and behind its start the wall is drawn [throat diameters].
BEFORE, BEHIND = 1.0, 2.5
BARS = "Bars below: where the air has left the wall and runs back under the stream."
STAYS = "The air stays on the wall here in every case."


@styled
def draw_wall(cases: Sequence[CaseView], flow_rate: float, directory: Path) -> FigureRecord:
    """Draw wall pressure and wall shear about the throat entry at one flow rate [L/s]."""
    shown = [cases[index] for index in evenly_spaced(len(cases), LINE_LIMIT)]
    diameter = max(case.outline.throat_diameter_mm for case in shown)
    window = (-BEFORE * diameter, BEHIND * diameter)
    places = [_bubbles(case, flow_rate, window[1]) for case in shown]
    leaves = any(places)
    heights = (3, 3, 0.35 + 0.28 * len(shown)) if leaves else (3, 3)
    drawing = figure(128 if leaves else 100)
    panels = drawing.subplots(len(heights), 1, sharex=True, height_ratios=heights)
    pressure, shear = panels[:2]
    handles: list[Any] = []
    labels: list[str] = []
    for index, case in enumerate(shown):
        row = case.rate(flow_rate)
        wall, start = row.get("wall") or {}, case.outline.throat_start_mm
        style = {**line_style(index, len(shown)), "marker": ""}
        handles += pressure.plot(*_line(wall, "position_mm", "pressure_Pa", start, window), **style)
        shear.plot(*_line(wall, "shear_position_mm", "shear_Pa", start, window), **style)
        labels.append(case.label if wall else f"{case.label} ({case.unsolved})")
        for ends in places[index]:
            panels[-1].plot(ends, [-index] * 2, linewidth=4, color=style["color"], marker="")
    shear.axhline(0, color=GREY, linewidth=0.7)
    shear.set_yscale("symlog", linthresh=_least_shear(shear))
    shear.yaxis.set_major_formatter(lambda value, _: f"{value:g}".replace("-", MINUS))
    pressure.set_ylabel("wall pressure, Pa")
    shear.set_ylabel("wall shear, Pa")
    if leaves:
        panels[-1].set(ylim=(-len(shown) + 0.4, 0.6), yticks=[])
        panels[-1].set_ylabel("off the\nwall", rotation=0, ha="right", va="center")
        panels[-1].grid(visible=False)
    panels[-1].set(xlim=window, xlabel="distance from the start of the throat, mm")
    key(drawing, list(panels), labels, handles)
    regimes = sorted({str(case.rate(flow_rate).get("regime", "")) for case in shown} - {""})
    return save(
        drawing,
        directory,
        "wall",
        title=f"Along the wall of the throat entry at {flow_rate:g} L/s",
        caption=f"Above: pressure on the wall. {'Middle' if leaves else 'Below'}: how hard the air "
        "rubs along it, on a scale of powers of ten; below zero it rubs backwards. "
        f"{BARS if leaves else STAYS} At a sharp edge the shear has no limit, so its peak "
        f"means nothing. Laminar computation; regime at this rate: "
        f"{', '.join(regimes) or 'unknown'}.",
        alt=f"Wall pressure and wall shear about the throat entry at {flow_rate:g} L/s for "
        f"{len(shown)} case(s){', with bars where the flow is separated' if leaves else ''}.",
    )


def _bubbles(case: CaseView, flow_rate: float, end: float) -> list[tuple[float, float]]:
    """Where the flow is off the wall [mm from the throat's start], up to an end."""
    start = case.outline.throat_start_mm
    places = []
    for bubble in case.rate(flow_rate).get("separations", []):
        begin, back = bubble["separation_mm"] - start, bubble["reattachment_mm"]
        if begin < end:
            places.append((begin, end if back is None else min(back - start, end)))
    return places


def _line(
    wall: dict[str, Any], place: str, name: str, start: float, window: tuple[float, float]
) -> tuple[np.ndarray, np.ndarray]:
    """Positions from the throat's start [mm] and values, those in the window."""
    position = np.asarray(wall.get(place, []), float) - start
    value = np.asarray(wall.get(name, []), float)
    inside = (position >= window[0]) & (position <= window[1])
    return position[inside], value[inside]


def _least_shear(axes: Any) -> float:
    """Where the scale of powers of ten turns straight: a hundredth of the usual shear."""
    values = np.concatenate([np.abs(line.get_ydata()) for line in axes.get_lines()] or [[1.0]])
    usual = float(np.median(values[values > 0])) if np.any(values > 0) else 1.0
    return 10.0 ** np.floor(np.log10(usual / 10))
