"""Pictures of the flow: speed and streamlines in the throat entries."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from borestudy.drawing import looks, style
from borestudy.drawing.bore import Outline
from borestudy.drawing.lettering import lines_of, wrapped
from borestudy.report.captions import save, text
from borestudy.report.figures import gridded
from borestudy.report.figures.case import CaseView, PicturedStudy
from borestudy.report.figures.drawn_data import of_cases

PANEL_LIMIT = 12
#: Streamlines at these shares of the radius of a uniform flow: equal spacing in a uniform stream.
STREAM_LEVELS = np.linspace(0, 1, 9)[1:-1] ** 2
#: Backward speeds over the fastest forward one that are no rounding at the wall.
BACKWARD = 0.01
#: The table of what is drawn has every fourth point each way.
THINNED = 4

#: Positions from the throat's start and radii [mm], speed and axial velocity on their grid.
Sample = tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]


@style.styled
def draw_throat_entries(study: PicturedStudy, directory: Path) -> style.FigureRecord | None:
    """Draw speed and streamlines near each throat entry, same scale and colours, mirrored."""
    rate = study.rate
    if not any(rate in case.flow_fields for case in study.cases):
        return None
    shown = style.sample(study.cases, PANEL_LIMIT)
    window = _common_window([case.outline for case in shown])
    before, after, radius = window
    columns = 2 if len(shown) <= 6 or looks.is_narrow() else 3
    rows = -(-len(shown) // columns)
    narrow = looks.is_narrow()  # the colour bar is then below
    panel_width = (looks.width_mm() - (16 if narrow else 36)) / columns
    panel_height = panel_width * 2 * radius / (before + after)
    titles = [wrapped(case.label, 0.9 * panel_width) for case in shown]
    drawing = style.figure(
        12 + 16 * narrow + rows * (panel_height + 4 + looks.line_mm() * lines_of(titles))
    )
    panels = drawing.subplots(rows, columns, sharex=True, sharey=True, squeeze=False)
    samples = [_sample(case, rate, window) for case in shown]
    fastest = max((np.nanmax(sample[2]) for sample in samples if sample), default=1.0)
    numbers = {case.name: number for number, case in enumerate(study.charted)}
    picture, turning = None, False
    for axes, case, title, sample in zip(panels.flat, shown, titles, samples, strict=False):
        axes.set_title(title, loc="left", pad=3)
        if case.name in numbers:
            axes.set_gid(f"bore-{numbers[case.name]}")  # by which a page switches it off
        if sample is None:
            axes.text(0.5, 0.5, case.unsolved, transform=axes.transAxes, ha="center")
            gridded.draw_wall_line(axes, case.outline, case.outline.throat_start_mm)
            axes.set(aspect="equal", facecolor=style.METAL)
            axes.grid(visible=False)
        else:
            picture = _entry_panel(axes, case.outline, sample, radius, fastest)
            turning |= _mark_turning(axes, case, rate, (-before, after))
        axes.set(xlim=(-before, after), ylim=(-radius, radius))
    style.hide_unused(panels, len(shown))
    drawing.supxlabel("distance from the start of the throat, mm")
    drawing.supylabel("radius, mm")
    if picture is not None:
        where: Any = {"location": "bottom"} if narrow else {"pad": 0.015}
        drawing.colorbar(picture, ax=panels, label="speed, m/s", aspect=28, **where)
    words = {
        "fastest": fastest,
        "some": style.left_out(shown, study.cases),
        "rate": study.rate_in_words,
        "turns": text("throat-entry", "turns") if turning else "",
    }
    data = _thinned([case for case, one in zip(shown, samples, strict=True) if one], samples)
    return save(drawing, directory, "throat-entry", data, count=len(shown), **words)


def _thinned(cases: Sequence[CaseView], samples: Sequence[Sample | None]) -> pd.DataFrame:
    """Every fourth point each way of what is drawn; the fields' files have more."""
    data = []
    for x, levels, speed, axial in filter(None, samples):
        radius, along = np.meshgrid(levels[::THINNED], x[::THINNED], indexing="ij")
        names = ("distance_from_throat_mm", "radius_mm", "speed_m_per_s", "axial_velocity_m_per_s")
        fields = (along, radius, speed[::THINNED, ::THINNED], axial[::THINNED, ::THINNED])
        data.append({name: one.ravel() for name, one in zip(names, fields, strict=True)})
    return of_cases(cases, data) if data else pd.DataFrame({"case": []})


def _mark_turning(axes: Any, case: CaseView, rate: int, window: tuple[float, float]) -> bool:
    """Draw a line across the bore where the flow turns turbulent; tells whether it is seen."""
    flow = case.flow_at(rate)
    place = None if flow is None else flow.transition_position_mm
    if place is None:
        return False
    along = place - case.outline.throat_start_mm
    axes.axvline(along, color=style.COLOURS[1], linewidth=1.2)
    return window[0] < along < window[1]


def _common_window(outlines: Sequence[Outline]) -> tuple[float, float, float]:
    """Lengths [mm] before and after the throat's start, and the radius, shown of every case."""
    diameter = max(outline.throat_diameter_mm for outline in outlines)
    entry = max(outline.throat_start_mm - outline.entry_start_mm for outline in outlines)
    return max(0.75 * diameter, entry + 0.3 * diameter), 2.0 * diameter, 0.95 * diameter


def _sample(case: CaseView, rate: int, window: tuple[float, float, float]) -> Sample | None:
    """Speed and axial velocity on a grid around the throat's start, None without a field."""
    if rate not in case.flow_fields:
        return None
    before, after, radius = window
    start = case.outline.throat_start_mm
    x = np.linspace(start - before, start + after, 300)
    # The whole radius at the window's widest place is needed for the flow inside a radius.
    inside = (case.outline.position_mm >= x[0]) & (case.outline.position_mm <= x[-1])
    widest = max(radius, float(case.outline.radius_mm[inside].max(initial=0.0)))
    levels = np.linspace(0, radius, 160)
    if widest > radius:
        levels = np.concatenate([levels, np.linspace(radius, widest, 60)[1:]])
    field = gridded.read_field(case.flow_fields[rate])
    names = ["speed_m_per_s", "velocity_m_per_s:0"]
    speed, axial = gridded.on_grid(field, names, x, levels)
    return x - start, levels, speed, axial


def _entry_panel(axes: Any, outline: Outline, sample: Sample, radius: float, fastest: float) -> Any:
    x, levels, speed, axial = sample
    half = np.searchsorted(levels, radius, side="right")
    values, grid = np.nan_to_num(speed[:half]), (x, levels[:half])
    scale: dict[str, Any] = {"cmap": "viridis", "vmin": 0, "vmax": fastest}
    picture, inside = gridded.section_picture(
        axes, outline, values, grid, outline.throat_start_mm, **scale
    )
    share = gridded.stream_function(levels, axial)
    share[np.isnan(axial)] = np.nan
    white: dict[str, Any] = {"colors": "white"}
    for side in (1, -1):
        thin = axes.contour(x, side * levels, share, STREAM_LEVELS, linewidths=0.45, **white)
        thin.set_clip_path(inside)
        threshold = -BACKWARD * fastest
        if np.nanmin(axial) < threshold:
            dashed = {"linewidths": 1.0, "linestyles": "--", **white}
            axes.contour(x, side * levels, np.nan_to_num(axial), [threshold], **dashed)
    return picture
