"""What a player hears of: each peak in cents, equivalent length, and what the cup passes on."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from borestudy.drawing.lettering import wrapped
from borestudy.drawing.style import (
    GREY,
    LINE_LIMIT,
    FigureRecord,
    evenly_spaced,
    figure,
    from_zero,
    key,
    line_style,
    save,
    styled,
)
from borestudy.report.figures.case import CaseView

#: Least width of one of three panels beside each other and a colour bar.
PANEL_MM = 32.0
PLAYED = tuple(range(2, 13))
#: Names of the registers and the peaks they span (common practice; players differ on the borders).
REGISTERS = (("low", 2, 4), ("middle", 5, 7), ("high", 8, 12))


def has_instrument(comparison: pd.DataFrame) -> bool:
    """Whether any case has an air column behind its shank, and so peaks that are played."""
    if "termination" not in comparison:
        return False
    return bool(comparison["termination"].astype(str).str.startswith("air column").any())


@styled
def draw_peaks(
    comparison: pd.DataFrame, cases: Sequence[CaseView], directory: Path
) -> FigureRecord:
    """Draw each played peak's cents against its harmonic and against the first case's peak."""
    tuned = "peak_2_above_harmonic_cents" in comparison
    shown = [cases[index] for index in evenly_spaced(len(cases), LINE_LIMIT)]
    drawing = figure(128 if tuned else 76)
    panels = drawing.subplots(2 if tuned else 1, 1, sharex=True, squeeze=False)[:, 0]
    stems = ["peak_{}_change_cents"]
    stems += ["peak_{}_above_harmonic_cents"] if tuned else []
    scales = ("against the first case, cents", "above harmonic, cents")
    handles: list[Any] = []
    rows = comparison.set_index("case")
    for axes, stem, label in zip(panels, stems, scales, strict=False):
        axes.axhline(0, color=GREY, linewidth=0.7)
        for index, case in enumerate(shown):
            value, error = (
                np.array([_number(rows, case.name, stem.format(peak) + end) for peak in PLAYED])
                for end in ("", "_uncertainty")
            )
            bar = axes.errorbar(
                PLAYED, value, yerr=np.nan_to_num(error), **line_style(index, len(shown))
            )
            if axes is panels[0]:
                handles.append(bar)
        axes.set_ylabel(label)
        axes.set_xticks(PLAYED)
        for name, first, last in REGISTERS:
            axes.axvline(first - 0.5, color=GREY, linewidth=0.6, linestyle=(0, (1, 2)))
            axes.annotate(
                f"{name} register",
                ((first + last) / 2, 1),
                xycoords=("data", "axes fraction"),
                xytext=(0, 2),
                textcoords="offset points",
                ha="center",
                va="bottom",
                fontsize=8,
                color=GREY,
            )
    panels[-1].set_xlabel("number of the impedance peak")
    known = {
        case.name
        for case in shown
        if np.isfinite([_number(rows, case.name, stems[0].format(peak)) for peak in PLAYED]).any()
    }
    labels = [case.label + ("" if case.name in known else " (no result)") for case in shown]
    key(drawing, list(panels), labels, handles)
    harmonic = (
        " Below: against the nearest harmonic of the study’s fundamental; a line that is level is "
        "an instrument in tune with itself."
        if tuned
        else ""
    )
    return save(
        drawing,
        directory,
        "peaks",
        title="Pitch of each peak of the instrument",
        caption="How many cents each peak lies above the first case’s same peak: a step up of the "
        f"line is a higher note; 100 cents are a semitone.{harmonic} Bars are the numerical "
        "uncertainty; where none is visible it is smaller than the mark.",
        alt=f"Cents against peak number 2 to 12 for {len(shown)} case(s).",
    )


def _number(rows: pd.DataFrame, case: str, column: str) -> float:
    if column not in rows or case not in rows.index:
        return float("nan")
    return float(rows[column].to_numpy(float)[list(rows.index).index(case)])


def has_curves(case: CaseView) -> bool:
    """Whether the case's results hold the mouthpiece's own curves."""
    return bool((case.acoustics.get("curves") or {}).get("frequency_Hz"))


@styled
def draw_mouthpiece(cases: Sequence[CaseView], directory: Path) -> FigureRecord:
    """Draw equivalent length, gain and transfer against frequency, one line a case."""
    known = [case for case in cases if has_curves(case)]
    shown = [known[index] for index in evenly_spaced(len(known), LINE_LIMIT)]
    drawing = figure(100)
    length, gain, transfer = drawing.subplots(1, 3)
    panels = (
        (length, "equivalent_length_mm", "equivalent length, mm"),
        (gain, "pressure_gain", "gain for a given flow"),
        (transfer, "pressure_transfer", "pressure, shank end / rim"),
    )
    handles: list[Any] = []
    for index, case in enumerate(shown):
        curves = case.acoustics["curves"]
        line = {**line_style(index, len(shown)), "marker": "", "linewidth": 1.1}
        for axes, name, _ in panels:
            if curves.get(name):
                (handle,) = axes.semilogx(curves["frequency_Hz"], curves[name], **line)
        handles.append(handle)
        _mark_band(gain, case, line)
    for axes, _, label in panels:
        axes.set_title(wrapped(label, PANEL_MM), loc="left")
        axes.set_xlabel("frequency, Hz")
        from_zero([axes])
        axes.xaxis.set_major_formatter("{x:g}")
        axes.xaxis.set_minor_formatter(lambda value, position: "")
    _quarter_wave(length, shown)
    key(drawing, [length, gain, transfer], [case.label for case in shown], handles)
    return save(
        drawing,
        directory,
        "mouthpiece",
        title="What belongs to the mouthpiece itself",
        caption="Left: how long a pipe of the shank’s bore the mouthpiece is worth, from its "
        "volume over the shank’s area at low frequency to a quarter of a wavelength (dotted) at "
        "its own resonance: a change of it moves an instrument’s peaks. Middle: how much it "
        "raises the pressure passed on for a given flow at the rim; the bar is the band within "
        "3 dB of the peak. Right: pressure passed on for a given pressure at the rim. Middle and "
        "right are those into an endless pipe. Neither is a measure of taste.",
        alt=f"Equivalent length, gain and pressure transfer against frequency for {len(shown)} "
        "case(s).",
    )


def _mark_band(axes: Any, case: CaseView, line: dict[str, Any]) -> None:
    """A bar at half power from end to end of the gain's band."""
    band = case.acoustics.get("gain") or {}
    ends = [band.get("band_low_Hz"), band.get("band_high_Hz")]
    if None in ends or not band.get("peak"):
        return
    axes.plot(ends, [band["peak"] * np.sqrt(0.5)] * 2, color=line["color"], linewidth=0.7)


def _quarter_wave(axes: Any, cases: Sequence[CaseView]) -> None:
    """The length of a quarter of a wave, where the study's air is known by its own resonances."""
    limits = axes.get_ylim()
    for case in cases[:1]:
        speed = case.acoustics.get("sound_speed_m_per_s")
        if speed:
            frequency = np.array(case.acoustics["curves"]["frequency_Hz"])
            axes.plot(frequency, 1e3 * speed / (4 * frequency), color=GREY, linestyle=":")
    axes.set_ylim(*limits)
