"""A panel of curves, one a bore, with words at the pointer's place on them."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from borestudy.drawing import style
from borestudy.report.figures.case import CaseView, PicturedStudy
from borestudy.report.interactive.looks import scales
from borestudy.report.interactive.panels import (
    BORE,
    NUMBER,
    Axis,
    Panel,
    Row,
    Words,
    level,
    line_layer,
    lines_data,
    marks_layer,
    panel,
    rounded,
    without,
    zoom,
)
from borestudy.report.interactive.thinning import thinned

#: More bores than these are not charted: evenly spaced ones stand for all.
BORE_LIMIT = 100
#: Places with words in a panel, of all curves together, and on one curve at least and at most.
PLACES, LEAST_PLACES, MOST_PLACES = 1200, 12, 150


@dataclass(frozen=True)
class Curve:
    """A curve of the bore of a number, with what is said at each of its points.

    `x` and `y` have shape (n,); `marked` are points that are always among those with words, such
    as peaks.
    """

    number: int
    label: str
    x: NDArray[np.float64]
    y: NDArray[np.float64]
    say: Callable[[int], dict[str, str]]
    marked: Sequence[int] = field(default=())


def charted(study: PicturedStudy) -> list[CaseView]:
    """The bores of the charts, in the order of their numbers."""
    return style.sample(study.cases, BORE_LIMIT)


def bore_channels(study: PicturedStudy) -> dict[str, dict[str, object]]:
    """Colour, dash and shape by the bore's number; the row of check boxes is the legend."""
    return scales(NUMBER, range(len(charted(study))))


def curves_panel(
    study: PicturedStudy,
    title: str,
    description: str,
    curves: Sequence[Curve],
    axes: tuple[Axis, Axis],
    words: Words,
    levels: Sequence[float] = (),
) -> Panel:
    """A panel of curves; `levels` are values that have a thin line across."""
    across, up = axes
    encoding = {"x": across.channel("x"), "y": up.channel("y"), **bore_channels(study)}
    drawn, rows = [], []
    places = min(MOST_PLACES, max(LEAST_PLACES, PLACES // max(1, len(curves))))
    for curve in curves:
        x, y = (
            np.log(value) if axis.is_log else value
            for axis, value in zip(axes, (curve.x, curve.y), strict=True)
        )
        kept = thinned(x, y)
        drawn.append((curve.number, curve.x[kept], curve.y[kept]))
        rows += _places(curve, kept, places)
    layers = [level(value) for value in levels]
    lines = line_layer(lines_data(drawn), without(encoding, "shape"))
    layers.append({**lines, "params": [zoom("x", "y")]})
    layers.append(marks_layer(rows, without(encoding, "strokeDash"), words, visible=False))
    return panel(title, description, len(charted(study)), layers)


def _places(curve: Curve, kept: NDArray[np.intp], count: int) -> list[Row]:
    """Rows of the places of a curve that have words: the marked ones, and others as they lie."""
    even = [int(kept[index]) for index in style.evenly_spaced(len(kept), count)]
    return [
        {
            NUMBER: curve.number,
            "x": rounded(curve.x[index]),
            "y": rounded(curve.y[index]),
            BORE: curve.label,
            **curve.say(index),
        }
        for index in sorted({*even, *curve.marked})
    ]
