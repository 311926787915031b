"""Folders of results of studies of any number of cases, whose figures are made up.

Bores, dimensions and airs are the study's own.  Figures follow from the case's number by closed
forms, in files as the stages write them; some cases have no mesh, some no solution at a rate.
"""

import json
import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from borestudy.bore import Dimension
from borestudy.quantity import Quantity
from borestudy.records import SCHEMA_KEY, SCHEMA_VERSION, write_record
from borestudy.results.check import Check
from borestudy.results.onset import OnsetResult
from borestudy.results.toleranced import ToleranceResult
from borestudy.results.tone import ToneResult
from borestudy.stages.air import air_stage
from borestudy.stages.geometry import write_bore, write_dimensions, write_measurement
from borestudy.stages.measured import measurement_record
from borestudy.stages.plan import air_name
from borestudy.stages.verification import write_checks
from borestudy.study import Case, Study

from ..results.conftest import lost_row, rate_row, resonance
from ..results.played import level, register, silent

#: Every so many cases one has no mesh for the flow, none for sound, or no solution when loud.
NO_FLOW_MESH, NO_SOUND_MESH, NO_SOLUTION = 17, 23, 11
REASON = "no triangle fits between the entry and the throat"
#: Figures of a derivative by one dimension, with what they are for a first guess.
OF_RESONANCE = {"frequency_cents": -41.0, "Q": 0.13, "impedance_peak_Pa_s_per_m3": 3.1e5}
OF_DROP = {
    "pressure_drop_Pa": -17.0, "pressure_drop_to_throat_end_Pa": -19.0,
    "backbore_pressure_drop_Pa": 2.0, "differential_resistance_kPa_s_per_L": -0.11,
}  # fmt: skip
PARTS = {"cup": 0.04, "entry": 0.1, "throat": 0.16, "backbore": 0.7}
IMPEDANCE = (
    "case,frequency_Hz,impedance_real_Pa_s_per_m3,impedance_imag_Pa_s_per_m3,"
    "impedance_real_Pa_s_per_m3_uncertainty,impedance_imag_Pa_s_per_m3_uncertainty\n"
)


def write_results(study: Study, folder: Path, along: int = 5, alike: bool = False) -> None:
    """Everything that `borestudy.stages.collation.collate` reads of a study.

    Parameters
    ----------
    study : Study
        Any without a wish.
    folder : path
        Where the results go.
    along : int
        Number of places on each line along the bore.
    alike : bool
        Whether cases of one throat entry have the dimensions of the first of them, since how the
        wall of thousands of bores moves with each takes long.
    """
    frequencies = np.linspace(*study.frequency_range(), study.resonance.points)
    cases = study.cases()
    airs = {air_name(case): case for case in cases}
    for name, case in airs.items():
        air_stage(*case.air.values(), source="made up", output=folder / "air" / f"{name}.json")
    dimensions: dict[str, list[Dimension]] = {}
    for number, case in enumerate(cases):
        like = case.varied.get("throat.entry", "") if alike else case.name
        if like not in dimensions:
            dimensions[like] = case.dimensions()
        _write_case(
            study, case, dimensions[like], number, folder / "cases" / case.name, frequencies, along
        )
    write_checks([Check("closed pipe", "resonance 1", "Hz", 100.01, 100.0, 0.1, "closed form")],
                 folder / "verification" / "acoustics.csv")  # fmt: skip
    write_record(folder / "tolerances.json", ToleranceResult(samples=1, seed=2))


def _write_case(
    study: Study,
    case: Case,
    dimensions: Sequence[Dimension],
    number: int,
    home: Path,
    frequencies: Any,
    along: int,
) -> None:
    write_bore(case.build_bore(), home / "bore.json", case.station_doubts())
    write_dimensions(dimensions, home / "dimensions.json")
    if (measured := measurement_record(case)) is not None:
        write_measurement(measured, [home / "measurement.json"])
    keys = [one.key for one in dimensions]
    scatter = 1 + 0.05 * math.sin(1.7 * number)
    _write(home / "acoustics.json", _sound(number, scatter, keys, along))
    _write(home / "flow-estimate.json", _flow(study, number, scatter, keys, along))
    _write(home / "stream.json", _stream(study, scatter))
    if study.lips is not None:
        write_record(home / "onset.json", _onset(study, number, scatter))
        write_record(home / "tone.json", _tone(number, scatter))
    real = scatter * 6.7e6 * np.cos(frequencies / 700)
    lines = [
        f"{case.name},{frequency:g},{value:.9g},{value / 3:.9g},{abs(value) / 5e3:.9g},0.5\n"
        for frequency, value in zip(frequencies, real, strict=True)
    ]
    home.joinpath("impedance.csv").write_text(IMPEDANCE + "".join(lines))


def _write(path: Path, contents: Mapping[str, Any]) -> None:
    path.write_text(json.dumps({SCHEMA_KEY: SCHEMA_VERSION, **contents}))


def _slopes(keys: Sequence[str], figures: Mapping[str, float], scale: float) -> dict[str, Any]:
    found = {}
    for place, key in enumerate(keys, 1):
        values = {name: scale * value / place for name, value in figures.items()}
        errors = {f"{name}_uncertainty": 1e-3 * abs(value) for name, value in values.items()}
        levels = {name: [1.01 * value, 1.003 * value, value] for name, value in values.items()}
        found[key] = {**values, **errors, "levels": levels}
    return found


def _sound(number: int, scatter: float, keys: Sequence[str], along: int) -> dict[str, Any]:
    if number % NO_SOUND_MESH == NO_SOUND_MESH - 1:
        return {"not_meshed": REASON}
    # up to three resonances, so that some cases have fewer columns than others
    slopes = _slopes(keys, OF_RESONANCE, scatter)
    peaks = [
        resonance(scatter * 800.0 * (1 + 1.1 * place), Q=6.0 * scatter, by_dimension=slopes)
        for place in range(1 + number % 3)
    ]
    band = {"peak": 1.3 * scatter, "peak_uncertainty": 1e-4, "peak_frequency_Hz": 777.0}
    curve = [scatter * place for place in range(1, along + 1)]
    return {
        "termination": "anechoic pipe", "resonances": peaks, "max_residual": 1e-12,
        "transfer": band, "gain": band, "validity": "good" if number % 5 else "coarse",
        "curves": {"frequency_Hz": curve, "pressure_transfer": curve, "pressure_gain": curve},
        "reduced_basis": {"held_out_error": 1e-7, "direct": number % 7 == 3},
    }  # fmt: skip


def _flow(
    study: Study, number: int, scatter: float, keys: Sequence[str], along: int
) -> dict[str, Any]:
    rates = [1e3 * rate for rate in study.flow_rates().tolist()]
    if number % NO_FLOW_MESH == NO_FLOW_MESH - 1:
        lost = [{**rate_row(rate, 1.0), **lost_row(rate), "not_meshed": REASON} for rate in rates]
        return {"model": "estimate", "rates": lost, "not_meshed": REASON}
    return {
        "model": "estimate", "tolerance": 0.01,
        "rates": [
            lost_row(rate) if number % NO_SOLUTION == 5 and rate == rates[-1]
            else _rate(rate, number, scatter, keys, along) for rate in rates
        ],
    }  # fmt: skip


def _rate(
    rate: float, number: int, scatter: float, keys: Sequence[str], along: int
) -> dict[str, Any]:
    drop = 7000.0 * scatter * rate**1.9
    line = [0.1 * place for place in range(along)]
    loss = 0.9 * drop
    budget = {
        "loss_Pa": loss, "loss_Pa_uncertainty": 1e-3 * loss, "dissipation_Pa": loss,
        "dissipation_by_part_Pa": {
            part: share * loss for part, share in PARTS.items() if part != "entry" or number % 2
        },
        "dissipation_by_part_Pa_uncertainty": dict.fromkeys(PARTS, 1e-3),
        "kinetic_energy_rise_Pa": 0.1 * drop,
    }  # fmt: skip
    return rate_row(
        rate, drop, by_dimension=_slopes(keys, OF_DROP, scatter), budget=budget,
        axis={"position_mm": line, "pressure_Pa": line, "velocity_m_per_s": line},
        wall={name: line for name in ("position_mm", "pressure_Pa", "shear_position_mm",
                                      "shear_Pa")},
        error_estimator_consistent=None if number % 4 == 2 else number % 4 == 1,
        separations=[{"separation_mm": 10.5 * scatter, "reattachment_mm": 17.7}] * (number % 3),
    )  # fmt: skip


def _onset(study: Study, number: int, scatter: float) -> OnsetResult:
    """Registers of the lips of the study's set, the highest without a tone in some cases."""
    if number % NO_SOUND_MESH == NO_SOUND_MESH - 1:
        return OnsetResult(not_meshed=REASON)
    count = 10 if study.lips is None else study.lips.set_
    shares = [None if (number + one) % 7 == 0 else 1 + 0.1 * one for one in range(count)]
    registers = [
        register(one, 500.0 * one * scatter, 120.0 * one / scatter, shares, shares)
        for one in range(1, 4)
    ]
    return OnsetResult(registers=(*registers, *([silent(4)] if number % 2 else [])))


def _tone(number: int, scatter: float) -> ToneResult:
    if number % NO_SOUND_MESH == NO_SOUND_MESH - 1:
        return ToneResult(not_meshed=REASON)
    levels = tuple(level(name, 350.0 * scatter, 900.0 / scatter) for name in ("soft", "loud"))
    return ToneResult(register=3, starts_at=Quantity(1500.0 * scatter, 1.0, "Pa"), at_levels=levels)


def _stream(study: Study, scatter: float) -> dict[str, Any]:
    rates = [
        {
            "rate_index": index, "flow_rate_L_per_s": 1e3 * rate, "throat_reynolds": 1e3,
            "regime": "laminar", "strouhal": 0.6, "validity": "not quasi-steady",
            "resonance_Q_change_percent": -4.0 * scatter,
            "resonance_Q_change_percent_uncertainty": 0.1,
        }
        for index, rate in enumerate(study.flow_rates().tolist())
    ]  # fmt: skip
    return {"cut_deviation_percent": 1e-6, "rates": rates}
