"""Every column of the tables holds its own quantity: identities, and one value nothing else has.

No two figures of the two bores are alike, so that a column with another's figure cannot pass.
"""

import math
from typing import Any

import numpy as np
import pandas as pd
import pytest

from borestudy.results.changes import flow_change, resonance_change
from borestudy.results.tables import comparison, flow

from .invented import (
    BOOKS,
    DENSITY,
    ENDS,
    GEOMETRY,
    LOSSY,
    LOUD,
    PARTS,
    RESONANCES,
    RIM,
    SOFT,
    SPEED,
    STREAM,
    THROAT,
    VISCOSITY,
    drops,
    figures,
    invented_cases,
    scales,
)  # fmt: skip

DROPS = ("pressure_drop", "pressure_drop_to_throat_end", "backbore_pressure_drop")


@pytest.fixture(scope="module")
def cases():
    return invented_cases()


def of(table: pd.DataFrame, case: str = "other", rate: float = LOUD) -> dict[str, Any]:
    """The one row of a case at a rate."""
    chosen = table["case"] == case
    if "flow_rate_L_per_s" in table:
        chosen &= table["flow_rate_L_per_s"] == rate
    return table[chosen].iloc[0].to_dict()


def differ(row: dict[str, Any], *columns: str) -> None:
    """No two of the columns hold the same figure."""
    values = [row[column] for column in columns]
    assert len(set(values)) == len(values)


def change(key: str = "pressure_drop_Pa", rate: float = LOUD) -> float:
    ours, theirs = (figures(case, "estimate", rate)[key] for case in ("other", "first"))
    return 100 * (ours / theirs - 1)


def columns_with_errors(stem: str, source: Any, name: str, factor: float = 1.0) -> dict:
    """A column and its uncertainty, as the record has them."""
    found = getattr(source, name)
    return {stem: factor * found.value, f"{stem}_uncertainty": factor * found.uncertainty}


def changes(cases, stem: str, name: str) -> dict[str, float]:
    """Both columns of the change of a pressure drop at the loud rate, with both errors in one."""
    found = flow_change(cases[1], cases[0], 1, name)
    assert found.numerical is not None
    assert min(found.numerical, found.model) > 0
    return {
        f"{stem}_change_percent": change(f"{name}_Pa"),
        f"{stem}_change_percent_uncertainty": math.hypot(found.numerical, found.model),
    }


def numbers(row: dict[str, Any]) -> dict[str, float]:
    """The columns of numbers, those of yes and no left out."""
    return {
        key: value
        for key, value in row.items()
        if isinstance(value, int | float | np.number) and not isinstance(value, bool | np.bool_)
    }


def test_the_flow_tables_figures_obey_the_definitions_of_their_columns(cases) -> None:
    table = flow.flow_table(cases)
    for case, rate in ((case, rate) for case in ("first", "other") for rate in (SOFT, LOUD)):
        found, near = of(table, case, rate), 1e-4 * rate
        whole = found["pressure_drop_Pa"]
        halves = found["pressure_drop_to_throat_end_Pa"], found["backbore_pressure_drop_Pa"]
        assert halves[0] > whole > 0 > halves[1]  # the backbore gives back
        assert sum(halves) == pytest.approx(whole)
        assert found["flow_resistance_kPa_s_per_L"] * rate == pytest.approx(1e-3 * whole)
        above, below = (sum(drops(case, "estimate", rate + step)) for step in (near, -near))
        slope = 1e-3 * (above - below) / (2 * near)
        assert found["differential_resistance_kPa_s_per_L"] == pytest.approx(slope, rel=1e-6)
        dynamic = found["dynamic_pressure_Pa"]
        assert found["discharge_coefficient"] ** 2 * halves[0] == pytest.approx(
            dynamic * (1 - (THROAT / RIM) ** 4)
        )
        assert found["loss_coefficient"] * dynamic == pytest.approx(LOSSY["estimate"] * whole)
        velocity = found["throat_velocity_m_per_s"]
        assert 0.5 * DENSITY * velocity**2 == pytest.approx(dynamic)
        assert found["mach_number"] * SPEED == pytest.approx(velocity)
        assert found["throat_reynolds"] * VISCOSITY == pytest.approx(velocity * THROAT)
        for drop in ("pressure_drop", "pressure_drop_to_throat_end", "backbore_pressure_drop"):
            low, high = found[f"{drop}_low_Pa"], found[f"{drop}_high_Pa"]
            assert low < found[f"{drop}_Pa"] < high
        for end, share in BOOKS[case].items():
            assert found[f"handbook_pressure_drop_{end}_Pa"] == pytest.approx(share * whole)


def test_energy_lost_and_kinetic_energy_gained_stand_in_their_own_columns(cases) -> None:
    """Their sum is the drop either way, so each is held against what else is known of it."""
    drop, energy = of(flow.flow_table(cases)), of(flow.energy_table(cases))
    assert energy["loss_Pa"] == pytest.approx(
        drop["loss_coefficient"] * drop["dynamic_pressure_Pa"]
    )
    assert energy["loss_Pa"] + energy["kinetic_energy_rise_Pa"] == pytest.approx(
        drop["pressure_drop_Pa"]
    )
    parts = {part: energy[f"dissipation_{part}_Pa"] for part in PARTS}
    assert sum(parts.values()) * (1 + energy["energy_balance_percent"] / 100) == pytest.approx(
        energy["loss_Pa"]
    )
    for part, share in PARTS.items():
        assert parts[part] / sum(parts.values()) == pytest.approx(share)
    budget = cases[1].rates[1].figures.budget
    expected = {"flow_rate_L_per_s": LOUD, "energy_balance_percent": 0.31}
    for name in ("loss", "kinetic_energy_rise"):
        expected |= columns_with_errors(f"{name}_Pa", budget, name)
    for part in PARTS:
        expected[f"dissipation_{part}_Pa"] = parts[part]
        error = budget.dissipation_by_part[part].uncertainty
        expected[f"dissipation_{part}_Pa_uncertainty"] = error
    expected |= {"jet_contraction": 0.91, "jet_contraction_uncertainty": 0.013}
    assert numbers(energy) == pytest.approx(expected)
    differ(energy, *expected)


def test_every_number_of_the_flow_table_is_its_own_columns(cases) -> None:
    found, row, resistance = of(flow.flow_table(cases)), cases[1].rates[1], 1e-3 / LOUD
    source = row.estimate
    expected = {"flow_rate_L_per_s": LOUD, **scales(LOUD)}
    for key in figures("other", "estimate", LOUD):
        name = key.removesuffix("_Pa").removesuffix("_kPa_s_per_L")
        expected |= columns_with_errors(key, source, name)
    name = "flow_resistance_kPa_s_per_L"
    expected |= columns_with_errors(name, source, "pressure_drop", resistance)
    for drop in DROPS:
        for word in ("laminar", "turbulent"):
            expected |= columns_with_errors(f"{word}_{drop}_Pa", row.sought(word), drop)
        value, sides = getattr(source, drop), row.model_error.drops[drop]
        expected[f"{drop}_model_error_low_Pa"] = sides.low
        expected[f"{drop}_model_error_high_Pa"] = sides.high
        expected[f"{drop}_low_Pa"] = value.value - math.hypot(value.uncertainty, sides.low)
        expected[f"{drop}_high_Pa"] = value.value + math.hypot(value.uncertainty, sides.high)
    for drop in DROPS[:2]:
        expected |= changes(cases, drop, drop)
    whole = sum(drops("other", "estimate", LOUD))
    for end in ("low", "high"):
        expected[f"handbook_pressure_drop_{end}_Pa"] = BOOKS["other"][end] * whole
    expected["pressure_drop_estimated_error_Pa"] = 1e-4 * whole
    expected |= {"y_plus": 1.37, "transition_position_mm": 23.1}
    for key in ("mass_balance", "section_mass_flux", "energy_balance", "residual"):
        expected[key] = getattr(source, key)
    assert_columns(found, expected, without=("last_converged_flow_rate_L_per_s",))


def assert_columns(found: dict[str, Any], expected: dict[str, float], without=()) -> None:
    """Each number is the expected one, nothing is left out, and no two can be taken for another.

    Changes of a pressure drop and of the resistance are alike by what they mean.
    """
    known = {key: value for key, value in numbers(found).items() if key not in without}
    assert set(known) == set(expected)
    for key, value in expected.items():
        assert known[key] == pytest.approx(value, rel=1e-9), key
    alone = [key for key in expected if "change" not in key]
    differ(found, *alone)


def test_every_number_of_the_comparison_is_its_own_columns(cases) -> None:
    found, row = of(comparison.comparison_table(cases, 1)), cases[1].rates[1]
    source = row.figures
    resistance = 1e-3 / LOUD
    expected = {"flow_rate_L_per_s": LOUD, "shape": 0.6, **GEOMETRY["other"]}
    del expected["throat_volume_cm3"]
    expected["throat_reynolds"] = scales(LOUD)["throat_reynolds"]
    expected |= columns_with_errors("pressure_drop_Pa", source, "pressure_drop")
    expected |= columns_with_errors("loss_coefficient", source, "loss_coefficient")
    for stem, key in (("", DROPS[0]), ("_to_throat_end", DROPS[1])):
        name = f"flow_resistance{stem}"
        expected |= columns_with_errors(f"{name}_kPa_s_per_L", source, key, resistance)
        expected |= changes(cases, name, key)
    for end in ("low", "high"):
        drop, side = getattr(row.interval(), end), getattr(row.model_error.drops[DROPS[0]], end)
        expected[f"flow_resistance_{end}_kPa_s_per_L"] = resistance * drop
        expected[f"flow_resistance_model_error_{end}_kPa_s_per_L"] = resistance * side
    slope = "differential_resistance"
    expected |= columns_with_errors(f"flow_{slope}_kPa_s_per_L", source, slope)
    expected |= resonances(cases, 0, "resonance") | band_columns(cases)
    peak = cases[1].resonances[1]
    expected |= columns_with_errors("peak_2_Hz", peak, "frequency")
    relative = peak.frequency.uncertainty / peak.frequency.value
    expected["peak_2_above_harmonic_cents"] = peak.cents_above_harmonic
    expected["peak_2_above_harmonic_cents_uncertainty"] = 1200 * math.log2(1 + relative)
    expected |= change_in_cents(cases, 1, "peak_2")
    for key in ("Q", "impedance_peak"):
        stem = "resonance_Q" if key == "Q" else "impedance_peak"
        ours, theirs = (RESONANCES[case][0][1 + (key != "Q")] for case in ("other", "first"))
        error = resonance_change(cases[1], cases[0], 0, key).uncertainty
        expected[f"{stem}_change_percent"] = 100 * (ours / theirs - 1)
        expected[f"{stem}_change_percent_uncertainty"] = error
    assert_columns(found, expected)


def change_in_cents(cases, peak: int, stem: str) -> dict[str, float]:
    ours, theirs = (RESONANCES[case][peak][0] for case in ("other", "first"))
    error = resonance_change(cases[1], cases[0], peak).uncertainty
    return {
        f"{stem}_change_cents": 1200 * math.log2(ours / theirs),
        f"{stem}_change_cents_uncertainty": error,
    }


def resonances(cases, peak: int, stem: str) -> dict[str, float]:
    """Columns of one resonance: the figures it was invented with, their errors, its change."""
    source, figures_of = cases[1].resonances[peak], RESONANCES["other"][peak]
    expected = change_in_cents(cases, peak, stem)
    names = ("resonance_Hz", "resonance_Q", "impedance_peak_Pa_s_per_m3")
    keys = ("frequency", "Q", "impedance_peak")
    for name, key, value in zip(names, keys, figures_of, strict=True):
        expected[name], expected[f"{name}_uncertainty"] = value, getattr(source, key).uncertainty
    return expected | columns_with_errors("equivalent_length_mm", source, "equivalent_length")


def band_columns(cases) -> dict[str, float]:
    found = {"peak_centroid_Hz": 1117.0, "peak_centroid_Hz_uncertainty": 0.37}
    for group in ("transfer", "gain"):
        source = getattr(cases[1].acoustics, group)
        found |= columns_with_errors(f"pressure_{group}_peak", source, "peak")
        for name in ("peak_frequency", "band_low", "band_high"):
            found |= columns_with_errors(f"pressure_{group}_{name}_Hz", source, name)
    return found


def test_every_number_of_the_peaks_is_its_own_columns(cases) -> None:
    table = comparison.peaks_table(cases)
    for place in range(2):
        found = table[(table["case"] == "other") & (table["peak"] == place + 1)].iloc[0].to_dict()
        source = cases[1].resonances[place]
        expected = {"peak": place + 1, **resonances(cases, place, "resonance")}
        expected |= {
            key: getattr(source, key) for key in ("nearest_harmonic", "cents_above_harmonic")
        }
        assert_columns(found, expected)


def test_every_number_of_the_cases_is_its_own_columns(cases) -> None:
    found = of(comparison.cases_table(cases))
    expected = {"shape": 0.6, **GEOMETRY["other"]}
    for part, (start, end) in ENDS.items():
        assert (found[f"{part}_start_mm"], found[f"{part}_end_mm"]) == (start, end)
        del found[f"{part}_start_mm"], found[f"{part}_end_mm"]
    assert_columns(found, expected)


def test_places_where_the_air_leaves_and_comes_back_keep_their_columns(cases) -> None:
    found = of(flow.separation_table(cases))
    assert (found["part"], found["wall"]) == ("throat", "comes back")
    expected = {"separation_mm": 10.5, "separation_mm_uncertainty": 0.021, "reattachment_mm": 17.7,
                "reattachment_mm_uncertainty": 0.17, "flow_rate_L_per_s": LOUD}  # fmt: skip
    assert_columns(found, expected)


def test_the_streams_rows_are_those_of_the_cases(cases) -> None:
    table = comparison.stream_table(cases)
    assert list(table["case"]) == ["first", "other"]
    assert of(table, rate=SOFT) == {"case": "other", **STREAM["other"]}
