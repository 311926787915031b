"""Pictures of the sound pressure at a resonance: magnitude and phase, whole and at the entry."""

from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.patches import Polygon, Rectangle

from borestudy.drawing.bore import Outline
from borestudy.drawing.style import GREY, METAL, FigureRecord, figure, save, styled
from borestudy.report.figures.case import CaseView
from borestudy.report.figures.fields import mirrored, section_of
from borestudy.report.figures.gridded import Field, fill_outside, on_grid, read_field
from borestudy.report.figures.impedance import found_peaks

#: Lines of equal pressure and equal phase that cross the enlarged part.
LINES = 14


@styled
def draw_resonance_field(case: CaseView, directory: Path) -> FigureRecord:
    """Draw size and phase of the pressure at a resonance: the whole bore, and the throat entry.

    The field is that of the strongest resonance where a case has one beside the first.
    """
    if case.acoustic_field is None:
        raise ValueError(f"case {case.name!r} has no acoustic field file to draw")
    field, outline = read_field(case.acoustic_field), case.outline
    x = np.linspace(0, float(outline.position_mm[-1]), 700)
    levels = np.linspace(0, float(outline.radius_mm.max()), 80)
    pressure = _pressure(field, x, levels)
    greatest = float(np.abs(pressure[0]).max())
    size, phase = np.abs(pressure) / greatest, _phase(pressure)
    drawing = figure(168)
    rows = drawing.add_gridspec(3, 2, height_ratios=(1, 1, 1.9))
    wholes = [drawing.add_subplot(rows[row, :]) for row in range(2)]
    zooms = [drawing.add_subplot(rows[2, column]) for column in range(2)]
    kinds = (("size", size, "magnitude / greatest"), ("phase", phase, "phase, °"))
    left, right, top = _window(outline)
    for axes, (name, values, label) in zip(wholes, kinds, strict=True):
        picture = _section_picture(axes, outline, values, (x, levels), name)
        drawing.colorbar(picture, ax=axes, label=label, pad=0.015)
        frame = Rectangle((left, -top), right - left, 2 * top, fill=False, edgecolor=GREY)
        axes.add_patch(frame)
        axes.set(xlabel="distance from the rim plane, mm", ylabel="radius, mm")
    near_x, near_levels = np.linspace(left, right, 320), np.linspace(0, top, 160)
    near = _pressure(field, near_x, near_levels)
    near_values = {"size": np.abs(near) / greatest, "phase": _phase(near)}
    for axes, (name, _, label) in zip(zooms, kinds, strict=True):
        values = near_values[name]
        picture = _section_picture(axes, outline, values, (near_x, near_levels), name)
        _level_lines(axes, outline, values, (near_x, near_levels))
        bar = drawing.colorbar(picture, ax=axes, label=label, pad=0.02, location="bottom")
        bar.ax.tick_params(labelsize=8)
        axes.set(xlim=(left, right), ylim=(-top, top), xlabel="distance from the rim plane, mm")
        axes.set_title(f"{'magnitude' if name == 'size' else name}, throat entry", loc="left")
    zooms[0].set_ylabel("radius, mm")
    number, at = _which(case)
    return save(
        drawing,
        directory,
        "resonance-field",
        title=f"Sound pressure in the bore at {number}{at}",
        caption=f"Above: size of the sound pressure, and its phase against that in the middle of "
        f"the rim plane, in the case “{case.label}”. The cup carries the pressure, the throat the "
        "moving air. Below: the grey frame enlarged, on scales of its own, with lines of equal "
        "size and of equal phase: where they are dense the air moves most.",
        alt=f"Magnitude and phase of the sound pressure in the section of {case.label}{at}, and "
        "both enlarged at the throat entry.",
    )


def _pressure(field: Field, x: np.ndarray, levels: np.ndarray) -> np.ndarray:
    """Complex pressure on a grid, NaN outside the bore filled from inside."""
    names = ["pressure_real_Pa", "pressure_imag_Pa"]
    real, imag = (fill_outside(part) for part in on_grid(field, names, x, levels))
    return np.asarray(real + 1j * imag)


def _phase(pressure: np.ndarray) -> np.ndarray:
    """Phase against the mean pressure at the left of the picture's axis [°], without jumps."""
    turned = pressure / pressure[0, 0] if pressure[0, 0] else pressure
    return np.asarray(np.degrees(np.unwrap(np.angle(turned), axis=1)))


def _window(outline: Outline) -> tuple[float, float, float]:
    """Left, right and greatest radius of the enlarged part [mm]."""
    diameter = outline.throat_diameter_mm
    left = max(outline.entry_start_mm - 0.75 * diameter, float(outline.position_mm[0]))
    return left, outline.throat_start_mm + 1.25 * diameter, 0.95 * diameter


def _section_picture(
    axes: Any, outline: Outline, values: np.ndarray, grid: tuple[np.ndarray, np.ndarray], name: str
) -> Any:
    """One mirrored picture clipped to the section of the air."""
    x, levels = grid
    picture = axes.imshow(
        mirrored(values),
        extent=(x[0], x[-1], -levels[-1], levels[-1]),
        origin="lower",
        cmap="viridis" if name == "size" else "cividis",
        interpolation="bilinear",
    )
    section = Polygon(section_of(outline), closed=True, transform=axes.transData)
    picture.set_clip_path(section)
    axes.add_patch(Polygon(section_of(outline), fill=False, edgecolor="black", linewidth=0.9))
    axes.set(aspect="equal", facecolor=METAL)
    axes.grid(visible=False)
    return picture


def _level_lines(
    axes: Any, outline: Outline, values: np.ndarray, grid: tuple[np.ndarray, np.ndarray]
) -> None:
    """Lines of equal value at even steps, on both sides of the axis."""
    spread = float(np.ptp(values))
    if spread <= 0:
        return
    section = Polygon(section_of(outline), closed=True, transform=axes.transData)
    steps = np.linspace(values.min(), values.max(), LINES + 2)[1:-1]
    for side in (1, -1):
        lines = axes.contour(
            grid[0], side * grid[1], values, steps, colors="white", linewidths=0.5, linestyles="-"
        )
        lines.set_clip_path(section)


def _which(case: CaseView) -> tuple[str, str]:
    """Which resonance the field is of, and its frequency."""
    peaks = found_peaks(case)
    if not peaks:
        return "a resonance", ""
    place = 0
    if case.acoustic_field is not None and case.acoustic_field.stem.startswith("strongest"):
        place = int(np.argmax([peak["impedance_peak_Pa_s_per_m3"] for peak in peaks]))
    words = "the first resonance" if place == 0 else f"the strongest resonance (peak {place + 1})"
    return words, f" at {peaks[place]['frequency_Hz']:.1f} Hz"
