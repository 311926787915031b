"""Cases whose figures are closed forms: f_h = f (1 + C h^p) on three or two mesh levels."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import pytest

from borestudy.acoustics.result import AcousticResult
from borestudy.bore import BoreDescription, Passage
from borestudy.closed_form.handbook import Span
from borestudy.flow.result import FlowResult
from borestudy.records import from_plain
from borestudy.results.case import CaseResults
from borestudy.results.estimate import (
    BACKBORE,
    SCALES,
    TO_THROAT_END,
    WHOLE,
    EstimatedFlow,
    estimated_flow,
)

RATES = (0.05, 0.1, 0.3)
REYNOLDS_PER_RATE = 23000.0
#: Of a square edge before a throat of 1.4 diameters and a slow cone.
PASSAGE = Passage(
    throat_start=3.0, throat_end=4.4, end=24.0, run_in=0.0, cup_area=20.0, end_area=6.0,
    cone_angle=4.2,
)  # fmt: skip


def ladder(exact: float, error: float, levels: int, order: float = 4 / 3) -> list[float]:
    """The figure on each level; ``error`` is relative and belongs to the finest one."""
    return [exact * (1 + error * 1.5 ** (order * (levels - 1 - level))) for level in range(levels)]


def resonance(frequency: float, error: float = 1e-5, **changes: Any) -> dict[str, Any]:
    """One resonance's entry in acoustics.json."""
    figures = {"frequency_Hz": frequency, "Q": 6.0, "impedance_peak_Pa_s_per_m3": 2e7}
    levels = {name: ladder(value, error, 3) for name, value in figures.items()}
    entry: dict[str, Any] = {"levels": levels}
    for name, values in levels.items():
        entry[name] = values[-1]
        entry[f"{name}_uncertainty"] = 1.25 * error * figures[name]
    return entry | changes


def rate_row(rate: float, drop: float, error: float = 1e-4, **changes: Any) -> dict[str, Any]:
    """One converged rate's entry in the estimate's file: laminar first, turbulent last."""
    reynolds = REYNOLDS_PER_RATE * rate
    word = "laminar" if reynolds <= 2000 else "transitional" if reynolds <= 3500 else "turbulent"
    values = ladder(drop, error, 2)
    row: dict[str, Any] = {
        "flow_rate_L_per_s": rate,
        "throat_reynolds": reynolds,
        "throat_velocity_m_per_s": 95 * rate,
        "dynamic_pressure_Pa": 170 * rate**2,  # as the invented drops are one to two of it
        "mach_number": 0.28 * rate,
        "regime": word,
        "converged": True,
        "residual": 1e-11,
        "tolerance_reached": True,
        "pressure_drop_Pa": values[-1],
        "pressure_drop_Pa_uncertainty": 4 * error * drop,
        "loss_coefficient": 1.3,
        "loss_coefficient_uncertainty": 1e-3,
        "differential_resistance_kPa_s_per_L": 1.6e-3 * drop / rate,
        "differential_resistance_kPa_s_per_L_uncertainty": 1e-5 * drop / rate,
        "pressure_drop_to_throat_end_Pa": 1.1 * drop,
        "pressure_drop_to_throat_end_Pa_uncertainty": 4 * error * drop,
        "backbore_pressure_drop_Pa": -0.1 * drop,
        "backbore_pressure_drop_Pa_uncertainty": error * drop,
        "discharge_coefficient": 0.8,
        "discharge_coefficient_uncertainty": 1e-3,
        "mass_balance": 1e-12,
        "section_mass_flux": 1e-9,
        "energy_balance": 1e-4,
        "y_plus": 1.2,
        "wall_resolution": "resolved",
        "transition_position_mm": None if word == "laminar" else 24.0,
        "pressure_drop_by_transition_Pa": None if word == "laminar" else 0.05 * drop,
        "levels": {
            "pressure_drop_Pa": values,
            "pressure_drop_to_throat_end_Pa": [1.1 * value for value in values],
        },
    }
    return row | changes


def lost_row(rate: float) -> dict[str, Any]:
    """A rate that did not converge, with a number left in it that nobody may print."""
    return rate_row(rate, 1.0) | {"converged": False, "levels": {}, "pressure_drop_Pa": 123.456}


def books(drop: float, low: float = 0.8, high: float = 1.2) -> dict[str, Span]:
    """Handbooks that give the whole drop so many times as low and as high as it is."""
    return {
        WHOLE: Span(low * drop, high * drop),
        TO_THROAT_END: Span((low + 0.1) * drop, (high + 0.1) * drop),
        BACKBORE: Span(-0.1 * drop, -0.1 * drop),
    }


def scales(rate: float) -> dict[str, float]:
    """What is known of a rate whatever the solution."""
    row = rate_row(rate, 1.0)
    return {name: row[name] for name in SCALES}


def flow_result(
    rows: Sequence[dict[str, Any]], model: str, rates: Sequence[float], **whole: Any
) -> FlowResult:
    """A solution with a row for each of the rates [L/s], from entries of some of them."""
    found = {row["flow_rate_L_per_s"]: row for row in rows}
    lost = {"converged": False, "not_meshed": whole.get("not_meshed")}
    every = [found.get(rate, scales(rate) | lost) for rate in rates]
    return from_plain(FlowResult, {**whole, "model": model, "rates": every})


def flow_of(
    estimate: Sequence[dict[str, Any]],
    extremes: Mapping[str, Sequence[dict[str, Any]]] | None = None,
    rates: Sequence[float] = (),
    passage: Passage = PASSAGE,
    handbooks: Mapping[float, Mapping[str, Span]] | None = None,
    **whole: Any,
) -> EstimatedFlow:
    """A case's flow from entries of each solution, at the rates or the estimate's [L/s].

    The handbooks are about the estimate's drops where nothing else is said of a rate.
    """
    listed = rates or [row["flow_rate_L_per_s"] for row in estimate]
    found = flow_result(estimate, "estimate", listed, **whole)
    if handbooks is None:
        handbooks = {row["flow_rate_L_per_s"]: books(row["pressure_drop_Pa"]) for row in estimate}
    by_number = {
        row.throat_reynolds: handbooks.get(row.flow_rate_L_per_s, {}) for row in found.rates
    }
    return estimated_flow(
        found,
        passage,
        lambda reynolds, _: by_number[reynolds],
        {word: flow_result(rows, word, listed) for word, rows in (extremes or {}).items()},
    )


def make_case(
    name: str,
    varied: dict[str, float | str | None],
    *,
    frequencies: Sequence[float] = (800.0,),
    resistance: float = 100.0,
    lost: Sequence[float] = (),
    rates: Sequence[float] = RATES,
    extremes: Mapping[str, float] | None = None,
    passage: Passage = PASSAGE,
    **acoustics: Any,
) -> CaseResults:
    """A case with a pressure drop of ``resistance`` [Pa·s/L] times rate to the power 1.6.

    The extremes' drops are so many times as large.
    """
    drops = {rate: resistance * rate**1.6 for rate in rates}
    rows = [lost_row(rate) if rate in lost else rate_row(rate, drops[rate]) for rate in rates]
    beside = {
        word: [rate_row(rate, factor * drop) for rate, drop in drops.items()]
        for word, factor in (extremes or {}).items()
    }
    sound = {
        "termination": "anechoic pipe",
        "validity": "good",
        "resonances": [resonance(frequency) for frequency in frequencies],
        "reduced_basis": {"held_out_error": 1e-7, "direct": False},
        "max_residual": 1e-12,
    }
    geometry = BoreDescription(
        length_mm=88.0,
        rim_diameter_mm=16.2,
        throat_diameter_mm=3.66,
        throat_length_mm=5.0,
        end_diameter_mm=9.0,
        cup_volume_cm3=1.1,
        throat_volume_cm3=0.05,
        backbore_volume_cm3=1.5,
        parts={"cup": (0.0, 10.8), "throat": (10.8, 15.8)},
    )
    return CaseResults(
        name,
        varied,
        geometry,
        from_plain(AcousticResult, sound | acoustics),
        flow_of(rows, beside, passage=passage),
    )


def altered(
    case: CaseResults, rate: int, solution: str = "estimate", **changes: Any
) -> CaseResults:
    """The case with figures of one solution at one rate replaced."""
    rates = list(case.flow.rates)
    figures = rates[rate].sought(solution)
    assert figures is not None
    rates[rate] = replace(rates[rate], **{solution: replace(figures, **changes)})
    return replace(case, flow=replace(case.flow, rates=tuple(rates)))


@pytest.fixture
def entries() -> list[CaseResults]:
    """Square and four radii; from 0.5 mm on the resistance stays."""
    resistances = {0.0: 100.0, 0.25: 96.0, 0.5: 94.0, 1.0: 94.001, 2.0: 93.999}
    return [
        make_case(
            "entry-square" if radius == 0 else f"entry_radius-{radius:.2f}mm",
            {
                "entry": "square" if radius == 0 else f"rounded {radius:g} mm",
                "entry_radius_mm": radius,
            },
            resistance=value,
            frequencies=(800.0 + radius,),
        )
        for radius, value in resistances.items()
    ]
