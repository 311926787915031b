"""Input impedance at the rim plane against frequency: magnitude, phase, the first peak enlarged."""

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from borestudy.drawing import style
from borestudy.report.captions import save, text
from borestudy.report.figures.case import CaseView, PicturedStudy

MEGA = 1e-6


@style.styled
def draw_impedance(study: PicturedStudy, directory: Path) -> style.FigureRecord:
    """Draw magnitude (log) and phase for each case, with the computed resonances marked."""
    drawing = style.figure(122)
    grid = drawing.subplot_mosaic([["size", "peak"], ["phase", "phase_peak"]], width_ratios=(2, 1))
    shown, curves = study.shown, _curves(study.impedance)
    handles: list[Any] = []
    labels = []
    for index, case in enumerate(shown):
        mark = style.line_style(index, len(shown))
        line = {**mark, "marker": "", "linewidth": 1.1}
        curve = curves.get(case.name)
        labels.append(case.label if curve is not None else f"{case.label} (no result)")
        if curve is None:
            handles += grid["size"].plot([], [], **line)
            continue
        frequency = curve["frequency_Hz"]
        for axes in (grid["phase"], grid["phase_peak"]):
            axes.plot(frequency, curve["phase"], **line)
        for axes in (grid["peak"], grid["size"]):
            (handle,) = axes.semilogy(frequency, curve["magnitude"], **line)
            for at, height in found_peaks(case):
                axes.plot(at, MEGA * height, **{**mark, "linestyle": "", "markersize": 4})
        handles.append(handle)
    _frame_axes(grid)
    first = np.array([peaks[0][0] for case in shown if (peaks := found_peaks(case))], float)
    if first.size and curves:
        _zoom(grid, first, curves.values())
    else:
        for name in ("peak", "phase_peak"):
            grid.pop(name).remove()
    style.key(drawing, list(grid.values()), labels, handles)
    spread = ""
    if first.size > 1:
        ends = {"lowest": first.min(), "highest": first.max()}
        spread = text("impedance", "spread", **ends)
    return save(
        drawing,
        directory,
        "impedance",
        count=len(study.cases),
        enlarged=text("impedance", "enlarged") if first.size else "",
        spread=spread,
    )


def _curves(impedance: pd.DataFrame) -> dict[Any, pd.DataFrame]:
    """Magnitude [MPa·s/m³] and phase [°] of each case that has them, by frequency."""
    known = impedance.dropna(subset=["impedance_real_Pa_s_per_m3"])
    value = known["impedance_real_Pa_s_per_m3"] + 1j * known["impedance_imag_Pa_s_per_m3"]
    known = known.assign(magnitude=MEGA * value.abs(), phase=np.angle(value, deg=True))
    return dict(tuple(known.groupby("case", sort=False)))


def _frame_axes(grid: dict[str, Any]) -> None:
    grid["size"].set_ylabel("impedance magnitude, MPa·s/m³")
    grid["phase"].set_ylabel("impedance phase, °")
    grid["size"].set_title("whole range", loc="left")
    grid["peak"].set_title("first resonance, enlarged", loc="left")
    for name in ("phase", "phase_peak"):
        grid[name].set(xlabel="frequency, Hz", yticks=[-90, -45, 0, 45, 90], ylim=(-95, 95))
    for name in ("size", "peak"):
        grid[name].tick_params(labelbottom=False)
        grid[name].yaxis.set_major_formatter("{x:g}")
        # Matplotlib's own labels between the decades are mathematics, which is not set here.
        grid[name].yaxis.set_minor_formatter(_between_decades)


def _between_decades(value: float, position: int | None = None) -> str:
    """Label 2 and 5 of a decade; the others would crowd."""
    leading = f"{value:.0e}"[0]
    return f"{value:g}" if leading in "25" else ""


def found_peaks(case: CaseView) -> list[tuple[float, float]]:
    """Frequency [Hz] and height [Pa·s/m³] of the case's resonances that have both."""
    return [
        (peak.frequency.value, peak.impedance_peak.value)
        for peak in case.results.resonances
        if peak.frequency is not None and peak.impedance_peak is not None
    ]


def _zoom(grid: dict[str, Any], first: np.ndarray, curves: Any) -> None:
    """Set the enlarged view: all first peaks, with some room on both sides."""
    room = max(0.06 * float(first.mean()), 0.7 * float(np.ptp(first)))
    low, high = float(first.min()) - room, float(first.max()) + room
    inside = pd.concat(
        [curve.loc[curve["frequency_Hz"].between(low, high), "magnitude"] for curve in curves]
    )
    grid["peak"].set_xlim(low, high)
    grid["phase_peak"].set_xlim(low, high)
    if len(inside):
        grid["peak"].set_ylim(inside.min() / 1.1, inside.max() * 1.15)
        grid["peak"].set_yscale("linear")
