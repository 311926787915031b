"""The result tables of a study: one row a case, or a case and flow rate, nothing left out."""

from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd

from borestudy.compare.changes import (
    CENTS,
    NO_RESULT,
    TO_THROAT_END,
    Change,
    SpanChange,
    peak_shift,
    resonance_change,
    span_change,
)
from borestudy.compare.results import CaseResults
from borestudy.compare.table_files import frame_of

NOT_COMPUTED = "not computed"
NOT_CONVERGED = "did not converge"
#: Of an air column the peaks that players use; of a mouthpiece alone a few.
LAST_PLAYED_PEAK, FURTHER_PEAKS = 12, 3
RESONANCE_COLUMNS = (
    ("resonance_Hz", "frequency_Hz"),
    ("resonance_Q", "Q"),
    ("impedance_peak_Pa_s_per_m3", "impedance_peak_Pa_s_per_m3"),
)
GAINS = ("transfer", "gain")


def cases_table(cases: Sequence[CaseResults]) -> pd.DataFrame:
    """One row a case: what was varied, and the bore's dimensions."""
    rows = []
    for case in cases:
        row: dict[str, Any] = {"case": case.name, **case.varied}
        for name, value in case.geometry.items():
            if not isinstance(value, Mapping | list):
                row.setdefault(name, value)
        for part, ends in case.geometry.get("parts", {}).items():
            row[f"{part}_start_mm"], row[f"{part}_end_mm"] = ends
        rows.append(row)
    return frame_of(rows)


def varied_columns(cases: Sequence[CaseResults]) -> list[str]:
    """The column of each varied dimension that figures and sentences use, one a dimension.

    A throat entry has its words and its radius: the radius where every case has one.
    """
    columns = [name for name in cases[0].varied if name != "entry_radius_mm"] if cases else []
    if "entry" in columns and all(case.varied.get("entry_radius_mm") is not None for case in cases):
        columns[columns.index("entry")] = "entry_radius_mm"
    return columns


def comparison_table(cases: Sequence[CaseResults], reference_rate: float) -> pd.DataFrame:
    """One row a case: its figures, and their change against the first case.

    Parameters
    ----------
    cases : sequence of CaseResults
        The first is the one the others are compared with.
    reference_rate : float
        The flow rate that the flow's figures belong to [L/s].
    """
    rows = []
    most = max((len(case.resonances) for case in cases), default=0)
    wanted = LAST_PLAYED_PEAK if any(case.has_air_column for case in cases) else FURTHER_PEAKS
    peaks = range(2, min(most, wanted) + 1)
    for case in cases:
        row: dict[str, Any] = {"case": case.name, **case.varied}
        for name in ("cup_volume_cm3", "backbore_volume_cm3", "throat_diameter_mm"):
            row.setdefault(name, case.geometry.get(name))
        row |= _resonance(case) | _flow(case, reference_rate)
        row |= _changes(case, cases[0], reference_rate)
        row |= _further_flow(case, cases[0], reference_rate) | _further_sound(case, cases[0], peaks)
        for name in ("throat_length_mm", "length_mm", "rim_diameter_mm", "end_diameter_mm"):
            row.setdefault(name, case.geometry.get(name))
        rows.append(row)
    return frame_of(rows)


def _resonance(case: CaseResults) -> dict[str, Any]:
    peak = case.resonances[0] if case.resonances else {}
    row: dict[str, Any] = {}
    for column, key in RESONANCE_COLUMNS:
        row[column] = peak.get(key)
        row[f"{column}_uncertainty"] = peak.get(f"{key}_uncertainty")
    return row


def _pair(column: str, source: Mapping[str, Any], key: str, factor: float = 1.0) -> dict[str, Any]:
    """A figure and its uncertainty as two columns, empty where there is none."""
    names = ((column, key), (f"{column}_uncertainty", f"{key}_uncertainty"))
    return {
        name: None if source.get(entry) is None else factor * source[entry] for name, entry in names
    }


def _solved(case: CaseResults, rate: float) -> Mapping[str, Any]:
    """The row of a flow rate, without numbers that an unconverged solve may have left."""
    return case.rate(rate) if case.converged(rate) else {}


def _state(case: CaseResults, rate: float) -> str:
    """The regime word, or why there is no number."""
    if not case.rate(rate):
        return NOT_COMPUTED
    return case.rate(rate)["regime"] if case.converged(rate) else NOT_CONVERGED


def _flow(case: CaseResults, rate: float) -> dict[str, Any]:
    row = _solved(case, rate)
    return {
        "flow_rate_L_per_s": rate,
        "throat_reynolds": case.rate(rate).get("throat_reynolds"),
        **_pair("pressure_drop_Pa", row, "pressure_drop_Pa"),
        **_pair("flow_resistance_kPa_s_per_L", row, "pressure_drop_Pa", 1e-3 / rate),
        "regime": _state(case, rate),
    }


def _change_columns(stem: str, unit: str, change: Change) -> dict[str, Any]:
    return {
        f"{stem}_change_{unit}": change.value,
        f"{stem}_change_{unit}_uncertainty": change.uncertainty,
        f"{stem}_change_verdict": change.verdict,
    }


def _span_columns(stem: str, change: SpanChange) -> dict[str, Any]:
    """The computed change, the word that holds at both ends of the span, and both ends' change."""
    columns = _change_columns(stem, "percent", change.computed)
    columns[f"{stem}_change_verdict"] = change.verdict
    columns[f"{stem}_change_low_percent"] = change.low.value
    columns[f"{stem}_change_high_percent"] = change.high.value
    return columns


def _changes(case: CaseResults, first: CaseResults, rate: float) -> dict[str, Any]:
    return {
        **_change_columns("resonance", "cents", resonance_change(case, first)),
        **_span_columns("flow_resistance", span_change(case, first, rate)),
    }


def _further_flow(case: CaseResults, first: CaseResults, rate: float) -> dict[str, Any]:
    row = _solved(case, rate)
    columns: dict[str, Any] = {}
    for end in ("low", "high"):
        drop = row.get(f"pressure_drop_{end}_Pa")
        columns[f"flow_resistance_{end}_kPa_s_per_L"] = None if drop is None else 1e-3 * drop / rate
    columns |= _pair("loss_coefficient", row, "loss_coefficient")
    columns |= _pair("flow_resistance_to_throat_end_kPa_s_per_L", row, f"{TO_THROAT_END}_Pa",
                     1e-3 / rate)  # fmt: skip
    to_throat = span_change(case, first, rate, TO_THROAT_END)
    columns |= _span_columns("flow_resistance_to_throat_end", to_throat)
    key = "differential_resistance_kPa_s_per_L"
    return columns | _pair(f"flow_{key}", row, key)


def _further_sound(case: CaseResults, first: CaseResults, peaks: range) -> dict[str, Any]:
    columns: dict[str, Any] = {}
    for stem, key in (("resonance_Q", "Q"), ("impedance_peak", "impedance_peak_Pa_s_per_m3")):
        columns |= _change_columns(stem, "percent", resonance_change(case, first, 0, key))
    for number in peaks:
        columns |= _peak(case, first, number)
    for group in GAINS:
        figures = case.acoustics.get(group, {})
        if figures.get("peak_at_range_edge"):
            continue  # the range shows no peak, so there is nothing to be compared
        for name in figures:
            if name != "peak_at_range_edge" and not name.endswith("_uncertainty"):
                columns |= _pair(f"pressure_{group}_{name}", figures, name)
    if case.resonances:
        columns |= _pair("equivalent_length_mm", case.resonances[0], "equivalent_length_mm")
    columns |= _pair("peak_centroid_Hz", case.acoustics, "peak_centroid_Hz")
    columns["termination"] = case.acoustics.get("termination", NOT_COMPUTED)
    columns["validity"] = case.acoustics.get("validity", NOT_COMPUTED)
    return columns


def _peak(case: CaseResults, first: CaseResults, number: int) -> dict[str, Any]:
    """Peak ``number``, counted from 1 in the first case: frequency, intonation and change."""
    place = number - 1 + peak_shift(first, case)
    known = 0 <= place < len(case.resonances)
    peak = case.resonances[place] if known else {}
    columns = _pair(f"peak_{number}_Hz", peak, "frequency_Hz")
    if "cents_above_harmonic" in peak:
        error = peak.get("frequency_Hz_uncertainty")
        stem = f"peak_{number}_above_harmonic_cents"
        columns[stem] = peak["cents_above_harmonic"]
        columns[f"{stem}_uncertainty"] = (
            None if error is None else CENTS * error / peak["frequency_Hz"]
        )
    change = resonance_change(case, first, number - 1)
    return columns | _change_columns(f"peak_{number}", "cents", change)


def peaks_table(cases: Sequence[CaseResults]) -> pd.DataFrame:
    """One row a case and resonance, with its change against the first case's same resonance."""
    rows = []
    for case in cases:
        shift = peak_shift(cases[0], case)
        if not case.resonances:
            rows.append({"case": case.name, "resonance_change_verdict": NO_RESULT})
        for place, peak in enumerate(case.resonances):
            row: dict[str, Any] = {"case": case.name, "peak": place - shift + 1}
            for column, key in RESONANCE_COLUMNS:
                row |= _pair(column, peak, key)
            row |= _pair("equivalent_length_mm", peak, "equivalent_length_mm")
            for key in ("nearest_harmonic", "cents_above_harmonic"):
                if key in peak:
                    row[key] = peak[key]
            change = resonance_change(case, cases[0], place - shift)
            rows.append(row | _change_columns("resonance", "cents", change))
    return frame_of(rows)


def flow_table(cases: Sequence[CaseResults]) -> pd.DataFrame:
    """One row a case and flow rate, converged or not."""
    rates = sorted({rate for case in cases for rate in case.rates})
    return frame_of([_flow_row(case, cases[0], rate) for case in cases for rate in rates])


def _flow_row(case: CaseResults, first: CaseResults, rate: float) -> dict[str, Any]:
    row, all_of_it = _solved(case, rate), case.rate(rate)
    columns: dict[str, Any] = {
        "case": case.name,
        "flow_rate_L_per_s": rate,
        "throat_reynolds": all_of_it.get("throat_reynolds"),
        **_pair("pressure_drop_Pa", row, "pressure_drop_Pa"),
        "loss_coefficient": row.get("loss_coefficient"),
        "regime": all_of_it.get("regime", NOT_COMPUTED),
        "pressure_drop_low_Pa": row.get("pressure_drop_low_Pa"),
        "pressure_drop_high_Pa": row.get("pressure_drop_high_Pa"),
        "converged": case.converged(rate),
        "tolerance_reached": all_of_it.get("tolerance_reached"),
        "loss_coefficient_uncertainty": row.get("loss_coefficient_uncertainty"),
        **_pair("flow_resistance_kPa_s_per_L", row, "pressure_drop_Pa", 1e-3 / rate),
    }
    columns |= _span_columns("pressure_drop", span_change(case, first, rate))
    for stem in (TO_THROAT_END, "backbore_pressure_drop"):
        columns |= _pair(f"{stem}_Pa", row, f"{stem}_Pa")
        for end in ("low", "high"):
            columns[f"{stem}_{end}_Pa"] = row.get(f"{stem}_{end}_Pa")
    columns |= _span_columns(TO_THROAT_END, span_change(case, first, rate, TO_THROAT_END))
    for key in ("discharge_coefficient", "differential_resistance_kPa_s_per_L"):
        columns |= _pair(key, row, key)
    for end in ("low", "high"):
        columns[f"handbook_pressure_drop_{end}_Pa"] = row.get("handbook", {}).get(
            f"pressure_drop_{end}_Pa"
        )
    # these describe the solve itself, or follow from the study alone: nothing to be uncertain of
    for key in ("throat_velocity_m_per_s", "dynamic_pressure_Pa", "mach_number"):
        columns[key] = all_of_it.get(key)
    for key in ("mass_balance", "section_mass_flux", "energy_balance", "residual"):
        columns[key] = row.get(key)
    columns["last_converged_flow_rate_L_per_s"] = all_of_it.get("last_converged_flow_rate_L_per_s")
    return columns


def stream_table(cases: Sequence[CaseResults]) -> pd.DataFrame:
    """One row a case and flow rate: the first resonance on the stream against still air."""
    rows = [{"case": case.name, **row} for case in cases for row in case.stream.get("rates", [])]
    return frame_of(rows)
