"""Input impedance at the rim plane against frequency: magnitude, phase, the first peak enlarged."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from borestudy.drawing.style import (
    LINE_LIMIT,
    FigureRecord,
    evenly_spaced,
    figure,
    key,
    line_style,
    save,
    styled,
)
from borestudy.report.figures.case import CaseView

MEGA = 1e-6


@styled
def draw_impedance(
    impedance: pd.DataFrame, cases: Sequence[CaseView], directory: Path
) -> FigureRecord:
    """Draw magnitude (log) and phase for each case, with the computed resonances marked."""
    drawing = figure(122)
    grid = drawing.subplot_mosaic([["size", "peak"], ["phase", "phase_peak"]], width_ratios=(2, 1))
    shown = [cases[index] for index in evenly_spaced(len(cases), LINE_LIMIT)]
    known = impedance.dropna(subset=["impedance_real_Pa_s_per_m3"])
    by_case = dict(tuple(known.groupby("case", sort=False)))
    handles: list[Any] = []
    for index, case in enumerate(shown):
        style = line_style(index, len(shown))
        line = {**style, "marker": "", "linewidth": 1.1}
        if case.name not in by_case:
            handles += grid["size"].plot([], [], **line)
            continue
        rows = by_case[case.name]
        frequency = rows["frequency_Hz"].to_numpy(float)
        value = rows["impedance_real_Pa_s_per_m3"].to_numpy(float) + 1j * rows[
            "impedance_imag_Pa_s_per_m3"
        ].to_numpy(float)
        magnitude, phase = MEGA * abs(value), np.angle(value, deg=True)
        for axes in (grid["size"], grid["peak"]):
            (handle,) = axes.semilogy(frequency, magnitude, **line)
        for axes in (grid["phase"], grid["phase_peak"]):
            axes.plot(frequency, phase, **line)
        handles.append(handle)
        for peak in found_peaks(case):
            for axes in (grid["size"], grid["peak"]):
                axes.plot(
                    peak["frequency_Hz"],
                    MEGA * peak["impedance_peak_Pa_s_per_m3"],
                    **{**style, "linestyle": ""},
                    markersize=4,
                )

    _frame_axes(grid)
    first = _first_peaks(shown)
    if first.size:
        _zoom(grid, first, by_case)
    else:
        for name in ("peak", "phase_peak"):
            grid.pop(name).remove()
    labels = [case.label if case.name in by_case else f"{case.label} (no result)" for case in shown]
    key(drawing, list(grid.values()), labels, handles)
    spread = _spread_words(first)
    return save(
        drawing,
        directory,
        "impedance",
        title="Input impedance",
        caption="How strongly each bore resists a small alternating air flow at the rim, by "
        "frequency. Peaks (marked) are resonances: there the lips feel the bore most. "
        f"{'Right: the first resonance enlarged.' if first.size else ''}{spread}",
        alt=f"Input impedance magnitude and phase against frequency for {len(cases)} case(s)."
        + spread,
    )


def _frame_axes(grid: dict[str, Any]) -> None:
    grid["size"].set_ylabel("impedance magnitude, MPa·s/m³")
    grid["phase"].set_ylabel("impedance phase, °")
    grid["size"].set_title("whole range", loc="left")
    grid["peak"].set_title("first resonance, enlarged", loc="left")
    for name in ("phase", "phase_peak"):
        grid[name].set_xlabel("frequency, Hz")
        grid[name].set_yticks([-90, -45, 0, 45, 90])
        grid[name].set_ylim(-95, 95)
    for name in ("size", "peak"):
        grid[name].tick_params(labelbottom=False)
        grid[name].yaxis.set_major_formatter("{x:g}")
        # Matplotlib's own labels between the decades are mathematics, which is not set here.
        grid[name].yaxis.set_minor_formatter(_between_decades)


def _between_decades(value: float, position: int | None = None) -> str:
    """Label 2 and 5 of a decade; the others would crowd."""
    leading = f"{value:.0e}"[0]
    return f"{value:g}" if leading in "25" else ""


def found_peaks(case: CaseView) -> list[Mapping[str, Any]]:
    """The case's resonances that have a frequency and a height."""
    return [
        peak
        for peak in case.acoustics.get("resonances", [])
        if peak["frequency_Hz"] is not None and peak["impedance_peak_Pa_s_per_m3"] is not None
    ]


def _first_peaks(cases: Sequence[CaseView]) -> np.ndarray:
    """First resonance of every case that has one [Hz]."""
    found = [found_peaks(case) for case in cases]
    return np.array([peaks[0]["frequency_Hz"] for peaks in found if peaks], float)


def _zoom(grid: dict[str, Any], first: np.ndarray, by_case: dict[Any, pd.DataFrame]) -> None:
    """Set the enlarged view: all first peaks, with some room on both sides."""
    room = max(0.06 * float(first.mean()), 0.7 * float(np.ptp(first)))
    low, high = float(first.min()) - room, float(first.max()) + room
    inside = []
    for rows in by_case.values():
        chosen = rows[rows["frequency_Hz"].between(low, high)]
        size = np.hypot(chosen["impedance_real_Pa_s_per_m3"], chosen["impedance_imag_Pa_s_per_m3"])
        inside += [MEGA * float(size.min()), MEGA * float(size.max())] if len(size) else []
    grid["peak"].set_xlim(low, high)
    grid["phase_peak"].set_xlim(low, high)
    if inside:
        grid["peak"].set_ylim(min(inside) / 1.1, max(inside) * 1.15)
        grid["peak"].set_yscale("linear")


def _spread_words(first: np.ndarray) -> str:
    if first.size < 2:
        return ""
    return f" The first resonances lie between {first.min():.1f} and {first.max():.1f} Hz."
