"""Charts of the sound: input impedance, what belongs to the mouthpiece, and each peak's pitch."""

import numpy as np
import pandas as pd

from borestudy.report.figures.case import PicturedStudy
from borestudy.report.figures.impedance import found_peaks
from borestudy.report.figures.positions import column_of
from borestudy.report.interactive.lines import Curve, bore_channels, charted, curves_panel
from borestudy.report.interactive.panels import Axis, Panel, Row, Words
from borestudy.report.interactive.points import points_panel, with_errors
from borestudy.report.sentences.words import PLAYED_PEAKS
from borestudy.rounding import significant, with_uncertainty

MEGA = 1e-6
REAL, IMAGINARY = "impedance_real_Pa_s_per_m3", "impedance_imag_Pa_s_per_m3"
FREQUENCY = Axis("frequency, Hz")
#: The mouthpiece's own curves: field of `Curves`, title of the panel, label and unit.
OWN = (
    ("equivalent_length_mm", "Length of the shank’s bore that it is worth", "length, mm", "mm"),
    ("pressure_gain", "Pressure passed on for a given flow at the rim", "gain", ""),
    ("pressure_transfer", "Pressure passed on for a given pressure at the rim", "transfer", ""),
)


def impedance_panels(study: PicturedStudy) -> list[Panel]:
    """Magnitude by frequency, and below it the change against the first bore.

    The change's “±” takes the two bores' uncertainties as independent, which is more than theirs
    where what is common to both cancels.
    """
    tables = {case.name: _magnitudes(study.impedance, case.name) for case in charted(study)}
    cases = [(number, case) for number, case in enumerate(charted(study)) if len(tables[case.name])]
    if not cases:
        return []
    whole = []
    for number, case in cases:
        table = tables[case.name]
        x, y = table["frequency_Hz"].to_numpy(float), table["size"].to_numpy(float)
        peaks = [int(np.argmin(np.abs(x - at))) for at, _ in found_peaks(case)]
        whole.append(Curve(number, case.label, x, y, _sayer(table), peaks))
    words = Words({"at": "frequency", "value": "impedance", "phase": "phase"})
    panels = [
        curves_panel(
            study,
            "Input impedance",
            f"Input impedance against frequency, logarithmic, of {len(cases)} bores.",
            whole,
            (FREQUENCY, Axis("impedance, MPa·s/m³", is_log=True)),
            words,
        )
    ]
    first = tables[charted(study)[0].name]
    changes = [
        _change(number, case.label, tables[case.name], first) for number, case in cases if number
    ]
    if changes and len(first):
        panels.append(
            curves_panel(
                study,
                "Change of the impedance against the first bore",
                f"Change of the impedance of {len(changes)} bores in per cent, by frequency.",
                changes,
                (FREQUENCY, Axis("change, %")),
                Words({"at": "frequency", "value": "change"}),
                levels=(0.0,),
            )
        )
    return panels


def _magnitudes(table: pd.DataFrame, name: str) -> pd.DataFrame:
    """Magnitude [MPa·s/m³] with its uncertainty, and phase [°], of one case by frequency."""
    rows = table[(table["case"] == name) & table[REAL].notna()]
    real, imaginary = (column_of(rows, part) for part in (REAL, IMAGINARY))
    size = np.hypot(real, imaginary)
    errors = [column_of(rows, f"{part}_uncertainty") for part in (REAL, IMAGINARY)]
    with np.errstate(divide="ignore", invalid="ignore"):
        error = np.hypot(real * errors[0], imaginary * errors[1]) / size
    return pd.DataFrame(
        {
            "frequency_Hz": column_of(rows, "frequency_Hz"),
            "size": MEGA * size,
            "error": MEGA * error,
            "phase": np.degrees(np.arctan2(imaginary, real)),
        }
    )


def _sayer(table: pd.DataFrame):  # type: ignore[no-untyped-def]
    """What is said of the magnitude at each row of its table."""
    rows = table.to_dict("records")

    def say(index: int) -> dict[str, str]:
        row = rows[index]
        return {
            "at": f"{significant(row['frequency_Hz'], 5)} Hz",
            "value": with_uncertainty(row["size"], row["error"], "MPa·s/m³"),
            "phase": f"{row['phase']:.0f}°".replace("-", "−"),
        }

    return say


def _change(number: int, label: str, table: pd.DataFrame, first: pd.DataFrame) -> Curve:
    """Change of a magnitude against the first bore's at the same frequencies, in per cent."""
    both = table.merge(first, on="frequency_Hz", suffixes=("", "_first"))
    ratio = both["size"] / both["size_first"]
    change = (100 * (ratio - 1)).to_numpy(float)
    parts = (both["error"] / both["size"], both["error_first"] / both["size_first"])
    error = (100 * ratio * np.hypot(*parts)).to_numpy(float)
    x = both["frequency_Hz"].to_numpy(float)

    def say(index: int) -> dict[str, str]:
        return {
            "at": f"{significant(x[index], 5)} Hz",
            "value": with_uncertainty(change[index], error[index], "%"),
        }

    return Curve(number, label, x, change, say)


def mouthpiece_panels(study: PicturedStudy) -> list[Panel]:
    """Equivalent length, gain and transfer against frequency, a panel each."""
    panels = []
    for name, title, label, unit in OWN:
        curves = []
        for number, case in enumerate(charted(study)):
            acoustics = case.results.acoustics
            if acoustics is None or acoustics.curves is None:
                continue
            x, y, error = (
                np.array(getattr(acoustics.curves, one), float)
                for one in ("frequency_Hz", name, f"{name}_uncertainty")
            )
            if y.size:
                known = error if error.size == y.size else np.full(y.size, np.nan)
                curves.append(Curve(number, case.label, x, y, _own_words(x, y, known, unit)))
        if curves:
            axes = (Axis("frequency, Hz", is_log=True), Axis(label, from_zero=True))
            described = f"{title}, against frequency, of {len(curves)} bores."
            words = Words({"at": "frequency", "value": label.split(",")[0]})
            panels.append(curves_panel(study, title, described, curves, axes, words))
    return panels


def _own_words(x: np.ndarray, y: np.ndarray, error: np.ndarray, unit: str):  # type: ignore[no-untyped-def]
    def say(index: int) -> dict[str, str]:
        return {
            "at": f"{significant(x[index], 4)} Hz",
            "value": with_uncertainty(y[index], error[index], unit),
        }

    return say


def peaks_panels(study: PicturedStudy) -> list[Panel]:
    """Each played peak's cents against the first bore's, and against its harmonic."""
    comparison, cases = study.comparison, charted(study)
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
