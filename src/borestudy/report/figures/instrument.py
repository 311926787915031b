"""What a player hears of: each peak in cents, equivalent length, and what the cup passes on."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from borestudy.drawing import style
from borestudy.drawing.lettering import wrapped
from borestudy.drawing.marks import error_line, write_above
from borestudy.report.figures.case import CaseView
from borestudy.report.figures.positions import column_of
from borestudy.report.sentences.words import PLAYED_PEAKS, REGISTERS

#: Least width of one of three panels beside each other and a colour bar.
PANEL_MM = 32.0
#: The mouthpiece's own curves: field of `Curves`, and label.
CURVES = (
    ("equivalent_length_mm", "equivalent length, mm"),
    ("pressure_gain", "gain for a given flow"),
    ("pressure_transfer", "pressure, shank end / rim"),
)


def has_instrument(comparison: pd.DataFrame) -> bool:
    """Whether any case has an air column behind its shank, and so peaks that are played."""
    if "termination" not in comparison:
        return False
    return bool(comparison["termination"].astype(str).str.startswith("air column").any())


@style.styled
def draw_peaks(
    comparison: pd.DataFrame, cases: Sequence[CaseView], directory: Path
) -> style.FigureRecord:
    """Draw each played peak's cents against its harmonic and against the first case's peak."""
    scales = {"peak_{}_change_cents": "against the first case, cents"}
    if "peak_2_above_harmonic_cents" in comparison:
        scales["peak_{}_above_harmonic_cents"] = "above harmonic, cents"
    shown = style.sample(cases)
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
    labels = [
        case.label + ("" if is_known else " (no result)")
        for case, is_known in zip(shown, known, strict=True)
    ]
    style.key(drawing, list(panels), labels, handles)
    harmonic = (
        " Below: against the nearest harmonic of the study’s fundamental; a line that is level is "
        "an instrument in tune with itself."
        if len(scales) > 1
        else ""
    )
    return style.save(
        drawing,
        directory,
        "peaks",
        title="Pitch of each peak of the instrument",
        caption="How many cents each peak lies above the first case’s same peak: a step up of the "
        f"line is a higher note; 100 cents are a semitone.{harmonic} Bars are the numerical "
        "uncertainty; where none is visible it is smaller than the mark.",
        alt=f"Cents against peak number 2 to 12 for {len(shown)} case(s).",
    )


def has_curves(case: CaseView) -> bool:
    """Whether the case's results hold the mouthpiece's own curves."""
    acoustics = case.results.acoustics
    return acoustics is not None and acoustics.curves is not None


@style.styled
def draw_mouthpiece(cases: Sequence[CaseView], directory: Path) -> style.FigureRecord:
    """Draw equivalent length, gain and transfer against frequency, one line a case."""
    shown = style.sample([case for case in cases if has_curves(case)])
    drawing = style.figure(100)
    panels = drawing.subplots(1, 3)
    handles: list[Any] = []
    for index, case in enumerate(shown):
        acoustics = case.results.acoustics
        if acoustics is None or acoustics.curves is None:
            continue
        line = {**style.line_style(index, len(shown)), "marker": "", "linewidth": 1.1}
        for axes, (name, _) in zip(panels, CURVES, strict=True):
            value = np.array(getattr(acoustics.curves, name), float)
            if value.size:  # the equivalent length cannot always be followed from low frequency
                (handle,) = axes.semilogx(acoustics.curves.frequency_Hz, value, **line)
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
    _quarter_wave(panels[0], shown[0])
    style.key(drawing, list(panels), [case.label for case in shown], handles)
    return style.save(
        drawing,
        directory,
        "mouthpiece",
        title="What belongs to the mouthpiece itself",
        caption="Left: how long a pipe of the shank’s bore the mouthpiece is worth, from its "
        "volume over the shank’s area at low frequency to a quarter of a wavelength (dotted) at "
        "its own resonance: a change of it moves an instrument’s peaks. Middle: how much it "
        "raises the pressure passed on for a given flow at the rim; the bar is the band within "
        "3 dB of the peak. Right: pressure passed on for a given pressure at the rim. Middle and "
        "right are with an anechoic termination (an endless pipe, in effect) behind the shank. "
        "Neither is a measure of taste.",
        alt=f"Equivalent length, gain and pressure transfer against frequency for {len(shown)} "
        "case(s).",
    )


def _quarter_wave(axes: Any, case: CaseView) -> None:
    """The length of a quarter of a wave, where the speed of sound is known."""
    acoustics, limits = case.results.acoustics, axes.get_ylim()
    if acoustics and acoustics.curves and acoustics.sound_speed_m_per_s:
        frequency = np.array(acoustics.curves.frequency_Hz)
        length = 1e3 * acoustics.sound_speed_m_per_s / (4 * frequency)
        axes.plot(frequency, length, color=style.GREY, linestyle=":")
    axes.set_ylim(*limits)
