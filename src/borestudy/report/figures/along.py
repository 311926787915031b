"""What the flow does along the bore: pressure on the axis, pressure and shear on the wall.

Each solution that has such lines has panels of its own, on the same scales as the other's.
"""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Literal

import numpy as np
from matplotlib.lines import Line2D

from borestudy.drawing import style
from borestudy.drawing.bore import mark_parts
from borestudy.flow.result import FlowAtRate
from borestudy.report.figures.case import CaseView, in_words
from borestudy.results.merged_flow import SOLUTIONS
from borestudy.rounding import MINUS

#: How far before and after the throat's start the wall is drawn [throat diameters].
BEFORE, AFTER = 1.0, 2.5
BARS = "Bars below: separation, where the air has left the wall and runs back under the stream."
STAYS = "The air stays on the wall here in every case."

#: The cases' solutions that have a line, by name of the solution and place of the case.
Found = Mapping[str, Mapping[int, FlowAtRate]]


def with_line(cases: Sequence[CaseView], rate: int, line: Literal["axis", "wall"]) -> Found:
    """The solutions at the flow rate of an index that have an `axis` or a `wall` line."""
    found = {
        word: {
            place: solved[word]
            for place, solved in enumerate(case.solutions(rate) for case in cases)
            if word in solved and getattr(solved[word], line) is not None
        }
        for word in SOLUTIONS
    }
    return {word: those for word, those in found.items() if those}


@style.styled
def draw_axis_pressure(cases: Sequence[CaseView], rate: int, directory: Path) -> style.FigureRecord:
    """Draw the pressure along the axis at the flow rate of an index, one line a case."""
    shown = style.sample(cases)
    found = with_line(shown, rate, "axis")
    drawing = style.figure(20 + 72 * len(found))
    panels = drawing.subplots(len(found), 1, sharex=True, sharey=True, squeeze=False)[:, 0]
    lines = _lines(len(shown))
    axes_lines = [of.axis for those in found.values() for of in those.values() if of.axis]
    greatest = max(np.abs(line.pressure_Pa).max() for line in axes_lines)
    unit, scale = ("kPa", 1e-3) if greatest >= 1000 else ("Pa", 1.0)
    for axes, (word, those) in zip(panels, found.items(), strict=True):
        for place, of in those.items():
            if of.axis is not None:
                pressure = scale * np.array(of.axis.pressure_Pa)
                axes.plot(of.axis.position_mm, pressure, **lines[place])
        axes.set_xlim(0, max(case.outline.position_mm[-1] for case in shown))
        axes.margins(y=0.12)
        mark_parts(axes, shown[0].outline)
        if len(found) > 1:
            axes.set_title(f"{word} solution", loc="left", pad=16)
        axes.set_ylabel(f"pressure on the axis, {unit}")
    panels[-1].set_xlabel("distance from the rim plane, mm")
    _key(drawing, panels, shown, found)
    flow_rate, regimes = in_words(cases, rate)
    return style.save(
        drawing,
        directory,
        "axis-pressure",
        title=f"Pressure along the bore at {flow_rate}",
        caption="Air speeds up into the throat and its pressure falls there; a steep fall at the "
        "entry is entry loss, a rise in the backbore is pressure won back. Zero is at the "
        f"shank end. {_computed(found)}; regime at this rate: {regimes}. "
        "Vertical lines: the parts of the first case.",
        alt=f"Pressure along the axis from rim to shank end at {flow_rate} for "
        f"{len(cases)} case(s).",
    )


@style.styled
def draw_wall(cases: Sequence[CaseView], rate: int, directory: Path) -> style.FigureRecord:
    """Draw wall pressure and wall shear stress about the throat entry at the rate of an index."""
    shown = style.sample(cases)
    found = with_line(shown, rate, "wall")
    diameter = max(case.outline.throat_diameter_mm for case in shown)
    window = (-BEFORE * diameter, AFTER * diameter)
    starts = [case.outline.throat_start_mm for case in shown]
    bubbles = {
        (word, place): _bubbles(of, starts[place], window[1])
        for word, those in found.items()
        for place, of in those.items()
    }
    leaves = any(bubbles.values())
    heights = (3, 3, 0.35 + 0.28 * len(shown)) if leaves else (3, 3)
    drawing = style.figure(128 if leaves else 100)
    panels = drawing.subplots(
        len(heights), len(found), sharex=True, sharey="row", height_ratios=heights, squeeze=False
    )
    lines = _lines(len(shown))
    for (word, those), (pressure, shear, *below) in zip(found.items(), panels.T, strict=True):
        for place, of in those.items():
            if (wall := of.wall) is None:
                continue
            for axes, position, value in (
                (pressure, wall.position_mm, wall.pressure_Pa),
                (shear, wall.shear_position_mm, wall.shear_Pa),
            ):
                axes.plot(*_within(position, value, starts[place], window), **lines[place])
            for ends in bubbles[word, place]:
                bar = {**lines[place], "linewidth": 4, "linestyle": "-"}
                below[0].plot(ends, [-place] * 2, **bar)
        if len(found) > 1:
            pressure.set_title(f"{word} solution", loc="left")
    panels[-1, 0].set_xlim(window)
    least = _least_shear(panels[1])
    for axes in panels[1]:
        axes.axhline(0, color=style.GREY, linewidth=0.7)
        axes.set_yscale("symlog", linthresh=least)
        axes.yaxis.set_major_formatter(lambda value, _: f"{value:g}".replace("-", MINUS))
    panels[0, 0].set_ylabel("wall pressure, Pa")
    panels[1, 0].set_ylabel("wall shear stress, Pa")
    for axes in panels[2:].flat:
        axes.set(ylim=(-len(shown) + 0.4, 0.6), yticks=[])
        axes.grid(visible=False)
    if leaves:
        panels[2, 0].set_ylabel("off the\nwall", rotation=0, ha="right", va="center")
    drawing.supxlabel("distance from the start of the throat, mm", fontsize=8.5)
    _key(drawing, panels, shown, found)
    flow_rate, regimes = in_words(shown, rate)
    return style.save(
        drawing,
        directory,
        "wall",
        title=f"Along the wall of the throat entry at {flow_rate}",
        caption=f"Above: pressure on the wall. {'Middle' if leaves else 'Below'}: wall shear "
        "stress, which is the friction of the air along the wall, on a scale of powers of ten; "
        f"below zero the air runs backwards there. {BARS if leaves else STAYS} At a sharp edge "
        f"the shear has no limit, so its peak means nothing. {_computed(found)}; regime at this "
        f"rate: {regimes}.",
        alt=f"Wall pressure and wall shear stress about the throat entry at {flow_rate} for "
        f"{len(shown)} case(s){', with bars where the flow is separated' if leaves else ''}.",
    )


def _lines(count: int) -> list[dict[str, Any]]:
    """Colour and dash of each line, without marks."""
    return [{**style.line_style(index, count), "marker": ""} for index in range(count)]


def _key(drawing: Any, panels: Any, shown: Sequence[CaseView], found: Found) -> None:
    """Explain the lines, and name why a case has none."""
    known = {place for those in found.values() for place in those}
    labels = [
        case.label if place in known else f"{case.label} ({case.unsolved})"
        for place, case in enumerate(shown)
    ]
    handles = [Line2D([], [], **line) for line in _lines(len(shown))]
    style.key(drawing, list(panels.flat), labels, handles)


def _computed(found: Found) -> str:
    """Which solutions are shown."""
    words = " and ".join(found).capitalize()
    return f"{words} solution{'s' if len(found) > 1 else ''}"


def _bubbles(of: FlowAtRate, start: float, end: float) -> list[tuple[float, float]]:
    """Where the flow is off the wall [mm from the throat's start], up to an end."""
    places = []
    for bubble in of.separations:
        if bubble.separation is not None and (begin := bubble.separation.value - start) < end:
            back = bubble.reattachment
            places.append((begin, end if back is None else min(back.value - start, end)))
    return places


def _within(
    position: Sequence[float], value: Sequence[float], start: float, window: tuple[float, float]
) -> tuple[np.ndarray, np.ndarray]:
    """Positions from the throat's start [mm] and values, those in the window."""
    place = np.asarray(position, float) - start
    inside = (place >= window[0]) & (place <= window[1])
    return place[inside], np.asarray(value, float)[inside]


def _least_shear(panels: Any) -> float:
    """Where the scale of powers of ten becomes straight: a tenth of the usual shear."""
    drawn = [np.abs(line.get_ydata()) for axes in panels for line in axes.get_lines()]
    values = np.concatenate([*drawn, [1.0] if not drawn else []])
    usual = float(np.median(values[values > 0])) if np.any(values > 0) else 1.0
    return float(10.0 ** np.floor(np.log10(usual / 10)))
