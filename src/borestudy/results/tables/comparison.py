"""The result tables of a study: one row a case, or a case and flow rate, nothing left out."""

import math
from collections.abc import Iterator, Sequence

import pandas as pd

from borestudy.acoustics.result import Band, Resonance
from borestudy.intervals import cents
from borestudy.quantity import Quantity
from borestudy.records import columns
from borestudy.results.case import CaseResults, flow_rates
from borestudy.results.changes import NO_RESULT, peak_shift, resonance_change
from borestudy.results.dimensions import VOLUMES as OF_BORE
from borestudy.results.estimate import ESTIMATE, TO_THROAT_END, WHOLE
from borestudy.results.measured import ENDING, of_peak, of_volume
from borestudy.results.tables.files import Row, frame_of, pair
from borestudy.results.tables.flow import NOT_COMPUTED, change_columns, flow_row
from borestudy.results.tables.measured import measured_pair

NOT_CONVERGED = "did not converge"
NOT_MESHED = "not meshed"
#: Of an air column the peaks that players use (common practice); of a mouthpiece alone a few.
LAST_PLAYED_PEAK, FURTHER_PEAKS = 12, 3
RESONANCE_COLUMNS = (
    ("resonance_Hz", "frequency"),
    ("resonance_Q", "Q"),
    ("impedance_peak_Pa_s_per_m3", "impedance_peak"),
)
#: Columns of the flow's table that stand here as they are.
FLOW = (
    "flow_rate_L_per_s", "throat_reynolds", "pressure_drop_Pa", "pressure_drop_Pa_uncertainty",
    "flow_resistance_kPa_s_per_L", "flow_resistance_kPa_s_per_L_uncertainty",
)  # fmt: skip
#: The same of what the errors of measured stations make of them.
MEASURED = (f"pressure_drop_Pa{ENDING}", f"flow_resistance_kPa_s_per_L{ENDING}")
LOSS, SLOPE = "loss_coefficient", "differential_resistance_kPa_s_per_L"
VOLUMES = ("cup_volume_cm3", "backbore_volume_cm3", "throat_diameter_mm")
LENGTHS = ("throat_length_mm", "length_mm", "rim_diameter_mm", "end_diameter_mm")


def cases_table(cases: Sequence[CaseResults]) -> pd.DataFrame:
    """One row a case: what was varied, and the bore's dimensions."""
    return frame_of([case_row(case) for case in cases])


def case_row(case: CaseResults) -> Row:
    """A case's row: what was varied, and the bore's dimensions."""
    row: Row = {"case": case.name, **case.varied}
    if case.geometry is not None:
        known = {key: each for key, each in columns(case.geometry).items() if each is not None}
        row |= {key: each for key, each in known.items() if key not in row}
        for part, (start, end) in case.geometry.parts.items():
            row |= {f"{part}_start_mm": start, f"{part}_end_mm": end}
    if case.measurement is not None:
        row |= {f"{name}{ENDING}": of_volume(case, name) for name in OF_BORE}
    return row


def comparison_table(cases: Sequence[CaseResults], rate: int) -> pd.DataFrame:
    """One row a case: its figures, the flow's at the rate of an index, and how they change."""
    most = max((len(case.resonances) for case in cases), default=0)
    last = min(most, compared_peaks(any(case.has_air_column for case in cases)))
    rates = flow_rates(cases)
    flow_rate = rates[rate] if rate < len(rates) else math.nan
    return frame_of([comparison_row(case, cases[0], rate, flow_rate, last) for case in cases])


def compared_peaks(air_column: bool) -> int:
    """The highest peak that is compared, with an air column behind the shank or without."""
    return LAST_PLAYED_PEAK if air_column else FURTHER_PEAKS


def comparison_row(
    case: CaseResults, first: CaseResults, rate: int, flow_rate: float, last_peak: int
) -> Row:
    """A case's row, with the flow at the rate of an index, which is so many L/s."""
    row = {"case": case.name, **case.varied} | _dimensions(case, VOLUMES)
    row |= _peak_columns(case, case.resonances[0] if case.resonances else None)
    flow = flow_row(case, first, rate, flow_rate)
    row |= {name: flow.get(name) for name in FLOW}
    row |= {name: flow[name] for name in MEASURED if name in flow}
    row["regime"] = _state(case, rate)
    row |= change_columns("resonance", "cents", resonance_change(case, first))
    row |= _renamed_changes(flow, WHOLE, "flow_resistance")
    row |= _resistances(flow, flow_rate, "low_{}", "high_{}")
    row |= _resistances(flow, flow_rate, "model_error_low_{}", "model_error_high_{}")
    row |= {name: flow.get(name) for name in (LOSS, f"{LOSS}_uncertainty")}
    row |= _resistances(flow, flow_rate, "to_throat_end_{}", "to_throat_end_{}_uncertainty")
    row |= _renamed_changes(flow, TO_THROAT_END, "flow_resistance_to_throat_end")
    row |= {f"flow_{name}": flow.get(name) for name in (SLOPE, f"{SLOPE}_uncertainty")}
    if case.measurement is not None:
        row |= _resistances(flow, flow_rate, f"to_throat_end_{{}}{ENDING}")
        row[f"flow_{SLOPE}{ENDING}"] = flow.get(f"{SLOPE}{ENDING}")
    row |= _further_sound(case, first, range(2, last_peak + 1))
    return row | _dimensions(case, LENGTHS)


def _dimensions(case: CaseResults, names: Sequence[str]) -> Row:
    """Dimensions of the bore, but for what is varied, which is as the study says."""
    return {name: getattr(case.geometry, name, None) for name in names if name not in case.varied}


def _peak_columns(case: CaseResults, peak: Resonance | None) -> Row:
    found: Row = {}
    for column, name in RESONANCE_COLUMNS:
        found |= measured_pair(column, getattr(peak, name, None), case, of_peak(case, peak, name))
    return found


def _state(case: CaseResults, rate: int) -> str:
    """The regime word, or why there is no number."""
    row = case.rate(rate)
    if row is None:
        return NOT_COMPUTED
    if row.converged:
        return row.regime
    return NOT_MESHED if ESTIMATE in case.flow.not_meshed else NOT_CONVERGED


def _resistances(flow: Row, flow_rate: float, *ends: str) -> Row:
    """Pressure drops over the flow rate, by what follows in their columns' names."""
    found: Row = {}
    for end in ends:
        drop = flow.get(f"{WHOLE}_{end.format('Pa')}")
        resistance = 1e-3 / flow_rate * drop if isinstance(drop, float) else None
        found[f"flow_resistance_{end.format('kPa_s_per_L')}"] = resistance
    return found


def _renamed_changes(flow: Row, drop: str, name: str) -> Row:
    """Changes of a pressure drop, which are those of the flow resistance at the same rate."""
    begin = f"{drop}_change_"
    return {
        f"{name}_change_{key.removeprefix(begin)}": value
        for key, value in flow.items()
        if key.startswith(begin)
    }


def _further_sound(case: CaseResults, first: CaseResults, peaks: range) -> Row:
    found: Row = {}
    for stem, name in (("resonance_Q", "Q"), ("impedance_peak", "impedance_peak")):
        found |= change_columns(stem, "percent", resonance_change(case, first, 0, name))
    for number in peaks:
        found |= _peak(case, first, number)
    sound = case.acoustics
    if sound is None:
        return found | {"termination": NOT_COMPUTED, "validity": NOT_COMPUTED}
    found |= _band("pressure_transfer", sound.transfer) | _band("pressure_gain", sound.gain)
    if sound.resonances:
        found |= pair("equivalent_length_mm", sound.resonances[0].equivalent_length)
    found |= pair("peak_centroid_Hz", sound.peak_centroid)
    return found | {"termination": sound.termination or NOT_COMPUTED, "validity": sound.validity}


def _band(stem: str, band: Band | None) -> Row:
    """A band's figures; none where the range shows no peak, so that there is none to compare."""
    if band is None or band.peak_at_range_edge:
        return {}
    figures = columns(band)
    return {f"{stem}_{key}": figures[key] for key in figures if key != "peak_at_range_edge"}


def _peak(case: CaseResults, first: CaseResults, number: int) -> Row:
    """Peak ``number``, counted from 1 in the first case: frequency, intonation and change."""
    place = number - 1 + peak_shift(first, case)
    peak = case.resonances[place] if 0 <= place < len(case.resonances) else Resonance()
    frequency = peak.frequency
    effects = of_peak(case, peak, "frequency")
    found = measured_pair(f"peak_{number}_Hz", frequency, case, effects)
    if peak.cents_above_harmonic is not None and frequency is not None:
        error = frequency.uncertainty
        spread = None if error is None else float(cents(1 + error / frequency.value))
        above = Quantity(peak.cents_above_harmonic, spread)
        found |= pair(f"peak_{number}_above_harmonic_cents", above)
    change = resonance_change(case, first, number - 1)
    return found | change_columns(f"peak_{number}", "cents", change)


def peaks_table(cases: Sequence[CaseResults]) -> pd.DataFrame:
    """One row a case and resonance, with its change against the first case's same resonance."""
    return frame_of([row for case in cases for row in peak_rows(case, cases[0])])


def peak_rows(case: CaseResults, first: CaseResults) -> Iterator[Row]:
    """A case's rows, one a resonance, or one that says that there is none."""
    shift = peak_shift(first, case)
    if not case.resonances:
        yield {"case": case.name, "resonance_change_verdict": NO_RESULT}
    for place, peak in enumerate(case.resonances):
        row: Row = {"case": case.name, "peak": place - shift + 1}
        row |= _peak_columns(case, peak)
        row |= pair("equivalent_length_mm", peak.equivalent_length)
        keys = ("nearest_harmonic", "cents_above_harmonic")
        row |= {key: found for key in keys if (found := getattr(peak, key)) is not None}
        change = resonance_change(case, first, place - shift)
        yield row | change_columns("resonance", "cents", change)


def stream_table(cases: Sequence[CaseResults]) -> pd.DataFrame:
    """One row a case and flow rate: the first resonance on the stream against still air."""
    return frame_of([row for case in cases for row in stream_rows(case)])


def stream_rows(case: CaseResults) -> Iterator[Row]:
    """A case's rows, one a flow rate with a slope."""
    for one in case.streams:
        row = columns(one)
        del row["rate_index"]
        yield {"case": case.name, **row}
