"""What the flow does along the bore: pressure on the axis, pressure and shear on the wall.

Each solution that has such lines has panels of its own, on the same scales as the other's.
"""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.lines import Line2D

from borestudy.drawing import style
from borestudy.drawing.bore import mark_parts
from borestudy.report.captions import save, text
from borestudy.report.figures.case import CaseView, PicturedStudy
from borestudy.results.merged_flow import SOLUTIONS
from borestudy.rounding import MINUS

#: How far before and after the throat's start the wall is drawn [throat diameters].
BEFORE, AFTER = 1.0, 2.5
#: Positions along a line [mm], and what is there.
Curve = tuple[Sequence[float], Sequence[float]]
#: Curves of the cases, by name of the solution and place of the case.
Curves = Mapping[str, Mapping[int, Curve]]


def _curves(study: PicturedStudy, line: str, position: str, value: str) -> Curves:
    """Two fields of a line, `axis` or `wall`, of each solution that has it at the study's rate."""
    lines = [
        {word: getattr(found, line) for word, found in case.solutions(study.rate).items()}
        for case in study.shown
    ]
    found = {
        word: {
            place: (getattr(of[word], position), getattr(of[word], value))
            for place, of in enumerate(lines)
            if of.get(word) is not None
        }
        for word in SOLUTIONS
    }
    return {word: curves for word, curves in found.items() if curves}


@style.styled
def draw_axis_pressure(study: PicturedStudy, directory: Path) -> style.FigureRecord | None:
    """Draw the pressure along the axis, one line a case."""
    found = _curves(study, "axis", "position_mm", "pressure_Pa")
    if not found:
        return None
    shown = study.shown
    drawing = style.figure(20 + 72 * len(found))
    panels = drawing.subplots(len(found), 1, sharex=True, sharey=True, squeeze=False)[:, 0]
    greatest = max(np.abs(line).max() for curves in found.values() for _, line in curves.values())
    unit, scale = ("kPa", 1e-3) if greatest >= 1000 else ("Pa", 1.0)
    for axes, (word, curves) in zip(panels, found.items(), strict=True):
        for place, (position, pressure) in curves.items():
            axes.plot(position, scale * np.array(pressure), **style.plain_line(place, len(shown)))
        axes.set_xlim(0, max(case.outline.position_mm[-1] for case in shown))
        axes.margins(y=0.12)
        mark_parts(axes, shown[0].outline)
        if len(found) > 1:
            axes.set_title(f"{word} solution", loc="left", pad=16)
        axes.set_ylabel(f"pressure on the axis, {unit}")
    panels[-1].set_xlabel("distance from the rim plane, mm")
    solutions = _key(drawing, panels, shown, found)
    words = {"count": len(study.cases), "solutions": solutions, **study.rate_in_words}
    return save(drawing, directory, "axis-pressure", **words)


@style.styled
def draw_wall(study: PicturedStudy, directory: Path) -> style.FigureRecord | None:
    """Draw wall pressure and wall shear stress about the throat entry, one line a case."""
    found = _curves(study, "wall", "position_mm", "pressure_Pa")
    if not found:
        return None
    shears = _curves(study, "wall", "shear_position_mm", "shear_Pa")
    shown = study.shown
    diameter = max(case.outline.throat_diameter_mm for case in shown)
    window = (-BEFORE * diameter, AFTER * diameter)
    bubbles = {
        word: {place: _bubbles(shown[place], study.rate, word, window[1]) for place in found[word]}
        for word in found
    }
    leaves = any(places for those in bubbles.values() for places in those.values())
    heights = (3, 3, 0.35 + 0.28 * len(shown)) if leaves else (3, 3)
    drawing = style.figure(128 if leaves else 100)
    panels = drawing.subplots(
        len(heights), len(found), sharex=True, sharey="row", height_ratios=heights, squeeze=False
    )
    for word, column in zip(found, panels.T, strict=True):
        for axes, curves in zip(column[:2], (found[word], shears[word]), strict=True):
            for place, curve in curves.items():
                start = shown[place].outline.throat_start_mm
                axes.plot(*_within(curve, start, window), **style.plain_line(place, len(shown)))
        for place, ends in bubbles[word].items():
            bar = style.plain_line(place, len(shown), linewidth=4, linestyle="-")
            for pair in ends:
                column[-1].plot(pair, [-place] * 2, **bar)
        if len(found) > 1:
            column[0].set_title(f"{word} solution", loc="left")
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
    drawing.supxlabel("distance from the start of the throat, mm")
    words = {
        "place": "Middle" if leaves else "Below",
        "bubbles": text("wall", "leaves" if leaves else "stays"),
        "bars": text("wall", "bars") if leaves else "",
        "solutions": _key(drawing, panels, shown, found),
    }
    return save(drawing, directory, "wall", count=len(shown), **words, **study.rate_in_words)


def _key(drawing: Any, panels: Any, shown: Sequence[CaseView], found: Curves) -> str:
    """Explain the lines, and name why a case has none; says which solutions are shown."""
    known = {place for curves in found.values() for place in curves}
    labels = [case.words(place in known, case.unsolved) for place, case in enumerate(shown)]
    handles = [Line2D([], [], **style.plain_line(place, len(shown))) for place in range(len(shown))]
    style.key(drawing, list(panels.flat), labels, handles)
    return f"{' and '.join(found).capitalize()} solution{'s' if len(found) > 1 else ''}"


def _bubbles(case: CaseView, rate: int, word: str, end: float) -> list[tuple[float, float]]:
    """Where the flow is off the wall [mm from the throat's start], up to an end."""
    start, places = case.outline.throat_start_mm, []
    for bubble in case.solutions(rate)[word].separations:
        if bubble.separation is not None and (begin := bubble.separation.value - start) < end:
            back = bubble.reattachment
            places.append((begin, end if back is None else min(back.value - start, end)))
    return places


def _within(
    curve: Curve, start: float, window: tuple[float, float]
) -> tuple[np.ndarray, np.ndarray]:
    """Positions from the throat's start [mm] and values, those in the window."""
    place = np.asarray(curve[0], float) - start
    inside = (place >= window[0]) & (place <= window[1])
    return place[inside], np.asarray(curve[1], float)[inside]


def _least_shear(panels: Any) -> float:
    """Where the scale of powers of ten becomes straight: a tenth of the usual shear."""
    drawn = [np.abs(line.get_ydata()) for axes in panels for line in axes.get_lines()]
    values = np.concatenate([*drawn, [1.0] if not drawn else []])
    usual = float(np.median(values[values > 0])) if np.any(values > 0) else 1.0
    return float(10.0 ** np.floor(np.log10(usual / 10)))
