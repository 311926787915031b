"""What a player hears of: input impedance, each peak in cents, and what the cup passes on."""

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from borestudy.drawing import style
from borestudy.drawing.lettering import wrapped
from borestudy.drawing.marks import error_line, write_above
from borestudy.report.captions import save, text
from borestudy.report.figures.case import CaseView, PicturedStudy
from borestudy.report.figures.positions import column_of
from borestudy.report.sentences.words import PLAYED_PEAKS, REGISTERS

MEGA = 1e-6
#: Least width of one of three panels beside each other and a colour bar.
PANEL_MM = 32.0
#: The mouthpiece's own curves: field of `Curves`, and label.
CURVES = (
    ("equivalent_length_mm", "equivalent length, mm"),
    ("pressure_gain", "gain for a given flow"),
    ("pressure_transfer", "pressure, shank end / rim"),
)


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


@style.styled
def draw_peaks(study: PicturedStudy, directory: Path) -> style.FigureRecord | None:
    """Draw each played peak's cents against its harmonic and against the first case's peak."""
    comparison, shown = study.comparison, study.shown
    terminations = comparison.get("termination", pd.Series(dtype=str)).astype(str)
    if len(comparison) < 2 or not terminations.str.startswith("air column").any():
        return None
    scales = {"peak_{}_change_cents": "against the first bore, cents"}
    if "peak_2_above_harmonic_cents" in comparison:
        scales["peak_{}_above_harmonic_cents"] = "above harmonic, cents"
    drawing = style.figure(128 if len(scales) > 1 else 76)
    panels = drawing.subplots(len(scales), 1, sharex=True, squeeze=False)[:, 0]
    rows = comparison.set_index("case").reindex([case.name for case in shown])
    handles: list[Any] = []
    known = np.zeros(len(shown), bool)
    for axes, (stem, label) in zip(panels, scales.items(), strict=True):
        axes.axhline(0, color=style.GREY, linewidth=0.7)
        values, errors = (
            np.array([column_of(rows, stem.format(peak) + end) for peak in PLAYED_PEAKS]).T
            for end in ("", "_uncertainty")
        )
        bars = [
            error_line(axes, PLAYED_PEAKS, value, error, **style.line_style(index, len(shown)))
            for index, (value, error) in enumerate(zip(values, errors, strict=True))
        ]
        if axes is panels[0]:
            handles, known = bars, np.isfinite(values).any(axis=1)
        axes.set_ylabel(label)
        axes.set_xticks(PLAYED_PEAKS)
        for name, peaks in REGISTERS.items():
            axes.axvline(peaks[0] - 0.5, color=style.GREY, linewidth=0.6, linestyle=(0, (1, 2)))
            write_above(axes, (peaks[0] + peaks[-1]) / 2, f"{name} register")
    panels[-1].set_xlabel("number of the impedance peak")
    labels = [case.words(is_known) for case, is_known in zip(shown, known, strict=True)]
    style.key(drawing, list(panels), labels, handles)
    harmonic = text("peaks", "harmonic") if len(scales) > 1 else ""
    return save(drawing, directory, "peaks", count=len(shown), harmonic=harmonic)


@style.styled
def draw_mouthpiece(study: PicturedStudy, directory: Path) -> style.FigureRecord | None:
    """Draw equivalent length, gain and transfer against frequency, one line a case."""
    found = [
        (case.label, case.results.acoustics, case.results.acoustics.curves)
        for case in study.cases
        if case.results.acoustics is not None and case.results.acoustics.curves is not None
    ]
    if not found:
        return None
    shown = style.sample(found)
    drawing = style.figure(100)
    panels = drawing.subplots(1, 3)
    handles: list[Any] = []
    for index, (_, acoustics, curves) in enumerate(shown):
        line = style.plain_line(index, len(shown), linewidth=1.1)
        for axes, (name, _) in zip(panels, CURVES, strict=True):
            value = np.array(getattr(curves, name), float)
            if value.size:  # the equivalent length cannot always be followed from low frequency
                (handle,) = axes.semilogx(curves.frequency_Hz, value, **line)
        handles.append(handle)
        band = acoustics.gain
        if band and band.peak and band.band_low and band.band_high:
            half_power = [band.peak.value * np.sqrt(0.5)] * 2
            ends = [band.band_low.value, band.band_high.value]
            panels[1].plot(ends, half_power, color=line["color"], linewidth=0.7)
    for axes, (_, label) in zip(panels, CURVES, strict=True):
        axes.set_title(wrapped(label, PANEL_MM), loc="left")
        axes.set_xlabel("frequency, Hz")
        style.from_zero([axes])
        axes.xaxis.set_major_formatter("{x:g}")
        axes.xaxis.set_minor_formatter(lambda value, position: "")
    limits = panels[0].get_ylim()
    if speed := shown[0][1].sound_speed_m_per_s:  # a quarter of a wavelength
        frequency = np.array(shown[0][2].frequency_Hz)
        panels[0].plot(frequency, 1e3 * speed / (4 * frequency), color=style.GREY, linestyle=":")
    panels[0].set_ylim(*limits)
    style.key(drawing, list(panels), [label for label, *_ in shown], handles)
    return save(drawing, directory, "mouthpiece", count=len(shown))
