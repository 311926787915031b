"""Cases whose figures are closed forms: f_h = f (1 + C h^p) on three or two mesh levels."""

from collections.abc import Sequence
from typing import Any

import pytest

from borestudy.results.case import CaseResults
from borestudy.results.merged_flow import Mode, merged_flow

RATES = (0.05, 0.1, 0.3)
REYNOLDS_PER_RATE = 23000.0


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
    """One converged rate's entry in flow.json: laminar first, turbulent last."""
    reynolds = REYNOLDS_PER_RATE * rate
    word = "laminar" if reynolds <= 2000 else "transitional" if reynolds <= 3500 else "turbulent"
    values = ladder(drop, error, 2)
    spread = 0.0 if word == "laminar" else 0.2
    row: dict[str, Any] = {
        "flow_rate_L_per_s": rate,
        "throat_reynolds": reynolds,
        "throat_velocity_m_per_s": 95 * rate,
        "dynamic_pressure_Pa": 5400 * rate**2,
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
        "pressure_drop_low_Pa": (1 - spread) * drop,
        "pressure_drop_high_Pa": (1 + spread) * drop,
        "mass_balance": 1e-12,
        "section_mass_flux": 1e-9,
        "energy_balance": 1e-4,
        "levels": {
            "pressure_drop_Pa": values,
            "pressure_drop_to_throat_end_Pa": [1.1 * value for value in values],
        },
        "handbook": {
            "pressure_drop_low_Pa": 0.9 * drop,
            "pressure_drop_high_Pa": 1.2 * drop,
            "pressure_drop_to_throat_end_by_handbook_Pa": {"low": drop, "high": 1.3 * drop},
            "backbore_pressure_drop_by_handbook_Pa": {"cone": -0.1 * drop},
        },
    }
    return row | changes


def turbulent_row(rate: float, drop: float, error: float = 1e-4, **changes: Any) -> dict[str, Any]:
    """One converged rate's entry in closure.json."""
    whole = rate_row(rate, drop, error)
    left_out = ("regime", "tolerance_reached", "handbook", "energy_balance")
    row = {name: value for name, value in whole.items() if name not in left_out}
    row |= {"y_plus": 1.2, "wall_resolution": "resolved", "separations": []}
    return row | {"solution": "turbulent"} | changes


def lost_row(rate: float) -> dict[str, Any]:
    """A rate that did not converge, with a number left in it that nobody may print."""
    return rate_row(rate, 1.0) | {"converged": False, "levels": {}, "pressure_drop_Pa": 123.456}


def make_case(
    name: str,
    varied: dict[str, float | str | None],
    *,
    frequencies: Sequence[float] = (800.0,),
    resistance: float = 100.0,
    lost: Sequence[float] = (),
    rates: Sequence[float] = RATES,
    closure: dict[str, Any] | None = None,
    mode: Mode = "both",
    **acoustics: Any,
) -> CaseResults:
    """A case with a pressure drop of ``resistance`` [Pa·s/L] times rate to the power 1.6."""
    rows = [
        lost_row(rate) if rate in lost else rate_row(rate, resistance * rate**1.6) for rate in rates
    ]
    sound = {
        "termination": "anechoic pipe",
        "validity": "good",
        "resonances": [resonance(frequency) for frequency in frequencies],
        "reduced_basis": {"held_out_error": 1e-7, "direct": False},
        "max_residual": 1e-12,
    }
    geometry = {
        "cup_volume_cm3": 1.1,
        "backbore_volume_cm3": 1.5,
        "throat_diameter_mm": 3.66,
        "length_mm": 88.0,
        "parts": {"cup": [0.0, 10.8], "throat": [10.8, 15.8]},
    }
    return CaseResults(
        name, varied, geometry, sound | acoustics, merged_flow({"rates": rows}, closure or {}, mode)
    )


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
