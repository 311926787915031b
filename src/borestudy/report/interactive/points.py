"""A panel of marks with bars, joined by lines: what a dimension, a rate or a peak's number does."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from borestudy.report.interactive.panels import (
    BORE,
    NUMBER,
    Axis,
    Panel,
    Row,
    Words,
    bars_layer,
    level,
    line_layer,
    marks_layer,
    panel,
    rounded,
    without,
    zoom,
)

#: Room for half a mark beyond the outermost ones [px].
ROOM = 9.0


def with_errors(
    number: int,
    label: str,
    x: Any,
    value: float,
    error: float | tuple[float, float],
    words: Mapping[str, Any],
) -> list[Row]:
    """The row of one mark; none where there is no value.

    `error` is half the length of its bar, or how far that reaches down and up; NaN has no bar.
    """
    if not np.isfinite(value):
        return []
    below, above = error if isinstance(error, tuple) else (error, error)
    ends = {"ylow": rounded(value - below), "yhigh": rounded(value + above)}
    place = x if isinstance(x, str) else rounded(float(x))
    return [{NUMBER: number, BORE: label, "x": place, "y": rounded(value), **ends, **words}]


def points_panel(
    title: str,
    description: str,
    bores: int,
    rows: Sequence[Row],
    axes: tuple[Axis, Axis],
    words: Words,
    channels: Mapping[str, Any],
    *,
    level_at: float | None = None,
    joined: bool = True,
) -> Panel:
    """A panel of marks with vertical bars; `channels` tell the lines apart that join them.

    Axes of numbers can be moved and stretched, those of words cannot.
    """
    across, up = (replace(axis, room=ROOM) for axis in axes)
    encoding = {"x": across.channel("x"), "y": up.channel("y"), **channels}
    layers = [] if level_at is None else [level(level_at)]
    movable = [name for name, axis in zip("xy", axes, strict=True) if not axis.names]
    if joined:
        joints = [{name: row[name] for name in _fields(row, channels)} for row in rows]
        layers.append(line_layer(joints, without(encoding, "shape"), opacity=0.75))
    layers.append(bars_layer(rows, without(encoding, "shape", "strokeDash")))
    if any("xlow" in row for row in rows):
        layers.append(bars_layer(rows, without(encoding, "shape", "strokeDash"), "x"))
    marks = marks_layer(rows, without(encoding, "strokeDash"), words)
    marks["params"] = [*marks["params"], zoom(*movable)]
    return panel(title, description, bores, [*layers, marks])


def _fields(row: Row, channels: Mapping[str, Any]) -> list[str]:
    """What a line needs of its rows."""
    telling = {channel["field"] for channel in channels.values() if "field" in channel}
    return [name for name in row if name in {NUMBER, "x", "y", *telling}]
