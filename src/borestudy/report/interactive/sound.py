"""Charts of the sound: input impedance, what belongs to the mouthpiece, and each peak's pitch."""

from dataclasses import replace

import numpy as np
import pandas as pd

from borestudy.report.figures.case import PicturedStudy
from borestudy.report.figures.impedance import found_peaks
from borestudy.report.figures.positions import column_of
from borestudy.report.interactive.lines import (
    Curve,
    Subject,
    bore_channels,
    curves_panels,
)
from borestudy.report.interactive.panels import Axis, Panel, Row, Words
from borestudy.report.interactive.points import points_panel, with_errors
from borestudy.report.sentences.words import PLAYED_PEAKS
from borestudy.rounding import MINUS, with_uncertainty

MEGA = 1e-6
REAL, IMAGINARY = "impedance_real_Pa_s_per_m3", "impedance_imag_Pa_s_per_m3"
IMPEDANCE = Subject(
    "Input impedance", "impedance", "MPa·s/m³", "frequency", "Hz", True, more={"phase": "phase"}
)
#: The mouthpiece's own curves: field of `Curves`, and what it is.
OWN = {
    "equivalent_length_mm": Subject(
        "Length of the shank’s bore that it is worth", "length", "mm", "frequency", "Hz", True
    ),
    "pressure_gain": Subject(
        "Pressure passed on for a given flow at the rim", "gain", "", "frequency", "Hz", True
    ),
    "pressure_transfer": Subject(
        "Pressure passed on for a given pressure at the rim",
        "transfer",
        "",
        "frequency",
        "Hz",
        True,
    ),
}


def impedance_panels(study: PicturedStudy) -> list[Panel]:
    """Magnitude by frequency with the phase in words; its change where the curves coincide."""
    curves = []
    for number, case in enumerate(study.charted):
        curve = _magnitude(study.impedance, case.name, number, case.label)
        peaks = [int(np.argmin(np.abs(curve.x - at))) for at, _ in found_peaks(case)]
        if curve.x.size:
            curves.append(replace(curve, marked=peaks))
    axes = (Axis("frequency, Hz"), Axis("impedance, MPa·s/m³", is_log=True))
    return curves_panels(study, IMPEDANCE, curves, axes)


def _magnitude(table: pd.DataFrame, name: str, number: int, label: str) -> Curve:
    """Magnitude [MPa·s/m³] with its uncertainty, and phase [°] in words, of one case."""
    rows = table[(table["case"] == name) & table[REAL].notna()]
    real, imaginary = (column_of(rows, part) for part in (REAL, IMAGINARY))
    size = np.hypot(real, imaginary)
    errors = [column_of(rows, f"{part}_uncertainty") for part in (REAL, IMAGINARY)]
    error = np.hypot(real * errors[0], imaginary * errors[1]) / size
    phase = np.degrees(np.arctan2(imaginary, real))
    words = [f"{angle:.0f}°".replace("-", MINUS) for angle in phase]
    frequency = column_of(rows, "frequency_Hz")
    return Curve(number, label, frequency, MEGA * size, MEGA * error, more={"phase": words})


def mouthpiece_panels(study: PicturedStudy) -> list[Panel]:
    """Equivalent length, gain and transfer against frequency, a panel each."""
    panels = []
    for name, subject in OWN.items():
        curves = []
        for number, case in enumerate(study.charted):
            acoustics = case.results.acoustics
            if acoustics is None or acoustics.curves is None:
                continue
            x, y, error = (
                np.array(getattr(acoustics.curves, one), float)
                for one in ("frequency_Hz", name, f"{name}_uncertainty")
            )
            if y.size:  # the equivalent length cannot always be followed from low frequency
                known = error if error.size == y.size else None
                curves.append(Curve(number, case.label, x, y, known))
        label = f"{subject.name}, {subject.unit}" if subject.unit else subject.name
        axes = (Axis("frequency, Hz", is_log=True), Axis(label, from_zero=True))
        panels += curves_panels(study, subject, curves, axes)
    return panels


def peaks_panels(study: PicturedStudy) -> list[Panel]:
    """Each played peak's cents against the first bore's, and against its harmonic."""
    comparison, cases = study.comparison, study.charted
    terminations = comparison.get("termination", pd.Series(dtype=str)).astype(str)
    if len(comparison) < 2 or not terminations.str.startswith("air column").any():
        return []
    table = comparison.set_index("case").reindex([case.name for case in cases])
    stems = {
        "peak_{}_change_cents": ("Pitch of each peak against the first bore", "change, cents"),
        "peak_{}_above_harmonic_cents": ("Pitch of each peak above its harmonic", "cents"),
    }
    panels = []
    for stem, (title, label) in stems.items():
        rows: list[Row] = []
        for peak in PLAYED_PEAKS:
            values, errors = (
                column_of(table, stem.format(peak) + end) for end in ("", "_uncertainty")
            )
            for number, (case, value, error) in enumerate(zip(cases, values, errors, strict=True)):
                said = {"at": str(peak), "value": with_uncertainty(value, error, "cents")}
                rows += with_errors(number, case.label, peak, value, error, said)
        if rows:
            axes = (Axis("number of the peak"), Axis(label))
            words = Words({"at": "peak", "value": "cents"})
            described = f"{title}, in cents, of {len(cases)} bores."
            channels = bore_channels(study)
            panels.append(
                points_panel(title, described, len(cases), rows, axes, words, channels, level_at=0)
            )
    return panels
