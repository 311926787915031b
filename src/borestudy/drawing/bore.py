"""A bore cut lengthwise: its wall line, and how a section is drawn and labelled."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from borestudy.drawing.marks import write_above
from borestudy.drawing.style import GREY


@dataclass(frozen=True)
class Outline:
    """The wall line of a bore, sampled for drawing.

    `position_mm` and `radius_mm`, shape (n,), are points along the wall from the rim plane to the
    shank end; steps are repeated positions.  Of each named part, in order, `parts` has start and
    end [mm from the rim plane].
    """

    position_mm: np.ndarray
    radius_mm: np.ndarray
    parts: Mapping[str, tuple[float, float]]

    @property
    def throat_start_mm(self) -> float:
        """Where the throat begins; the narrowest place if no part is called throat."""
        if "throat" in self.parts:
            return self.parts["throat"][0]
        return float(self.position_mm[np.argmin(self.radius_mm)])

    @property
    def throat_diameter_mm(self) -> float:
        """Diameter of the narrowest place."""
        return 2 * float(self.radius_mm.min())

    @property
    def entry_start_mm(self) -> float:
        """Where the throat entry begins; a square entry has no length of its own."""
        return self.parts["entry"][0] if "entry" in self.parts else self.throat_start_mm


def outline(bore: Any, points_per_curve: int = 48) -> Outline:
    """Sample a bore's segments for drawing: two points for a line, `points_per_curve` for a curve.

    The segments are rational Bézier curves with `points`, shape (n + 1, 2) [m], `weights`,
    shape (n + 1,), and `part`.
    """
    pieces: list[np.ndarray] = []
    parts: dict[str, tuple[float, float]] = {}
    for segment in bore.segments:
        piece = 1e3 * sample_curve(segment.points, segment.weights, points_per_curve)
        pieces.append(piece)
        start = parts.get(segment.part, (float(piece[0, 0]), 0.0))[0]
        parts[segment.part] = (start, float(piece[-1, 0]))
    line = np.concatenate(pieces)
    return Outline(line[:, 0], line[:, 1], parts)


def sample_curve(points: ArrayLike, weights: ArrayLike, count: int) -> np.ndarray:
    """Points on a rational Bézier curve at `count` even parameters (de Casteljau), shape (·, 2)."""
    control, weight = np.asarray(points, float), np.asarray(weights, float)
    if len(control) == 2:
        return control
    parameter = np.linspace(0, 1, count)[:, None, None]
    homogeneous = np.broadcast_to(
        np.column_stack([control * weight[:, None], weight]), (count, len(control), 3)
    )
    while homogeneous.shape[1] > 1:
        homogeneous = (1 - parameter) * homogeneous[:, :-1] + parameter * homogeneous[:, 1:]
    return homogeneous[:, 0, :2] / homogeneous[:, 0, 2:]


def draw_section(axes: Any, outline: Outline, *, both: bool = True, **style: Any) -> Any:
    """Draw a bore's wall, on both sides of the axis or above it alone; returns the upper line."""
    (handle,) = axes.plot(outline.position_mm, outline.radius_mm, **style)
    if both:
        axes.plot(outline.position_mm, -outline.radius_mm, **style)
    return handle


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
        if width_share < 0.0085 * len(name):  # too narrow to write its name in
            continue
        write_above(axes, float(np.clip((start + end) / 2, low, high)), name)
