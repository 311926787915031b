"""Two invented bores of whose figures no two are alike, for what a table does with each.

Pressure drops are sums of two powers of the flow rate, so that slope, resistance, discharge
coefficient, loss and kinetic energy follow in closed form.
"""

from dataclasses import replace
from itertools import count
from typing import Any

import numpy as np

from borestudy.acoustics.result import AcousticResult
from borestudy.bore import BoreDescription
from borestudy.closed_form.handbook import Span
from borestudy.records import from_plain
from borestudy.results.case import CaseResults
from borestudy.results.dimensions import DimensionValue
from borestudy.results.estimate import DROPS, WHOLE
from borestudy.results.stream import StreamResult

from .conftest import PASSAGE, flow_of

SOFT, LOUD = 0.05, 0.3  # L/s
DENSITY, VISCOSITY, SPEED = 1.18, 1.56e-5, 346.0
RIM, THROAT, END = 16.2e-3, 3.66e-3, 9.0e-3  # m
#: Factor and exponent of the drop to the throat's end and of the backbore's [Pa at 1 L/s].
LAWS = {
    ("first", "estimate"): (7200.0, 1.91, -3300.0, 1.83),
    ("other", "estimate"): (6700.0, 1.90, -3100.0, 1.84),
    ("first", "laminar"): (7100.0, 1.93, -2900.0, 1.81),
    ("first", "turbulent"): (7300.0, 1.89, -4100.0, 1.77),
    ("other", "laminar"): (6500.0, 1.92, -2500.0, 1.83),
    ("other", "turbulent"): (6900.0, 1.87, -4300.0, 1.79),
}
LOSSY = {"estimate": 0.85, "laminar": 0.86, "turbulent": 0.83}
PASSAGES = {
    "first": PASSAGE,
    "other": replace(PASSAGE, throat_end=4.3, run_in=0.2, end_area=5.9, cone_angle=4.3),
}
BOOKS = {"first": {"low": 0.71, "high": 1.61}, "other": {"low": 0.73, "high": 1.59}}
PARTS = {"cup": 0.11, "entry": 0.23, "throat": 0.37, "backbore": 0.29}
RESONANCES = {
    "first": [(823.0, 5.9, 2.31e7), (1710.0, 3.7, 1.17e7)],
    "other": [(801.0, 6.3, 2.53e7), (1766.0, 3.9, 1.07e7)],
}
GEOMETRY = {
    "first": dict(length_mm=88.0, rim_diameter_mm=16.2, throat_diameter_mm=3.66,
                  throat_length_mm=5.1, end_diameter_mm=9.0, cup_volume_cm3=1.137,
                  throat_volume_cm3=0.0537, backbore_volume_cm3=2.531),
    "other": dict(length_mm=87.0, rim_diameter_mm=16.1, throat_diameter_mm=3.76,
                  throat_length_mm=4.9, end_diameter_mm=9.1, cup_volume_cm3=1.239,
                  throat_volume_cm3=0.0544, backbore_volume_cm3=2.617),
}  # fmt: skip
STREAM = {
    name: {
        "flow_rate_L_per_s": SOFT, "throat_reynolds": 1113.0, "regime": "laminar",
        "strouhal": 0.62, "validity": "not quasi-steady",
    }
    | {
        f"{figure}{place}_{unit}{error}": cents * factor * (1 + 0.1 * number)
        for figure, unit, factor in (
            ("series_resistance", "kPa_s_per_L", -1.0), ("resonance_change", "cents", 1.0),
            ("resonance_Q_change", "percent", 3.0), ("impedance_peak_change", "percent", 2.0),
        )
        for number, (place, error) in enumerate(
            (("", ""), ("", "_uncertainty"), ("_low", ""), ("_high", ""))
        )
    }
    for name, cents in (("first", -1.1), ("other", -1.3))
}  # fmt: skip
#: Key, words, unit, value and place of each bore's dimensions.
DIMENSIONS = {
    "first": [("throat.diameter", "throat diameter", "mm", 3.66, None),
              ("station 2", "radius at 7 mm", "mm", 2.13, 7.1),
              ("cup.shape", "cup shape", "", 0.6, None)],
    "other": [("throat.diameter", "throat diameter", "mm", 3.76, None),
              ("station 2", "radius at 7 mm", "mm", 2.19, 7.3),
              ("cup.shape", "cup shape", "", 0.7, None)],
}  # fmt: skip
#: What each bore, dimension, rate and figure multiply a relative derivative by, and its error.
PER_CASE = {"first": 1.0, "other": 1.013}
PER_DIMENSION = {"throat.diameter": -1.0, "station 2": 1.7, "cup.shape": 0.43}
PER_RATE = {SOFT: 1.0, LOUD: 1.19}
PER_FIGURE = {
    "frequency": 11.0, "Q": 13.0, "impedance_peak": 17.0, "pressure_drop": 19.0,
    "pressure_drop_to_throat_end": 23.0, "backbore_pressure_drop": 29.0,
    "differential_resistance": 31.0, "cup_volume_cm3": 37.0, "throat_volume_cm3": 41.0,
    "backbore_volume_cm3": 43.0,
}  # fmt: skip
SLOPE_ERROR = 0.0107
ENDS = {"cup": (0.0, 9.9), "entry": (9.9, 10.4), "throat": (10.4, 15.5), "backbore": (15.5, 88.0)}


def drops(case: str, solution: str, rate: float) -> tuple[float, float]:
    """Up to the throat's end and after it [Pa]."""
    front, power, back, other = LAWS[case, solution]
    return front * rate**power, back * rate**other


def scales(rate: float) -> dict[str, float]:
    velocity = 1e-3 * rate / (np.pi / 4 * THROAT**2)
    return {
        "throat_reynolds": velocity * THROAT / VISCOSITY,
        "throat_velocity_m_per_s": velocity,
        "dynamic_pressure_Pa": 0.5 * DENSITY * velocity**2,
        "mach_number": velocity / SPEED,
    }


def figures(case: str, solution: str, rate: float) -> dict[str, float]:
    """What one solution computes at a rate, from its two laws."""
    front, back = drops(case, solution, rate)
    _, power, _, other = LAWS[case, solution]
    dynamic = scales(rate)["dynamic_pressure_Pa"]
    return {
        "pressure_drop_Pa": front + back,
        "pressure_drop_to_throat_end_Pa": front,
        "backbore_pressure_drop_Pa": back,
        "differential_resistance_kPa_s_per_L": 1e-3 * (power * front + other * back) / rate,
        "loss_coefficient": LOSSY[solution] * (front + back) / dynamic,
        "discharge_coefficient": np.sqrt((1 - (THROAT / RIM) ** 4) * dynamic / front),
    }


def relative_slope(case: str, dimension: str, figure: str, rate: float = SOFT) -> float:
    """Derivative of a figure, in cents of a frequency, else in percent; above 0 it grows."""
    return PER_CASE[case] * PER_DIMENSION[dimension] * PER_FIGURE[figure] * PER_RATE[rate]


def slopes(
    case: str, values: dict[str, float], units: dict[str, str], rate: float = SOFT
) -> dict[str, Any]:
    """A record's derivatives in a file: of each figure, with the unit in its key."""
    found: dict[str, Any] = {}
    for key, *_ in DIMENSIONS[case]:
        found[key] = {}
        for figure, value in values.items():
            share = 1.0 if figure == "frequency" else 1e-2 * abs(value)
            slope = share * relative_slope(case, key, figure, rate)
            name = f"{figure}_{units[figure]}" if units[figure] else figure
            found[key][name] = slope
            found[key][f"{name}_uncertainty"] = SLOPE_ERROR * abs(slope)
    return found


def dimensions(case: str) -> list[DimensionValue]:
    """A bore's dimensions, with the derivatives of its volumes."""
    names = ("cup_volume_cm3", "throat_volume_cm3", "backbore_volume_cm3")
    return [
        DimensionValue(
            key=key, label=label, unit=unit, value=value, position_mm=place,
            volumes={
                name: 1e-2 * GEOMETRY[case][name] * relative_slope(case, key, name)
                for name in names
            },
        )
        for key, label, unit, value, place in DIMENSIONS[case]
    ]  # fmt: skip


def row(case: str, solution: str, rate: float, errors: "count[int]") -> dict[str, Any]:
    """A rate's entry in the file of a solution."""
    found = figures(case, solution, rate)
    entry: dict[str, Any] = {"flow_rate_L_per_s": rate, "converged": True, **scales(rate)}
    for key, value in found.items():
        entry[key] = value
        entry[f"{key}_uncertainty"] = 1e-5 * next(errors) * abs(value)
        step = 1e-6 * next(errors)
        entry.setdefault("levels", {})[key] = [value * (1 + step), value]
    for key in ("residual", "mass_balance", "section_mass_flux"):
        entry[key] = 1e-12 * next(errors)
    if solution != "estimate":
        return entry
    units = {
        **dict.fromkeys(DROPS, "Pa"), "differential_resistance": "kPa_s_per_L",
    }  # fmt: skip
    values = {figure: found[f"{figure}_{unit}"] for figure, unit in units.items()}
    entry["by_dimension"] = slopes(case, values, units, rate)
    loss = LOSSY[solution] * found["pressure_drop_Pa"]
    shares = {part: share * loss / 1.0031 for part, share in PARTS.items()}
    budget = {"loss_Pa": loss, "kinetic_energy_rise_Pa": found["pressure_drop_Pa"] - loss}
    budget |= {f"{key}_uncertainty": 1e-5 * next(errors) * value for key, value in budget.items()}
    whole = found["pressure_drop_Pa"]
    return entry | {
        "energy_balance": 0.0031,
        "y_plus": 1.37,
        "wall_resolution": "resolved",
        "transition_position_mm": None if rate == SOFT else 23.1,
        "pressure_drop_by_transition_Pa": None if rate == SOFT else 0.04 * whole,
        "tolerance_reached": True,
        "pressure_drop_estimated_error_Pa": 1e-4 * whole,
        "error_estimator_consistent": False,
        "jet_contraction": 0.91,
        "jet_contraction_uncertainty": 0.013,
        "budget": budget | {
            "dissipation_by_part_Pa": shares,
            "dissipation_by_part_Pa_uncertainty": {
                part: 1e-5 * next(errors) * share for part, share in shares.items()
            },
        },
        "separations": [
            {"separation_mm": 10.5, "separation_mm_uncertainty": 0.021,
             "reattachment_mm": 17.7, "reattachment_mm_uncertainty": 0.17},
        ],
    }  # fmt: skip


def handbook(case: str, rate: float) -> dict[str, Span]:
    """What the handbooks say at a rate."""
    whole = sum(drops(case, "estimate", rate))
    return {WHOLE: Span(*(BOOKS[case][end] * whole for end in ("low", "high")))}


def peak(
    case: str, frequency: float, quality: float, height: float, errors: "count[int]"
) -> dict[str, Any]:
    values = {"frequency_Hz": frequency, "Q": quality, "impedance_peak_Pa_s_per_m3": height}
    values["equivalent_length_mm"] = 1e5 / frequency
    entry: dict[str, Any] = {"nearest_harmonic": round(frequency / 115)}
    entry["cents_above_harmonic"] = 1e-2 * frequency
    for key, value in values.items():
        entry[key], entry[f"{key}_uncertainty"] = value, 1e-5 * next(errors) * value
        entry.setdefault("levels", {})[key] = [value * (1 + 1e-6 * next(errors)), value]
    figures_of = {"frequency": frequency, "Q": quality, "impedance_peak": height}
    units = {"frequency": "cents", "Q": "", "impedance_peak": "Pa_s_per_m3"}
    return entry | {"by_dimension": slopes(case, figures_of, units)}


def invented_cases() -> list[CaseResults]:
    """Both bores, each with a soft laminar rate and a loud one with both extremes."""
    found, errors = [], count(11)
    for name in ("first", "other"):
        acoustics: dict[str, Any] = {
            "termination": "anechoic pipe", "validity": "good",
            "resonances": [peak(name, *values, errors) for values in RESONANCES[name]],
            "peak_centroid_Hz": 1117.0, "peak_centroid_Hz_uncertainty": 0.37,
        }  # fmt: skip
        for group, factor in (("transfer", 1.0), ("gain", 1.7)):
            band = {"peak": 1.3, "peak_frequency_Hz": 777.0, "band_low_Hz": 611.0,
                    "band_high_Hz": 944.0}  # fmt: skip
            band = {key: factor * value for key, value in band.items()}
            errors_of = {f"{key}_uncertainty": 1e-5 * next(errors) * band[key] for key in band}
            acoustics[group] = band | errors_of | {"peak_at_range_edge": False}
        flow = flow_of(
            [row(name, "estimate", rate, errors) for rate in (SOFT, LOUD)],
            {
                "laminar": [row(name, "laminar", rate, errors) for rate in (SOFT, LOUD)],
                "turbulent": [row(name, "turbulent", LOUD, errors)],
            },
            passage=PASSAGES[name],
            handbooks={rate: handbook(name, rate) for rate in (SOFT, LOUD)},
        )
        stream = from_plain(StreamResult, {"rates": [{"rate_index": 0, **STREAM[name]}]})
        geometry = BoreDescription(**GEOMETRY[name], parts=ENDS, entry="square")
        sound = from_plain(AcousticResult, acoustics)
        sizes = dimensions(name)
        found.append(CaseResults(name, {"shape": 0.6}, geometry, sound, flow, stream, sizes))
    return found
