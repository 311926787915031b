"""Panels of curves, one a bore, and of their differences from the first bore's curve."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from borestudy.drawing import style
from borestudy.report.figures.case import PicturedStudy
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
from borestudy.rounding import significant, with_uncertainty

Array = NDArray[np.float64]
#: Places with words in a panel, of all curves together, and on one curve at least and at most.
PLACES, LEAST_PLACES, MOST_PLACES = 480, 8, 120
#: Curves that on average lie nearer to the first one than this share of the panel's height cannot
#: be told apart: some 8 of 260 pixels.
COINCIDE = 0.03
#: Points at which curves of different places are held against each other.
COMMON = 600


@dataclass(frozen=True)
class Curve:
    """A curve of the bore of a number.

    `x`, `y` and `error`, the half width of what is left open, have shape (n,); `error` is None for
    what has no uncertainty of its own.  `marked` are points that always have words, such as peaks;
    `more` are further words of each point.
    """

    number: int
    label: str
    x: Array
    y: Array
    error: Array | None = None
    marked: Sequence[int] = ()
    more: Mapping[str, Sequence[str]] = field(default_factory=dict)


@dataclass(frozen=True)
class Subject:
    """What curves are of: a title, the value's name and unit, the place's name and unit.

    `drawn` is what a value is multiplied with to be in the words' unit.  Differences are relative,
    in per cent, or in the unit.
    """

    title: str
    name: str
    unit: str
    place: str
    place_unit: str
    relative: bool = False
    drawn: float = 1.0
    more: Mapping[str, str] = field(default_factory=dict)


def bore_channels(study: PicturedStudy) -> dict[str, dict[str, object]]:
    """Colour, dash and shape by the bore's number; the row of check boxes is the legend."""
    return scales(NUMBER, range(len(study.charted)))


def curves_panels(
    study: PicturedStudy,
    subject: Subject,
    curves: Sequence[Curve],
    axes: tuple[Axis, Axis],
    levels: Sequence[float] = (),
) -> list[Panel]:
    """A panel of curves, and one of their differences where they coincide; none without a curve.

    `levels` are values that have a thin line across.  A difference's “±” takes the two bores'
    uncertainties as independent, which is more than theirs where what is common to both cancels.
    """
    if not curves:
        return []
    panels = [_panel(study, subject, curves, axes, levels)]
    first, *others = curves
    if not others or first.number != 0 or not coincide(curves, axes):
        return panels
    unit = "%" if subject.relative else subject.unit
    change = replace(
        subject,
        title=f"{subject.title}: change against the first bore",
        name="change",
        unit=unit,
        drawn=1.0 if subject.relative else subject.drawn,
        more={},
    )
    changes = [_difference(one, first, subject.relative) for one in others]
    label = f"change, {'%' if subject.relative else axes[1].label.rpartition(', ')[2]}"
    return [*panels, _panel(study, change, changes, (axes[0], Axis(label)), (0.0,))]


def coincide(curves: Sequence[Curve], axes: tuple[Axis, Axis]) -> bool:
    """Tell whether no curve can be told from the first one over most of a panel."""
    first, *others = [_as_drawn(one, axes) for one in curves]
    height = max(float(np.ptp(y)) for _, y in (first, *others))
    even = np.linspace(first[0].min(), first[0].max(), COMMON)
    base = np.interp(even, *first)
    return all(
        float(np.abs(np.interp(even, *other) - base).mean()) <= COINCIDE * height
        for other in others
    )


def _as_drawn(curve: Curve, axes: tuple[Axis, Axis]) -> tuple[Array, Array]:
    """A curve's points as they lie on the axes."""
    known = np.isfinite(curve.x) & np.isfinite(curve.y)
    return axes[0].drawn(curve.x[known]), axes[1].drawn(curve.y[known])


def _difference(curve: Curve, first: Curve, relative: bool) -> Curve:
    """A curve less the first one at its places, in per cent of that or in its unit."""
    base = np.interp(curve.x, first.x, first.y)
    scale = 100 / base if relative else np.ones(len(base))
    error = None
    if curve.error is not None and first.error is not None:
        both = np.interp(curve.x, first.x, first.error)
        ratio = curve.y / base if relative else 1.0
        error = np.abs(scale) * np.hypot(curve.error, ratio * both)
    return replace(curve, y=scale * (curve.y - base), error=error, marked=(), more={})


def _panel(
    study: PicturedStudy,
    subject: Subject,
    curves: Sequence[Curve],
    axes: tuple[Axis, Axis],
    levels: Sequence[float],
) -> Panel:
    across, up = axes
    encoding = {"x": across.channel("x"), "y": up.channel("y"), **bore_channels(study)}
    drawn, rows = [], []
    places = min(MOST_PLACES, max(LEAST_PLACES, PLACES // len(curves)))
    for curve in curves:
        kept = thinned(across.drawn(curve.x), up.drawn(curve.y))
        drawn.append((curve.number, curve.x[kept], curve.y[kept]))
        rows += _places(curve, kept, places, subject)
    layers = [level(value) for value in levels]
    lines = line_layer(lines_data(drawn), without(encoding, "shape"))
    layers.append({**lines, "params": [zoom("x", "y")]})
    words = Words({"at": subject.place, "value": subject.name, **subject.more})
    layers.append(marks_layer(rows, without(encoding, "strokeDash"), words, visible=False))
    described = f"{subject.title}. {up.label} against {across.label}, of {len(curves)} bores."
    return panel(subject.title, described, len(study.charted), layers)


def _places(curve: Curve, kept: NDArray[np.intp], count: int, subject: Subject) -> list[Row]:
    """Rows of the places of a curve that have words: the marked ones, and others as they lie."""
    even = {int(kept[index]) for index in style.evenly_spaced(len(kept), count)}
    return [
        {
            NUMBER: curve.number,
            "x": rounded(curve.x[index]),
            "y": rounded(curve.y[index]),
            BORE: curve.label,
            "at": f"{significant(float(curve.x[index]), 5)} {subject.place_unit}",
            "value": _said(curve, index, subject),
            **{name: words[index] for name, words in curve.more.items()},
        }
        for index in sorted({*even, *curve.marked})
    ]


def _said(curve: Curve, index: int, subject: Subject) -> str:
    """A value with its uncertainty and unit."""
    value = subject.drawn * float(curve.y[index])
    if curve.error is None:
        return f"{significant(value)} {subject.unit}".rstrip()
    return with_uncertainty(value, subject.drawn * float(curve.error[index]), subject.unit)
