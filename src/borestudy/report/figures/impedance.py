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
    shown, curves = study.shown, _curves(study)
    handles: list[Any] = []
    for index, case in enumerate(shown):
        mark, curve = style.line_style(index, len(shown)), curves[case.name]
        line = {**mark, "marker": "", "linewidth": 1.1}
        for name in ("phase", "phase_peak"):
            grid[name].plot(curve["frequency_Hz"], curve["phase"], **line)
        for name in ("peak", "size"):
            (handle,) = grid[name].semilogy(curve["frequency_Hz"], curve["magnitude"], **line)
            for at, height in found_peaks(case):
                grid[name].plot(at, MEGA * height, **{**mark, "linestyle": "", "markersize": 4})
        handles.append(handle)
    _frame_axes(grid)
    first = np.array([peaks[0][0] for case in shown if (peaks := found_peaks(case))], float)
    if first.size:
        _zoom(grid, first, curves.values())
    else:
        for name in ("peak", "phase_peak"):
            grid.pop(name).remove()
    labels = [case.words(len(curves[case.name]) > 0) for case in shown]
    style.key(drawing, list(grid.values()), labels, handles)
    words = {"enlarged": text("impedance", "enlarged") if first.size else "", "spread": ""}
    if first.size > 1:
        words["spread"] = text("impedance", "spread", lowest=first.min(), highest=first.max())
    return save(drawing, directory, "impedance", count=len(study.cases), **words)


def _curves(study: PicturedStudy) -> dict[str, pd.DataFrame]:
    """Magnitude [MPa·s/m³] and phase [°] by frequency, without a row where there is no result."""
    known = study.impedance.dropna(subset=["impedance_real_Pa_s_per_m3"])
    value = known["impedance_real_Pa_s_per_m3"] + 1j * known["impedance_imag_Pa_s_per_m3"]
    known = known.assign(magnitude=MEGA * value.abs(), phase=np.angle(value, deg=True))
    return {case.name: known[known["case"] == case.name] for case in study.shown}


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
