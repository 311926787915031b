"""The bores' sections, drawn over each other: the whole bore, and the throat entry enlarged."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from borestudy.drawing.bore import draw_section, entry_window, frame_section, mark_parts
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


@styled
def draw_bores(cases: Sequence[CaseView], directory: Path) -> FigureRecord:
    """Draw all bores in section, to scale, with an enlarged view of the throat entry."""
    drawing = figure(112)
    whole, zoom = drawing.subplots(2, 1, height_ratios=(1, 1.55))
    shown = [cases[index] for index in evenly_spaced(len(cases), LINE_LIMIT)]
    handles: list[Any] = []
    for index, case in enumerate(shown):
        style = {**line_style(index, len(shown)), "marker": ""}
        handles.append(draw_section(whole, case.outline, **style))
        draw_section(zoom, case.outline, both=False, **style)

    for axes in (whole, zoom):
        frame_section(axes)
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


def _frame(left: float, right: float, top: float) -> Any:
    from matplotlib.patches import Rectangle

    return Rectangle((left, 0), right - left, top, fill=False, edgecolor=GREY, linewidth=0.8)
