"""Pictures of the flow: speed and streamlines in the throat entries."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.patches import Polygon

from borestudy.drawing.bore import Outline
from borestudy.drawing.lettering import lines_of, wrapped
from borestudy.drawing.style import (
    METAL,
    FigureRecord,
    evenly_spaced,
    figure,
    hide_unused,
    save,
    styled,
)
from borestudy.report.figures.case import CaseView
from borestudy.report.figures.gridded import on_grid, read_field, stream_function

PANEL_LIMIT = 12
#: Streamlines at these shares of the radius of a uniform flow: equal spacing in a uniform stream.
STREAM_LEVELS = np.linspace(0, 1, 9)[1:-1] ** 2


@styled
def draw_throat_entries(
    cases: Sequence[CaseView], flow_rate: float, directory: Path
) -> FigureRecord:
    """Draw speed and streamlines near each throat entry, same scale and colours, mirrored."""
    shown = [cases[index] for index in evenly_spaced(len(cases), PANEL_LIMIT)]
    before, behind, radius = _common_window([case.outline for case in shown])
    columns = 2 if len(shown) <= 6 else 3
    rows = -(-len(shown) // columns)
    panel_width = 134 / columns
    panel_height = panel_width * 2 * radius / (before + behind)
    titles = [wrapped(case.label, 0.9 * panel_width) for case in shown]
    drawing = figure(12 + rows * (panel_height + 4 + 4 * lines_of(titles)))
    panels = drawing.subplots(rows, columns, sharex=True, sharey=True, squeeze=False)
    samples = [_sample(case, flow_rate, before, behind, radius) for case in shown]
    fastest = max((np.nanmax(sample[2]) for sample in samples if sample), default=1.0)
    picture = None
    for axes, case, title, sample in zip(panels.flat, shown, titles, samples, strict=False):
        axes.set_title(title, loc="left", pad=3)
        axes.set(xlim=(-before, behind), ylim=(-radius, radius), aspect="equal", facecolor=METAL)
        axes.grid(visible=False)
        if sample is None:
            axes.text(0.5, 0.5, case.unsolved, transform=axes.transAxes, ha="center")
            axes.add_patch(_wall_line(case.outline))
            continue
        picture = _entry_panel(axes, case.outline, sample, fastest)
    hide_unused(panels, len(shown))
    drawing.supxlabel("distance from the start of the throat, mm", fontsize=8.5)
    drawing.supylabel("radius, mm", fontsize=8.5)
    if picture is not None:
        drawing.colorbar(picture, ax=panels, label="speed, m/s", pad=0.015, aspect=28)
    some = f" {len(shown)} of {len(cases)} cases are shown." if len(shown) < len(cases) else ""
    return save(
        drawing,
        directory,
        "throat-entry",
        title=f"Air in the throat entry at {flow_rate:g} L/s",
        caption="Air flows from the cup (left) into the throat (right); bright is fast. Thin lines "
        "are streamlines. Dashed white: air inside runs backwards, a separated bubble that narrows "
        f"the throat for the rest. Same scale and colours in all pictures.{some}",
        alt=f"Speed and streamlines around the throat entry at {flow_rate:g} L/s for "
        f"{len(shown)} case(s); fastest {fastest:.0f} m/s.",
    )


def _common_window(outlines: Sequence[Outline]) -> tuple[float, float, float]:
    """Lengths [mm] before and behind the throat start, and the radius, shown of every case."""
    diameter = max(outline.throat_diameter_mm for outline in outlines)
    entry = max(outline.throat_start_mm - outline.entry_start_mm for outline in outlines)
    return max(0.75 * diameter, entry + 0.3 * diameter), 2.0 * diameter, 0.95 * diameter


Sample = tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]


def _sample(
    case: CaseView, flow_rate: float, before: float, behind: float, radius: float
) -> Sample | None:
    """Speed and axial velocity on a grid around the throat's start, None without a field."""
    path = case.flow_field(flow_rate)
    if path is None:
        return None
    start = case.outline.throat_start_mm
    x = np.linspace(start - before, start + behind, 300)
    # The whole radius at the window's widest place is needed for the flow inside a radius.
    inside = (case.outline.position_mm >= x[0]) & (case.outline.position_mm <= x[-1])
    widest = max(radius, float(case.outline.radius_mm[inside].max(initial=0.0)))
    levels = np.linspace(0, radius, 160)
    if widest > radius:
        levels = np.concatenate([levels, np.linspace(radius, widest, 60)[1:]])
    speed, axial = on_grid(read_field(path), ["speed_m_per_s", "velocity_m_per_s:0"], x, levels)
    return x - start, levels, speed, axial


def _entry_panel(axes: Any, outline: Outline, sample: Sample, fastest: float) -> Any:
    x, levels, speed, axial = sample
    half = np.searchsorted(levels, axes.get_ylim()[1], side="right")
    start = outline.throat_start_mm
    wall = Polygon(section_of(outline, start), closed=True, transform=axes.transData)
    picture = axes.imshow(
        mirrored(np.nan_to_num(speed[:half])),
        extent=(x[0], x[-1], -levels[half - 1], levels[half - 1]),
        origin="lower",
        interpolation="bilinear",
        cmap="viridis",
        vmin=0,
        vmax=fastest,
    )
    picture.set_clip_path(wall)
    share = stream_function(levels, axial)
    share[np.isnan(axial)] = np.nan
    threshold = -0.01 * fastest  # rounding at the wall is not a bubble
    for side in (1, -1):
        radius = side * levels
        thin = axes.contour(x, radius, share, STREAM_LEVELS, colors="white", linewidths=0.45)
        thin.set_clip_path(wall)
        if np.nanmin(axial) < threshold:
            reverse = np.nan_to_num(axial)
            axes.contour(
                x, radius, reverse, [threshold], colors="white", linewidths=1.0, linestyles="--"
            )
    axes.add_patch(_wall_line(outline))
    return picture


def _wall_line(outline: Outline) -> Polygon:
    section = section_of(outline, outline.throat_start_mm)
    return Polygon(section, fill=False, edgecolor="black", linewidth=0.9)


def section_of(outline: Outline, origin: float = 0.0) -> np.ndarray:
    """The closed section of the air, both halves, shape (2 n, 2) [mm]."""
    upper = np.column_stack([outline.position_mm - origin, outline.radius_mm])
    return np.concatenate([upper, upper[::-1] * [1, -1]])


def mirrored(values: np.ndarray) -> np.ndarray:
    """Join a picture from the axis outward with its mirror image, shape (2 n_r − 1, n_x)."""
    return np.concatenate([values[:0:-1], values])
