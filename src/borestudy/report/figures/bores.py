"""The bores' sections, drawn over each other: the whole bore, and the throat entry enlarged."""

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
from borestudy.report.figures.case import CaseView, Outline


@styled
def draw_bores(cases: Sequence[CaseView], directory: Path) -> FigureRecord:
    """Draw all bores in section, to scale, with an enlarged view of the throat entry."""
    drawing = figure(112)
    whole, zoom = drawing.subplots(2, 1, height_ratios=(1, 1.55))
    shown = [cases[index] for index in evenly_spaced(len(cases), LINE_LIMIT)]
    handles: list[Any] = []
    for index, case in enumerate(shown):
        style = {**line_style(index, len(shown)), "marker": ""}
        outline = case.outline
        (handle,) = whole.plot(outline.position_mm, outline.radius_mm, **style)
        whole.plot(outline.position_mm, -outline.radius_mm, **style)
        zoom.plot(outline.position_mm, outline.radius_mm, **style)
        handles.append(handle)

    for axes in (whole, zoom):
        axes.set_aspect("equal")
        axes.set_xlabel("distance from the rim plane, mm")
        axes.set_ylabel("radius, mm")
        axes.axhline(0, color=GREY, linewidth=0.6, linestyle=(0, (12, 3, 2, 3)))
    left, right, top = entry_window([case.outline for case in shown])
    zoom.set_xlim(left, right)
    zoom.set_ylim(0, top)
    zoom.set_title("throat entry, enlarged", loc="left")
    whole.add_patch(_frame(left, right, top))
    mark_parts(whole, shown[0].outline)
    key(drawing, [whole, zoom], [case.label for case in shown], handles)

    count = len(cases)
    some = f" {len(shown)} of {count} are drawn." if len(shown) < count else ""
    what = "The bore" if count == 1 else f"The {count} bores"
    return save(
        drawing,
        directory,
        "bore-sections",
        title="The bores compared",
        caption=f"{what}, cut lengthwise and drawn to scale. Air is between the lines, metal "
        f"outside them. The grey frame above is the part enlarged below.{some}",
        alt=f"Lengthwise sections of {count} bore(s) drawn over each other, with the throat entry "
        "enlarged.",
    )


def entry_window(outlines: Sequence[Outline]) -> tuple[float, float, float]:
    """One window [mm] that holds every case's throat entry: left, right, greatest radius."""
    diameter = max(outline.throat_diameter_mm for outline in outlines)
    left = min(outline.entry_start_mm for outline in outlines) - 0.9 * diameter
    right = max(outline.throat_start_mm for outline in outlines) + 1.3 * diameter
    return left, right, 1.35 * diameter


def _frame(left: float, right: float, top: float) -> Any:
    from matplotlib.patches import Rectangle

    return Rectangle((left, 0), right - left, top, fill=False, edgecolor=GREY, linewidth=0.8)


def mark_parts(axes: Any, outline: Outline) -> None:
    """Name the parts along an axial axis, with thin lines where one ends and the next begins."""
    low, high = axes.get_xlim()
    for name, (start, end) in outline.parts.items():
        if start > low:
            axes.axvline(start, color=GREY, linewidth=0.6, linestyle=(0, (1, 2)), zorder=0.5)
        width_share = (end - start) / (high - low)
        if width_share < 0.0085 * len(name):  # too narrow to write its name in
            continue
        axes.annotate(
            name,
            (np.clip((start + end) / 2, low, high), 1),
            xycoords=("data", "axes fraction"),
            xytext=(0, 3),
            textcoords="offset points",
            ha="center",
            va="bottom",
            fontsize=8,
            color=GREY,
        )
