"""The wall line of a bore, sampled; nothing is drawn here, and no plotting library loaded."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike


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
