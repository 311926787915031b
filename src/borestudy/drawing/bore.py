"""A bore cut lengthwise: its wall line, and how a section is drawn and labelled."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from borestudy.drawing import looks
from borestudy.drawing.lettering import text_width_mm
from borestudy.drawing.marks import write_above
from borestudy.drawing.outline import Outline, outline, sample_curve
from borestudy.drawing.style import GREY, METAL

__all__ = ["Outline", "outline", "sample_curve"]

#: What a scale and its words take beside an axial axis [mm].
BESIDE_MM = 20.0


def draw_section(axes: Any, outline: Outline, *, both: bool = True, **style: Any) -> Any:
    """Draw a bore's wall, on both sides of the axis or above it alone; returns the upper line."""
    (handle,) = axes.plot(outline.position_mm, outline.radius_mm, **style)
    if both:
        axes.plot(outline.position_mm, -outline.radius_mm, **style)
    return handle


def draw_thumb(axes: Any, outline: Outline, span: tuple[float, float]) -> None:
    """Draw a section small, to scale: air white, metal grey, no numbers."""
    inside = (outline.position_mm >= span[0] - 1) & (outline.position_mm <= span[1] + 1)
    radius = float(outline.radius_mm[inside].max(initial=outline.radius_mm.min()))
    # a wide cup's edge would leave the throat too small to be seen
    top = max(1.35 * outline.throat_diameter_mm / 2, min(1.15 * radius, 0.25 * (span[1] - span[0])))
    axes.set_facecolor(METAL)
    axes.fill_between(
        outline.position_mm, -outline.radius_mm, outline.radius_mm, color="white", linewidth=0
    )
    for side in (1, -1):
        axes.plot(outline.position_mm, side * outline.radius_mm, color="black", linewidth=0.8)
    axes.set(aspect="equal", xlim=span, ylim=(-top, top), xticks=[], yticks=[])
    axes.grid(visible=False)
    for spine in axes.spines.values():
        spine.set_visible(False)


def frame_section(axes: Any) -> None:
    """Label an axial section's axes, make it true to scale and draw the line of symmetry."""
    axes.set_aspect("equal")
    axes.set_xlabel("distance from the rim plane, mm")
    axes.set_ylabel("radius, mm")
    axes.axhline(0, color=GREY, linewidth=0.6, linestyle=(0, (12, 3, 2, 3)))


def entry_window(outlines: Sequence[Outline]) -> tuple[float, float, float]:
    """One window [mm] that holds every case's throat entry: left, right, greatest radius."""
    diameter = max(outline.throat_diameter_mm for outline in outlines)
    left = min(outline.entry_start_mm for outline in outlines) - 0.9 * diameter
    right = max(outline.throat_start_mm for outline in outlines) + 1.3 * diameter
    return left, right, 1.35 * diameter


def mark_parts(axes: Any, outline: Outline) -> None:
    """Name the parts along an axial axis, with thin lines where one ends and the next begins."""
    low, high = axes.get_xlim()
    for name, (start, end) in outline.parts.items():
        if start > low:
            axes.axvline(start, color=GREY, linewidth=0.6, linestyle=(0, (1, 2)), zorder=0.5)
        width_share = (end - start) / (high - low)
        room_mm = width_share * (looks.width_mm() - BESIDE_MM)
        if room_mm < text_width_mm(name, 8):  # too narrow to write its name in
            continue
        write_above(axes, float(np.clip((start + end) / 2, low, high)), name)
