"""Pictures of the sound pressure at a resonance: magnitude and phase, whole and at the entry."""

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.patches import Rectangle

from borestudy.drawing import looks, style
from borestudy.drawing.bore import Outline
from borestudy.drawing.lettering import wrapped
from borestudy.report.captions import save
from borestudy.report.figures import gridded
from borestudy.report.figures.case import CaseView, PicturedStudy

#: Lines of equal pressure and equal phase that cross the enlarged part.
LINES = 14
#: The table of what is drawn has every fourth point each way.
THINNED = 4
#: What is shown, with its colours and the name of its scale.
KINDS = {"magnitude": ("viridis", "magnitude / greatest"), "phase": ("cividis", "phase, °")}
POSITION = "distance from the rim plane, mm"


@style.styled
def draw_resonance_field(study: PicturedStudy, directory: Path) -> style.FigureRecord | None:
    """Draw size and phase of the pressure at a resonance: the whole bore, and the throat entry.

    The field is the first that a case has, of the strongest resonance where it has one of that.
    """
    case = next((case for case in study.cases if case.acoustic_field), None)
    if case is None or case.acoustic_field is None:
        return None
    field, outline = gridded.read_field(case.acoustic_field), case.outline
    end, top = float(outline.position_mm[-1]), float(outline.radius_mm.max())
    whole = np.linspace(0, end, 700), np.linspace(0, top, 80)
    pressure = _pressure(field, *whole)
    greatest = float(np.abs(pressure[0]).max())
    left, right, top = _window(outline)
    near = np.linspace(left, right, 320), np.linspace(0, top, 160)
    near_pressure = _pressure(field, *near)
    narrow = looks.is_narrow()
    drawing = style.figure(220 if narrow else 168)
    heights = (1.3, 1.3, 3, 3) if narrow else (1, 1, 1.9)
    rows = drawing.add_gridspec(len(heights), 2, height_ratios=heights)
    for place, (name, (colours, label)) in enumerate(KINDS.items()):
        axes = drawing.add_subplot(rows[place, :])
        values = _shown(pressure, name, greatest)
        picture, _ = gridded.section_picture(axes, outline, values, whole, cmap=colours)
        bar_words = wrapped(label, 18) if narrow else label
        drawing.colorbar(picture, ax=axes, label=bar_words, pad=0.015)
        around = (left, -top), right - left, 2 * top
        axes.add_patch(Rectangle(*around, fill=False, edgecolor=style.GREY))
        axes.set(xlabel=POSITION, ylabel="radius, mm")
        axes = drawing.add_subplot(rows[2 + place, :] if narrow else rows[2, place])
        values = _shown(near_pressure, name, greatest)
        picture, inside = gridded.section_picture(axes, outline, values, near, cmap=colours)
        _level_lines(axes, values, near, inside)
        bar = drawing.colorbar(picture, ax=axes, label=label, pad=0.02, location="bottom")
        bar.ax.tick_params(labelsize=looks.points(8))
        axes.set(xlim=(left, right), ylim=(-top, top), xlabel=POSITION)
        axes.set(ylabel="" if place and not narrow else "radius, mm")
        axes.set_title(f"{name}, throat entry", loc="left")
    number, at = _which(case)
    data = _thinned(pressure, whole)
    return save(drawing, directory, "resonance-field", data, number=number, at=at, case=case.label)


def _thinned(pressure: np.ndarray, grid: tuple[np.ndarray, np.ndarray]) -> pd.DataFrame:
    """Every fourth point each way of the whole bore's picture; the field's file has more."""
    x, levels = (one[::THINNED] for one in grid)
    radius, along = np.meshgrid(levels, x, indexing="ij")
    data = {"position_mm": along, "radius_mm": radius}
    greatest = float(np.abs(pressure[0]).max())
    for name, column in (("magnitude", "pressure_over_greatest"), ("phase", "phase_degrees")):
        data[column] = _shown(pressure, name, greatest)[::THINNED, ::THINNED]
    return pd.DataFrame({name: one.ravel() for name, one in data.items()})


def _pressure(field: gridded.Field, x: np.ndarray, levels: np.ndarray) -> np.ndarray:
    """Complex pressure on a grid, NaN outside the bore filled from inside."""
    parts = gridded.on_grid(field, ["pressure_real_Pa", "pressure_imag_Pa"], x, levels)
    real, imag = (gridded.fill_outside(part) for part in parts)
    return np.asarray(real + 1j * imag)


def _shown(pressure: np.ndarray, name: str, greatest: float) -> np.ndarray:
    """Magnitude over the greatest, or the phase against the left of the axis [°], no jumps."""
    if name == "magnitude":
        return np.asarray(np.abs(pressure) / greatest)
    against = pressure / pressure[0, 0] if pressure[0, 0] else pressure
    return np.asarray(np.degrees(np.unwrap(np.angle(against), axis=1)))


def _window(outline: Outline) -> tuple[float, float, float]:
    """Left, right and greatest radius of the enlarged part [mm]."""
    diameter = outline.throat_diameter_mm
    left = max(outline.entry_start_mm - 0.75 * diameter, float(outline.position_mm[0]))
    return left, outline.throat_start_mm + 1.25 * diameter, 0.95 * diameter


def _level_lines(
    axes: Any, values: np.ndarray, grid: tuple[np.ndarray, np.ndarray], inside: Any
) -> None:
    """Lines of equal value at even steps, on both sides of the axis."""
    if np.ptp(values) <= 0:
        return
    steps = np.linspace(values.min(), values.max(), LINES + 2)[1:-1]
    thin = {"colors": "white", "linewidths": 0.5, "linestyles": "-"}
    for side in (1, -1):
        axes.contour(grid[0], side * grid[1], values, steps, **thin).set_clip_path(inside)


def _which(case: CaseView) -> tuple[str, str]:
    """Which resonance the field is of, and its frequency."""
    file = case.acoustic_field.name if case.acoustic_field else None
    for place, peak in enumerate(case.results.resonances):
        if peak.field == file and peak.frequency is not None:
            number = (
                f"the strongest resonance (peak {place + 1})" if place else "the first resonance"
            )
            return number, f" at {peak.frequency.value:.1f} Hz"
    return "a resonance", ""
