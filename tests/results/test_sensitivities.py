"""What a small change of each dimension does to each quantity, as the table has it."""

from dataclasses import replace
from math import hypot

import pandas as pd
import pytest

from borestudy.acoustics.result import ResonanceSlope
from borestudy.flow.result import DropSlope
from borestudy.quantity import Quantity
from borestudy.results.dimensions import DimensionValue
from borestudy.results.reported import names_at_rate, reported
from borestudy.results.sensitivities import (
    COLUMNS,
    NO_SHARE,
    NO_SLOPE,
    above_noise,
    ranks,
    sensitivities_table,
    steps_of,
)
from borestudy.results.tables.files import read_table, write_table

from .conftest import altered, make_case
from .invented import (
    DIMENSIONS,
    GEOMETRY,
    LOUD,
    RESONANCES,
    SLOPE_ERROR,
    SOFT,
    figures,
    invented_cases,
    relative_slope,
)

#: Words of each quantity of the invented bores, its figure's field and unit.
SOUND = {
    "resonance": ("frequency", "Hz"),
    "resonance Q": ("Q", ""),
    "resonance impedance": ("impedance_peak", "Pa_s_per_m3"),
}
FLOW = {
    "pressure drop": ("pressure_drop", "Pa"),
    "pressure drop to throat end": ("pressure_drop_to_throat_end", "Pa"),
    "backbore pressure drop": ("backbore_pressure_drop", "Pa"),
    "flow resistance": ("pressure_drop", "kPa_s_per_L"),
    "slope of pressure drop": ("differential_resistance", "kPa_s_per_L"),
}
VOLUMES = ("cup_volume_cm3", "throat_volume_cm3", "backbore_volume_cm3")


@pytest.fixture(scope="module")
def cases():
    return invented_cases()


@pytest.fixture(scope="module")
def table(cases) -> pd.DataFrame:
    return sensitivities_table(cases)


def invented(case: str) -> dict[str, tuple[str, str, float, float | None]]:
    """Figure, unit, value and rate of every quantity of a bore, by its name."""
    found = {
        name: (figure, unit, value, None)
        for (name, (figure, unit)), value in zip(SOUND.items(), RESONANCES[case][0], strict=True)
    }
    for rate in (SOFT, LOUD):
        solved = figures(case, "estimate", rate)
        for name, (figure, unit) in FLOW.items():
            known = "Pa" if "drop" in figure else "kPa_s_per_L"
            value = solved[f"{figure}_{known}"]
            value *= 1e-3 / rate if name == "flow resistance" else 1
            found[f"{name} at {rate:g} L/s"] = (figure, unit, value, rate)
    for name in VOLUMES:
        words = name.removesuffix("_cm3").replace("_", " ")
        found[words] = (name, "cm3", GEOMETRY[case][name], None)
    return found


@pytest.mark.parametrize("place", [0, 1])
def test_every_number_of_the_sensitivities_is_its_own_columns(cases, table, place: int) -> None:
    """Each figure's derivative was invented as a number that no other has."""
    case = cases[place].name
    quantities = reported(cases[place])
    assert set(invented(case)) == set(quantities)
    for name, (figure, unit, value, rate) in invented(case).items():
        rows = table[(table["case"] == case) & (table["quantity"] == name)]
        assert len(rows) == len(DIMENSIONS[case])
        error = quantities[name].value.uncertainty
        for key, label, of_unit, size, position in DIMENSIONS[case]:
            row = rows[rows["dimension"] == key].iloc[0].to_dict()
            slope = relative_slope(case, key, figure, rate or SOFT)
            share = SLOPE_ERROR if name not in _volumes() else 0.0
            share = share if figure == "frequency" else hypot(share, error / value)
            assert row["value"] == pytest.approx(value)
            assert row["uncertainty"] == error
            words = ("dimension_label", "dimension_unit", "unit", "effect_unit", "note")
            scale = "cents" if figure == "frequency" else "percent"
            assert [row[each] for each in words] == [label, of_unit, unit, scale, ""]
            expected = {"dimension_value": size, "slope_per_unit": slope}
            expected |= {"slope_uncertainty": share * abs(slope)}
            if of_unit == "mm":
                steps = {"0.01_mm": 0.01, "0.001_in": 0.0254, "1_percent": size / 100}
            else:
                steps = {"1_percent": 0.01}
                assert pd.isna(row["effect_of_0.01_mm"])
                assert pd.isna(row["effect_of_0.001_in_uncertainty"])
            for step, amount in steps.items():
                expected[f"effect_of_{step}"] = slope * amount
                expected[f"effect_of_{step}_uncertainty"] = share * abs(slope) * amount
            if rate is not None:
                expected["flow_rate_L_per_s"] = rate
            if position is not None:
                expected["position_mm"] = position
            found = {column: row[column] for column in expected}
            assert found == pytest.approx(expected, rel=1e-9), (name, key)
            assert row["noise_floor"] == pytest.approx(quantities[name].noise_floor)
            assert pd.isna(row["position_mm"]) == (position is None)
            assert pd.isna(row["flow_rate_L_per_s"]) == (rate is None)


def _volumes() -> set[str]:
    return {name.removesuffix("_cm3").replace("_", " ") for name in VOLUMES}


def test_rows_are_in_the_order_of_case_quantity_and_rank(cases, table) -> None:
    assert list(table.columns) == list(COLUMNS)
    assert list(dict.fromkeys(table["case"])) == ["first", "other"]
    first = table[table["case"] == "first"]
    assert list(dict.fromkeys(first["quantity"])) == list(reported(cases[0]))
    # the station does 1.7 times as much as the throat, the cup shape is no length
    for _, rows in first.groupby("quantity", sort=False):
        assert list(rows["dimension"]) == ["station 2", "throat.diameter", "cup.shape"]
        assert list(rows["rank"][:2]) == [1, 2]
        assert pd.isna(rows["rank"].iloc[2])


def test_a_rank_goes_by_the_size_and_not_by_the_sign_of_an_effect(cases) -> None:
    found = reported(cases[0])["resonance"]
    dimensions = cases[0].dimensions
    assert ranks(found, dimensions) == {"station 2": 1, "throat.diameter": 2}
    larger = {**found.slopes, "throat.diameter": Quantity(-1e3, 1.0, "cents")}
    assert ranks(replace(found, slopes=larger), dimensions)["throat.diameter"] == 1


def test_an_effect_is_above_the_noise_where_it_beats_both_errors() -> None:
    assert above_noise(Quantity(-0.3, 0.2), 0.25) is True
    assert above_noise(Quantity(0.3, 0.2), 0.31) is False
    assert above_noise(Quantity(0.3, 0.4), 0.01) is False
    assert above_noise(Quantity(0.3, None), 0.01) is None
    assert above_noise(Quantity(0.3, 0.1), None) is None


def test_above_the_noise_is_said_of_a_thousandth_of_an_inch() -> None:
    """0.001 in of 2 cents a mm is 0.05 cents; the resonance is known to 0.027 or to 0.27."""
    for error, word in ((1e-5, "yes"), (1e-4, "no")):
        case = make_case("bore", {})
        peak = case.resonances[0]
        value = replace(peak.frequency, uncertainty=1.56 * error * peak.frequency.value)
        slope = {"length": _sound_slope(2.0)}
        peak = replace(peak, frequency=value, by_dimension=slope)
        case = replace(
            case,
            acoustics=replace(case.acoustics, resonances=(peak,)),
            dimensions=[DimensionValue(key="length", label="length", unit="mm", value=88.0)],
        )
        row = sensitivities_table([case]).iloc[0]
        assert row["noise_floor"] == pytest.approx(2700 * error, rel=0.01)
        assert (row["quantity"], row["above_noise"]) == ("resonance", word)


def _sound_slope(cents: float) -> ResonanceSlope:
    return ResonanceSlope(frequency=Quantity(cents, 0.01, "cents"))


@pytest.mark.parametrize(
    ("key", "unit", "value", "step"),
    [
        ("throat.diameter", "mm", 3.66, 0.0366),
        ("cup.shape", "", 0.6, 0.01),
        ("cup.shape", "", 1e-9, 0.01),
        ("backbore.taper", "", -0.5, 0.02),
        ("angle", "deg", 45.0, 0.9),
        ("another number", "", 0.3, 0.01),
    ],
)
def test_a_per_cent_is_of_a_length_or_of_the_whole_range(key, unit, value, step) -> None:
    dimension = DimensionValue(key=key, label=key, unit=unit, value=value)
    assert steps_of(dimension)["1_percent"] == pytest.approx(step)
    assert ("0.001_in" in steps_of(dimension)) == (unit == "mm")


def test_peaks_are_counted_in_the_studys_first_case() -> None:
    frequencies = [235.0, 350.0, 470.0, 585.0, 700.0]
    column = {"termination": "air column, 2 stations"}
    first = make_case("first", {}, frequencies=frequencies, **column)
    other = make_case("other", {}, frequencies=frequencies[1:], **column)
    peaks = replace(other.resonances[0], Q=None), *other.resonances[1:]
    other = replace(other, acoustics=replace(other.acoustics, resonances=peaks))
    table = sensitivities_table([first, other])
    rows = table[(table["case"] == "other") & table["quantity"].str.startswith("peak")]
    numbers = rows["quantity"].str.extract(r"^peak (\d+)$")[0].dropna()
    assert list(numbers) == ["2", "3", "4", "5"]
    without = rows[rows["value"].isna()]
    assert list(without["quantity"]) == ["peak 2 Q"]


def test_a_rate_without_a_solution_is_rows_that_say_so(cases) -> None:
    lost = altered(cases[1], 1, converged=False)
    table = sensitivities_table([cases[0], lost])
    rows = table[(table["case"] == "other") & table["quantity"].isin(names_at_rate(LOUD))]
    assert list(rows["quantity"]) == names_at_rate(LOUD)
    assert set(rows["note"]) == {"no number: the solution did not converge"}
    assert rows[["value", "slope_per_unit", "effect_of_1_percent", "rank"]].isna().all(axis=None)
    assert set(rows["dimension"]) == {""}


def test_a_derivative_that_was_not_computed_is_a_row_that_says_so(cases) -> None:
    bare = altered(cases[0], 0, by_dimension={})
    table = sensitivities_table([bare])
    rows = table[table["quantity"] == f"pressure drop at {SOFT:g} L/s"]
    assert len(rows) == 3
    assert set(rows["note"]) == {NO_SLOPE}
    assert rows["value"].notna().all()
    assert rows[["slope_per_unit", "rank"]].isna().all(axis=None)
    assert set(rows["above_noise"]) == {""}
    without = sensitivities_table([replace(cases[0], dimensions=())])
    assert set(without["note"]) == {NO_SLOPE}


def test_no_per_cent_is_said_of_a_drop_of_nothing(cases) -> None:
    slope = {"throat.diameter": DropSlope(pressure_drop=Quantity(1.0, 0.1, "Pa"))}
    nothing = Quantity(0.0, 0.1, "Pa")
    table = sensitivities_table([altered(cases[0], 0, pressure_drop=nothing, by_dimension=slope)])
    rows = table[table["quantity"] == f"pressure drop at {SOFT:g} L/s"]
    assert set(rows["note"]) == {NO_SHARE}
    assert rows[["slope_per_unit", "noise_floor"]].isna().all(axis=None)


def test_the_file_reads_back_as_it_was_written(cases, tmp_path) -> None:
    table = sensitivities_table([cases[0], altered(cases[1], 1, converged=False)])
    write_table(table, tmp_path / "sensitivities.csv")
    back = read_table(tmp_path / "sensitivities.csv")
    pd.testing.assert_frame_equal(back, table.astype({"rank": float}))
    assert "1.0" not in set(pd.read_csv(tmp_path / "sensitivities.csv", dtype=str)["rank"].dropna())
