"""What a player hears of: input impedance, each peak in cents, and what the cup passes on."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from borestudy.drawing import looks, style
from borestudy.drawing.lettering import wrapped
from borestudy.drawing.marks import error_line, write_above
from borestudy.report.captions import save, text
from borestudy.report.figures.case import CaseView, PicturedStudy
from borestudy.report.figures.drawn_data import of_cases
from borestudy.report.figures.positions import column_of
from borestudy.report.sentences.words import PLAYED_PEAKS, REGISTERS

MEGA = 1e-6
#: Columns of the impedance's curves.
SIZE, PHASE, CHANGE = "impedance_MPa_s_per_m3", "phase_degrees", "impedance_change_percent"
#: Longest line of words along a vertical axis [mm].
SIDE_MM = 36.0


@style.styled
def draw_impedance(study: PicturedStudy, directory: Path) -> style.FigureRecord:
    """Draw the magnitude (log) of each case, and its change against the first case's.

    The resonances are marked.  Of a single case the phase is drawn in place of the change.
    """
    shown, curves = study.shown, _curves(study)
    against = CHANGE if len(shown) > 1 and len(curves[shown[0].name]) else PHASE
    rows = [["size", "peak"], ["below", "below_peak"]]
    if looks.is_narrow():
        rows = [[name] for row in zip(*rows, strict=True) for name in row]
    drawing = style.figure(210 if looks.is_narrow() else 122)
    grid = drawing.subplot_mosaic(rows, width_ratios=(2, 1)[: len(rows[0])])  # type: ignore[arg-type]
    handles: list[Any] = []
    for index, case in enumerate(shown):
        mark, curve = style.line_style(index, len(shown)), curves[case.name]
        line = {**mark, "marker": "", "linewidth": 1.1}
        for name in ("below", "below_peak"):
            grid[name].plot(curve["frequency_Hz"], curve[against], **line)
        for name in ("peak", "size"):
            (handle,) = grid[name].semilogy(curve["frequency_Hz"], curve[SIZE], **line)
            for at, height in found_peaks(case):
                grid[name].plot(at, MEGA * height, **{**mark, "linestyle": "", "markersize": 4})
        handles.append(handle)
    _frame_axes(grid, against)
    first = np.array([peaks[0][0] for case in shown if (peaks := found_peaks(case))], float)
    if first.size:
        _zoom(grid, first, list(curves.values()), against)
    else:
        for name in ("peak", "below_peak"):
            grid.pop(name).remove()
    labels = [case.words(len(curves[case.name]) > 0) for case in shown]
    style.key(drawing, list(grid.values()), labels, handles)
    words = {"enlarged": text("impedance", "enlarged") if first.size else "", "spread": ""}
    if looks.is_narrow():
        words["enlarged"] = words["enlarged"].replace("Right", "Lower panels")
    words["apart"] = text("impedance", "apart") if against == CHANGE else ""
    if first.size > 1:
        words["spread"] = text("impedance", "spread", lowest=first.min(), highest=first.max())
    known = [case for case in shown if len(curves[case.name])]
    data = of_cases(
        known, [dict(curves[case.name][["frequency_Hz", SIZE, against]]) for case in known]
    )
    return save(drawing, directory, "impedance", data, count=len(study.cases), **words)


def _curves(study: PicturedStudy) -> dict[str, pd.DataFrame]:
    """Magnitude, phase and change against the first case, by frequency.

    There is no row where there is no result.
    """
    known = study.impedance.dropna(subset=["impedance_real_Pa_s_per_m3"])
    value = known["impedance_real_Pa_s_per_m3"] + 1j * known["impedance_imag_Pa_s_per_m3"]
    errors = [
        np.asarray(value_part) * column_of(known, f"impedance_{part}_Pa_s_per_m3_uncertainty")
        for part, value_part in (("real", value.map(np.real)), ("imag", value.map(np.imag)))
    ]
    error = np.hypot(*errors) / value.abs()  # of |Z|, its parts' errors being independent
    known = known.assign(
        **{
            SIZE: MEGA * value.abs(),
            f"{SIZE}_uncertainty": MEGA * error,
            PHASE: np.angle(value, deg=True),
        }
    )
    found = {case.name: known[known["case"] == case.name] for case in study.shown}
    base = found[study.shown[0].name]
    for name, curve in found.items():
        at, x, y = (
            np.asarray(one, float)
            for one in (curve["frequency_Hz"], base["frequency_Hz"], base[SIZE])
        )
        same = np.interp(at, x, y, left=np.nan, right=np.nan) if len(base) else np.nan
        found[name] = curve.assign(**{CHANGE: 100 * (curve[SIZE] / same - 1)})
    return found


def _frame_axes(grid: dict[str, Any], against: str) -> None:
    grid["size"].set_ylabel("impedance, MPa·s/m³")
    grid["size"].set_title("whole range", loc="left")
    grid["peak"].set_title("first resonance, enlarged", loc="left")
    for name in ("below", "below_peak"):
        grid[name].set_xlabel("frequency, Hz")
        if against == PHASE:
            grid[name].set(yticks=[-90, -45, 0, 45, 90], ylim=(-95, 95))
    grid["below"].set_ylabel("phase, °" if against == PHASE else "against the first, %")
    for name in ("size", "peak"):
        grid[name].tick_params(labelbottom=looks.is_narrow())
        grid[name].yaxis.set_major_formatter("{x:g}")
        # Matplotlib's own labels between the decades are mathematics, which is not set here.
        grid[name].yaxis.set_minor_formatter(between_decades)


def between_decades(value: float, position: int | None = None) -> str:
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


def _zoom(
    grid: dict[str, Any], first: np.ndarray, curves: Sequence[pd.DataFrame], against: str
) -> None:
    """Set the enlarged view: all first peaks, with some room on both sides."""
    room = max(0.06 * float(first.mean()), 0.7 * float(np.ptp(first)))
    low, high = float(first.min()) - room, float(first.max()) + room
    inside = pd.concat([curve[curve["frequency_Hz"].between(low, high)] for curve in curves])
    for name in ("peak", "below_peak"):
        grid[name].set_xlim(low, high)
    if len(inside):
        grid["peak"].set_ylim(inside[SIZE].min() / 1.1, inside[SIZE].max() * 1.15)
        grid["peak"].set_yscale("linear")
        if against == CHANGE and inside[CHANGE].notna().any():
            ends = min(0.0, inside[CHANGE].min()), max(0.0, inside[CHANGE].max())
            space = 0.08 * (ends[1] - ends[0]) or 1.0
            grid["below_peak"].set_ylim(ends[0] - space, ends[1] + space)


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
    data: list[dict[str, Any]] = [{"peak": PLAYED_PEAKS} for _ in shown]
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
        for columns, value, error in zip(data, values, errors, strict=True):
            column = stem.format("").replace("__", "_").strip("_")
            columns |= {column: value, f"{column}_uncertainty": error}
        if axes is panels[0]:
            handles, known = bars, np.isfinite(values).any(axis=1)
        axes.set_ylabel(wrapped(label, SIDE_MM))
        axes.set_xticks(PLAYED_PEAKS)
        for name, peaks in REGISTERS.items():
            axes.axvline(peaks[0] - 0.5, color=style.GREY, linewidth=0.6, linestyle=(0, (1, 2)))
            words = name if looks.is_narrow() else f"{name} register"
            write_above(axes, (peaks[0] + peaks[-1]) / 2, words)
    panels[-1].set_xlabel("number of the impedance peak")
    labels = [case.words(is_known) for case, is_known in zip(shown, known, strict=True)]
    style.key(drawing, list(panels), labels, handles)
    harmonic = text("peaks", "harmonic") if len(scales) > 1 else ""
    table = of_cases(shown, data)
    return save(drawing, directory, "peaks", table, count=len(shown), harmonic=harmonic)
