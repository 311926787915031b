"""Column names and cells as a reader sees them: units spelled, numbers with their digits."""

import re
from typing import Any

from borestudy.quantity import PRINTED_UNITS, spelled
from borestudy.rounding import NO_VALUE, is_missing, significant

NOT_CONVERGED = "did not converge"
NOT_MESHED = "not meshed"

#: Ends of column names that are units.
UNITS = (
    *PRINTED_UNITS, "Pa_s_per_m3", "kPa_s_per_L", "L_per_s", "cm3_per_s", "m_per_s", "m2_per_s",
    "kg_per_m3", "Pa_s", "mm", "cm3", "in", "m", "Hz", "kHz", "Pa", "kPa", "MPa", "cents", "K",
    "dB", "MB", "s",
)  # fmt: skip

#: Column stems that read better with other words.
NAMES = {
    "case": "Bore",
    "resonance": "First resonance",
    "resonance_Q": "Q of the first resonance",
    "impedance_peak": "Impedance at the peak",
    "flow_rate": "Flow rate",
    "throat_reynolds": "Throat Reynolds number",
    "mach_number": "Mach number",
    "flow_resistance_to_throat_end": "Resistance to the throat’s end",
    "flow_differential_resistance": "Slope of the pressure drop",
    "strouhal": "Strouhal number",
    "series_resistance": "Resistance in the throat",
    "pressure_drop_to_throat_end": "Pressure drop to the throat’s end",
    "laminar_pressure_drop": "Wholly laminar",
    "turbulent_pressure_drop": "Wholly turbulent",
    "handbook_pressure_drop": "Handbooks",
    "backbore_pressure_drop": "Backbore",
    "turns_turbulent": "Turns turbulent",
    "model_words": "Outside the measurements",
    "kind": "Compared with",
    "estimate": "Computed, q",
    "measured": "Measured, q",
    "error": "Computed less measured, q",
    "within_uncertainty": "Agree within uncertainty",
    "threshold": "Mouth pressure to start",
    "sounding": "Sounding pitch",
    "sounding_above_peak": "Above its peak",
    "lips_frequency": "Resonance of the lips",
    "cup_pressure": "Sound in the cup",
    "cup_centroid": "Centroid in the cup",
    "shank_centroid": "Centroid behind the shank",
    "starts_at": "Starts, pressure rising",
    "ends_at": "Ends, pressure falling",
    "wall": "The air",
    "separation": "Leaves the wall at",
    "reattachment": "Is back at",
}


def split_unit(column: str) -> tuple[str, str]:
    """Split a column name into its stem and the unit its suffix names, '' if it names none."""
    for suffix in sorted(UNITS, key=len, reverse=True):
        if column.endswith("_" + suffix):
            return column[: -len(suffix) - 1], spelled(suffix)
    return column, ""


def name_of(column: str) -> str:
    """Write a column's name without its unit in words: 'cup_volume_cm3' becomes 'Cup volume'.

    Changes and verdicts are named alike in every table; of what, a table's caption says, or the
    heading above them where there are changes of two quantities (`quantity_of`).
    """
    stem, _ = split_unit(column)
    if stem in NAMES:
        return NAMES[stem]
    if stem.endswith("_verdict"):
        return "Result"
    if stem.endswith("_change_alike"):
        return "Lips alike"
    if peak := re.fullmatch(r"peak_(\d+)_change", stem):
        return f"Peak {peak.group(1)}"
    if stem.endswith("_change"):
        return "Change"
    words = stem.replace("_", " ").replace(".", " ").strip()
    return words[:1].upper() + words[1:]


def quantity_of(column: str) -> str:
    """What a column of changes or verdicts is about, in words; '' for any other column."""
    stem = re.match(r"(.+?)_change(?:_|$)", column)
    if not stem or re.fullmatch(r"peak_\d+", stem.group(1)):
        return ""
    return name_of(stem.group(1))


def label_of(column: str) -> str:
    """Write a column's name with its unit: 'cup_volume_cm3' becomes 'Cup volume, cm³'."""
    unit = split_unit(column)[1]
    return f"{name_of(column)}, {unit}" if unit else name_of(column)


def plain(value: Any, digits: int = 4) -> str:
    """Write any cell: numbers with `digits` significant digits, truth as yes/no, text as it is."""
    if is_missing(value):
        return NO_VALUE
    if isinstance(value, str):
        return value
    if str(value) in ("True", "False"):  # numpy's bool is not a bool
        return "yes" if value else "no"
    if isinstance(value, (list, tuple)):
        return ", ".join(plain(item, digits) for item in value)
    try:
        return significant(float(value), digits)
    except (TypeError, ValueError):
        return str(value)
