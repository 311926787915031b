"""The result tables of a study: one row a case, or a case and flow rate, nothing left out."""

from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd

from borestudy.intervals import cents
from borestudy.results.case import CaseResults
from borestudy.results.changes import NO_RESULT, peak_shift, resonance_change
from borestudy.results.merged_flow import REFUSED, solution_row
from borestudy.results.span_changes import TO_THROAT_END, span_change
from borestudy.results.tables.files import frame_of, pair
from borestudy.results.tables.flow import NOT_COMPUTED, change_columns, span_columns

NO_TURBULENT = "no turbulent solution: too slow"
NOT_CONVERGED = "did not converge"
NOT_MESHED = "not meshed"
#: Of an air column the peaks that players use (common practice); of a mouthpiece alone a few.
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
            if value is not None and not isinstance(value, Mapping | list):
                row.setdefault(name, value)
        for part, ends in case.geometry.get("parts", {}).items():
            row[f"{part}_start_mm"], row[f"{part}_end_mm"] = ends
        rows.append(row)
    return frame_of(rows)


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


def _state(case: CaseResults, rate: float) -> str:
    """The regime word, or why there is no number."""
    row = case.rate(rate)
    if not row:
        return NOT_COMPUTED
    if case.converged(rate):
        return str(row["regime"])
    if case.flow.get("not_meshed"):
        return NOT_MESHED
    return NO_TURBULENT if row.get("span_note") == REFUSED else NOT_CONVERGED


def _flow(case: CaseResults, rate: float) -> dict[str, Any]:
    row = solution_row(case.rate(rate))
    return {
        "flow_rate_L_per_s": rate,
        "throat_reynolds": case.rate(rate).get("throat_reynolds"),
        **pair("pressure_drop_Pa", row, "pressure_drop_Pa"),
        **pair("flow_resistance_kPa_s_per_L", row, "pressure_drop_Pa", 1e-3 / rate),
        "regime": _state(case, rate),
        "solution": case.rate(rate).get("solution") or "",
    }


def _changes(case: CaseResults, first: CaseResults, rate: float) -> dict[str, Any]:
    return {
        **change_columns("resonance", "cents", resonance_change(case, first)),
        **span_columns("flow_resistance", span_change(case, first, rate)),
    }


def _further_flow(case: CaseResults, first: CaseResults, rate: float) -> dict[str, Any]:
    row = solution_row(case.rate(rate))
    columns: dict[str, Any] = {}
    for end in ("low", "high"):
        drop = row.get(f"pressure_drop_{end}_Pa")
        columns[f"flow_resistance_{end}_kPa_s_per_L"] = None if drop is None else 1e-3 * drop / rate
    columns |= pair("loss_coefficient", row, "loss_coefficient")
    columns |= pair("flow_resistance_to_throat_end_kPa_s_per_L", row, f"{TO_THROAT_END}_Pa",
                     1e-3 / rate)  # fmt: skip
    to_throat = span_change(case, first, rate, TO_THROAT_END)
    columns |= span_columns("flow_resistance_to_throat_end", to_throat)
    key = "differential_resistance_kPa_s_per_L"
    return columns | pair(f"flow_{key}", row, key)


def _further_sound(case: CaseResults, first: CaseResults, peaks: range) -> dict[str, Any]:
    columns: dict[str, Any] = {}
    for stem, key in (("resonance_Q", "Q"), ("impedance_peak", "impedance_peak_Pa_s_per_m3")):
        columns |= change_columns(stem, "percent", resonance_change(case, first, 0, key))
    for number in peaks:
        columns |= _peak(case, first, number)
    for group in GAINS:
        figures = case.acoustics.get(group) or {}
        if figures.get("peak_at_range_edge"):
            continue  # the range shows no peak, so there is nothing to be compared
        for name in figures:
            if name not in ("peak_at_range_edge", "levels") and not name.endswith("_uncertainty"):
                columns |= pair(f"pressure_{group}_{name}", figures, name)
    if case.resonances:
        columns |= pair("equivalent_length_mm", case.resonances[0], "equivalent_length_mm")
    columns |= pair("peak_centroid_Hz", case.acoustics, "peak_centroid_Hz")
    columns["termination"] = case.acoustics.get("termination", NOT_COMPUTED)
    columns["validity"] = case.acoustics.get("validity", NOT_COMPUTED)
    return columns


def _peak(case: CaseResults, first: CaseResults, number: int) -> dict[str, Any]:
    """Peak ``number``, counted from 1 in the first case: frequency, intonation and change."""
    place = number - 1 + peak_shift(first, case)
    known = 0 <= place < len(case.resonances)
    peak = case.resonances[place] if known else {}
    columns = pair(f"peak_{number}_Hz", peak, "frequency_Hz")
    if peak.get("cents_above_harmonic") is not None:
        error = peak.get("frequency_Hz_uncertainty")
        stem = f"peak_{number}_above_harmonic_cents"
        columns[stem] = peak["cents_above_harmonic"]
        columns[f"{stem}_uncertainty"] = (
            None if error is None else float(cents(1 + error / peak["frequency_Hz"]))
        )
    change = resonance_change(case, first, number - 1)
    return columns | change_columns(f"peak_{number}", "cents", change)


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
                row |= pair(column, peak, key)
            row |= pair("equivalent_length_mm", peak, "equivalent_length_mm")
            for key in ("nearest_harmonic", "cents_above_harmonic"):
                if peak.get(key) is not None:
                    row[key] = peak[key]
            change = resonance_change(case, cases[0], place - shift)
            rows.append(row | change_columns("resonance", "cents", change))
    return frame_of(rows)


def stream_table(cases: Sequence[CaseResults]) -> pd.DataFrame:
    """One row a case and flow rate: the first resonance on the stream against still air."""
    rows = [{"case": case.name, **row} for case in cases for row in case.stream.get("rates", [])]
    return frame_of(rows)
