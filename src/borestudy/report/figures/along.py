"""What the flow does along the bore: pressure on the axis, pressure and shear on the wall."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.lines import Line2D
from numpy.typing import NDArray

from borestudy.drawing import style
from borestudy.drawing.bore import mark_parts
from borestudy.drawing.lettering import wrapped
from borestudy.report.captions import save, text
from borestudy.report.figures.case import CaseView, PicturedStudy
from borestudy.report.figures.drawn_data import of_cases
from borestudy.rounding import MINUS

#: How far before and after the throat's start the wall is drawn [throat diameters].
BEFORE, AFTER = 1.0, 2.5
#: Longest line of words along a vertical axis [mm].
SIDE_MM = 36.0
#: Mark on a line where the flow turns turbulent.
TURNS: dict[str, Any] = {
    "marker": "D", "markersize": 5.5, "linestyle": "", "markerfacecolor": "white",
    "markeredgewidth": 1.3, "zorder": 4,
}  # fmt: skip
#: Positions along a line [mm], and what is there.
Curve = tuple[NDArray[np.float64], NDArray[np.float64]]
#: Curves by the place of their case.
Curves = Mapping[int, Curve]


def _curves(study: PicturedStudy, line: str, position: str, value: str) -> Curves:
    """Two fields of a line, `axis` or `wall`, of each case that has it at the study's rate."""
    lines = {
        place: found
        for place, case in enumerate(study.shown)
        if (flow := case.flow_at(study.rate)) is not None
        and (found := getattr(flow, line)) is not None
    }
    return {
        place: (np.array(getattr(found, position)), np.array(getattr(found, value)))
        for place, found in lines.items()
    }


@style.styled
def draw_axis_pressure(study: PicturedStudy, directory: Path) -> style.FigureRecord | None:
    """Draw the pressure along the axis, marked where it turns turbulent, and what it changes."""
    curves = _curves(study, "axis", "position_mm", "pressure_Pa")
    if not curves:
        return None
    shown = study.shown
    apart = differences(curves, shown)
    drawing = style.figure(128 if apart else 92)
    panels = drawing.subplots(1 + bool(apart), 1, sharex=True, squeeze=False)[:, 0]
    axes = panels[0]
    greatest = max(np.abs(line).max() for _, line in curves.values())
    unit, scale = ("kPa", 1e-3) if greatest >= 1000 else ("Pa", 1.0)
    marked = False
    for place, (position, pressure) in curves.items():
        line = style.plain_line(place, len(shown))
        axes.plot(position, scale * pressure, **line)
        marked |= _mark_turning(axes, shown[place], study.rate, (position, scale * pressure), line)
    for place, (position, difference) in apart.items():
        panels[1].plot(position, difference, **style.plain_line(place, len(shown)))
    axes.set_xlim(0, max(case.outline.position_mm[-1] for case in shown))
    axes.margins(y=0.12)
    mark_parts(axes, shown[0].outline)
    axes.set_ylabel(wrapped(f"pressure on the axis, {unit}", SIDE_MM))
    if apart:
        panels[1].axhline(0, color=style.GREY, linewidth=0.7)
        panels[1].set_ylabel(wrapped("less the first bore’s, Pa", SIDE_MM))
    panels[-1].set_xlabel("distance from the rim plane, mm")
    _key(drawing, list(panels), shown, curves)
    words = {
        "count": len(study.cases),
        "rate": study.rate_in_words,
        "turns": _turning(marked),
        "apart": text("axis-pressure", "differences") if apart else "",
    }
    data: list[dict[str, Any]] = [
        {"position_mm": position, "pressure_Pa": pressure}
        | {"pressure_less_first_Pa": apart[place][1] if place in apart else np.nan}
        for place, (position, pressure) in curves.items()
    ]
    table = of_cases([shown[place] for place in curves], data)
    return save(drawing, directory, "axis-pressure", table, **words)


def differences(curves: Curves, shown: Sequence[CaseView]) -> dict[int, Curve]:
    """Curves of every other case less the first's, where both are the same way from the throat.

    They are held against each other from the throat's end, which neither another length nor
    another entry moves; beyond the first's ends nothing is known.
    """
    if 0 not in curves or len(curves) < 2:
        return {}
    base, ends = curves[0], [_throat_end(case) for case in shown]
    found = {}
    for place, (position, value) in curves.items():
        if place:
            at = position - ends[place] + ends[0]
            found[place] = position, value - np.interp(at, *base, left=np.nan, right=np.nan)
    return found


def _throat_end(case: CaseView) -> float:
    """Where the throat ends [mm]; the rim plane, where no part is called so."""
    return case.outline.parts.get("throat", (0.0, 0.0))[1]


@style.styled
def draw_wall(study: PicturedStudy, directory: Path) -> style.FigureRecord | None:
    """Draw wall pressure and wall shear stress about the throat entry, one line a case."""
    pressures = _curves(study, "wall", "position_mm", "pressure_Pa")
    if not pressures:
        return None
    shears = _curves(study, "wall", "shear_position_mm", "shear_Pa")
    shown = study.shown
    diameter = max(case.outline.throat_diameter_mm for case in shown)
    window = (-BEFORE * diameter, AFTER * diameter)
    bubbles = {place: _bubbles(shown[place], study.rate, window[1]) for place in pressures}
    leaves = any(bubbles.values())
    heights = (3, 3, 0.35 + 0.28 * len(shown)) if leaves else (3, 3)
    drawing = style.figure(128 if leaves else 100)
    panels = drawing.subplots(len(heights), 1, sharex=True, height_ratios=heights)
    marked = False
    cases: list[CaseView] = []
    data: list[dict[str, Any]] = []
    for axes, curves in zip(panels[:2], (pressures, shears), strict=True):
        column = "wall_pressure_Pa" if axes is panels[0] else "wall_shear_stress_Pa"
        for place, curve in curves.items():
            line = style.plain_line(place, len(shown))
            drawn = _within(curve, shown[place].outline.throat_start_mm, window)
            axes.plot(*drawn, **line)
            cases.append(shown[place])
            data.append({"distance_from_throat_mm": drawn[0], column: drawn[1]})
            if axes is panels[0]:
                marked |= _mark_turning(
                    axes, shown[place], study.rate, drawn, line, from_throat=True
                )
    for place, ends in bubbles.items():
        bar = style.plain_line(place, len(shown), linewidth=4, linestyle="-")
        for pair in ends:
            panels[-1].plot(pair, [-place] * 2, **bar)
            cases.append(shown[place])
            data.append({"off_the_wall_from_mm": pair[:1], "off_the_wall_to_mm": pair[1:]})
    panels[-1].set_xlim(window)
    panels[1].axhline(0, color=style.GREY, linewidth=0.7)
    panels[1].set_yscale("symlog", linthresh=_least_shear(panels[1]))
    panels[1].yaxis.set_major_formatter(lambda value, _: f"{value:g}".replace("-", MINUS))
    panels[0].set_ylabel("wall pressure, Pa")
    panels[1].set_ylabel("wall shear stress, Pa")
    for axes in panels[2:]:
        axes.set(ylim=(-len(shown) + 0.4, 0.6), yticks=[])
        axes.grid(visible=False)
        axes.set_ylabel("off the\nwall", rotation=0, ha="right", va="center")
    drawing.supxlabel("distance from the start of the throat, mm")
    _key(drawing, panels, shown, pressures)
    words = {
        "place": "Middle" if leaves else "Below",
        "bubbles": text("wall", "leaves" if leaves else "stays"),
        "bars": text("wall", "bars") if leaves else "",
        "turns": _turning(marked),
        "rate": study.rate_in_words,
    }
    return save(drawing, directory, "wall", of_cases(cases, data), count=len(shown), **words)


def _mark_turning(
    axes: Any,
    case: CaseView,
    rate: int,
    curve: Curve,
    line: Mapping[str, Any],
    from_throat: bool = False,
) -> bool:
    """Mark a line where the flow turns turbulent; tells whether that is on the line."""
    flow = case.flow_at(rate)
    place = None if flow is None else flow.transition_position_mm
    if place is None or not len(curve[0]):
        return False
    along = place - (case.outline.throat_start_mm if from_throat else 0.0)
    if not curve[0][0] <= along <= curve[0][-1]:
        return False
    axes.plot(along, np.interp(along, *curve), color=line["color"], **TURNS)
    return True


def _turning(marked: bool) -> str:
    """What the marks are, for a caption; nothing without one."""
    return text("axis-pressure", "turns" if marked else "laminar")


def _key(drawing: Any, panels: Any, shown: Sequence[CaseView], found: Curves) -> None:
    """Explain the lines, and name why a case has none."""
    labels = [case.words(place in found, case.unsolved) for place, case in enumerate(shown)]
    handles = [Line2D([], [], **style.plain_line(place, len(shown))) for place in range(len(shown))]
    style.key(drawing, list(panels), labels, handles)


def _bubbles(case: CaseView, rate: int, end: float) -> list[tuple[float, float]]:
    """Where the flow is off the wall [mm from the throat's start], up to an end."""
    start, places = case.outline.throat_start_mm, []
    flow = case.flow_at(rate)
    for bubble in () if flow is None else flow.separations:
        if bubble.separation is not None and (begin := bubble.separation.value - start) < end:
            back = bubble.reattachment
            places.append((begin, end if back is None else min(back.value - start, end)))
    return places


def _within(curve: Curve, start: float, window: tuple[float, float]) -> Curve:
    """Positions from the throat's start [mm] and values, those in the window."""
    place = curve[0] - start
    inside = (place >= window[0]) & (place <= window[1])
    return place[inside], curve[1][inside]


def _least_shear(axes: Any) -> float:
    """Where the scale of powers of ten becomes straight: a tenth of the usual shear."""
    drawn = [np.abs(line.get_ydata()) for line in axes.get_lines()]
    values = np.concatenate([*drawn, [1.0] if not drawn else []])
    usual = float(np.median(values[values > 0])) if np.any(values > 0) else 1.0
    return float(10.0 ** np.floor(np.log10(usual / 10)))
