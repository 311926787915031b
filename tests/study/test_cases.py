"""Named cases: which there are, what they are called, and what their bores are."""

import re

import numpy as np
import pytest

from borestudy.study import StudyError
from borestudy.study.naming import name_part
from borestudy.study.quantities import Checked, ThroatEntry


def names(study):
    return [case.name for case in study.cases()]


def test_the_example_has_a_case_for_each_entry_in_the_order_written(make):
    assert names(make({})) == [
        "entry-square",
        "entry_radius-0.25mm",
        "entry_radius-0.50mm",
        "entry_radius-1.00mm",
        "entry_radius-2.00mm",
    ]


def test_a_study_that_varies_nothing_has_one_case(make):
    assert names(make({"vary": None})) == ["base"]


def test_a_grid_has_every_combination_the_first_dimension_changing_slowest(make):
    study = make({"vary": {"cup.depth": "9, 10 mm", "cup.shape": [0, 1]}})
    assert [(case.bore.cup.depth, case.bore.cup.shape) for case in study.cases()] == [
        ("9 mm", 0.0), ("9 mm", 1.0), ("10 mm", 0.0), ("10 mm", 1.0)
    ]  # fmt: skip


def test_paired_lists_go_side_by_side(make):
    study = make({
        "vary": {"cup.depth": ["9 mm", "10 mm", "9 mm"], "cup.shape": [0, 0.5, 1]},
        "combine": "paired",
    })  # fmt: skip
    assert names(study) == [
        "cup_depth-9.00mm__cup_shape-0.00",
        "cup_depth-10.00mm__cup_shape-0.50",
        "cup_depth-9.00mm__cup_shape-1.00",
    ]


def depths(count):
    return [f"{9 + 1e-4 * index:.4f} mm" for index in range(count)]


@pytest.mark.parametrize("others", [101, 10_000])
def test_more_cases_than_can_be_planned_are_refused_before_any_is_made(make, monkeypatch, others):
    monkeypatch.setattr("borestudy.study.cases.Case", None)  # none can be made
    vary = {"cup.depth": depths(100), "backbore.end_diameter": depths(others)}
    with pytest.raises(
        StudyError, match=rf"{100 * others:,} cases \(100 of cup.depth x {others} of"
    ):
        make({"vary": vary})


def test_ten_thousand_cases_are_allowed(make):
    vary = {"cup.depth": depths(100), "backbore.end_diameter": depths(100)}
    assert len(make({"vary": vary}).cases()) == 10_000


def test_what_is_not_varied_is_the_same_in_every_case(make):
    for case in make({}).cases():
        assert case.bore.cup.depth == "10.8 mm"
        assert case.bore.throat.diameter == "drill 27"


def test_the_air_can_be_varied(make):
    study = make({"vary": {"air.temperature": ["20 degC", "37 degC"]}})
    cold, warm = (case.build_air().sound_speed for case in study.cases())
    # Ideal gas: the speed of sound goes with the root of the absolute temperature; moisture and
    # real-gas terms add less than half a per cent.
    assert warm / cold == pytest.approx(np.sqrt(310.15 / 293.15), rel=5e-3)


@pytest.mark.parametrize(
    ("key", "value", "part"),
    [
        ("throat.diameter", "drill 27", "throat_diameter-drill27"),
        ("throat.diameter", "drill #27", "throat_diameter-drill27"),
        ("throat.diameter", "0.144 in", "throat_diameter-0.144in"),
        ("throat.diameter", '.1440 "', "throat_diameter-0.144in"),
        ("throat.diameter", "9/64 in", "throat_diameter-9-64in"),
        ("throat.diameter", "3.66 mm", "throat_diameter-3.66mm"),
        ("cup.depth", "10.8 mm", "cup_depth-10.80mm"),
        ("cup.depth", "10.80 mm", "cup_depth-10.80mm"),
        ("cup.depth", "1.08e1mm", "cup_depth-10.80mm"),
        ("cup.depth", "10.8125 mm", "cup_depth-10.8125mm"),
        ("cup.shape", 0.1 + 0.2 - 0.2, "cup_shape-0.10"),
        ("throat.entry", "rounded  0.5 mm", "entry_radius-0.50mm"),
        ("throat.entry", "chamfered 0.5 mm at 30 deg", "entry_chamfer-0.50mm-30deg"),
        ("throat.entry", "elliptical 2 x 1 mm", "entry_ellipse-2.00-1.00mm"),
        ("backbore.taper", "opening late", "backbore_taper-opening-late"),
        ("backbore.taper", 0.2, "backbore_taper-0.20"),
        ("backbore.taper", -0.25, "backbore_taper--0.25"),
        ("air.relative_humidity", "50 %", "air_relative_humidity-50percent"),
        ("stations", "my bore (2).csv", "stations-my-bore-2"),
    ],
)
def test_names_come_from_what_is_written_and_not_from_floating_point(key, value, part):
    if key == "cup.shape":
        assert value != 0.1  # 0.10000000000000003: what a name made from a float would show
        value = round(value, 12)
    assert name_part(key, value) == part


def test_every_name_can_be_a_folder(make):
    study = make({"vary": {
        "throat.entry": ["chamfered 1 mm at 45 deg", "elliptical 2 mm x 1 mm", "square"],
        "backbore.taper": ["straight", [{"position": "20 mm", "diameter": "4.5 mm"}]],
        "air.temperature": ["-5 °C", "20 degC"],
    }})  # fmt: skip
    found = names(study)
    assert len(set(found)) == 12
    for name in found:
        assert re.fullmatch(r"[A-Za-z0-9._-]+", name)


def test_names_do_not_depend_on_the_other_values_of_the_study(make):
    few = names(make({"vary": {"throat.entry": ["square", "rounded 1 mm"]}}))
    many = names(make({"vary": {"throat.entry": ["rounded 1 mm", "square", "rounded 2 mm"]}}))
    assert set(few) < set(many)


def test_cases_that_would_share_a_folder_are_refused(make, tmp_path):
    for name in ("a b.csv", "a-b.csv"):
        (tmp_path / name).write_text((tmp_path / "stations.csv").read_text())
    with pytest.raises(StudyError, match=r"2 cases that would all be named stations-a-b"):
        make({"bore": {"join": "straight"}, "vary": {"stations": ["a b.csv", "a-b.csv"]}})


def test_a_case_is_found_by_its_name(make):
    study = make({})
    assert study.case("entry_radius-0.50mm").bore.throat.entry == "rounded 0.5 mm"
    with pytest.raises(StudyError, match=r"case: found 'entry-round'; allowed is one of entry-sq"):
        study.case("entry-round")


@pytest.mark.parametrize(
    ("key", "value", "table"),
    [
        ("throat.diameter", "drill 27", {"throat_diameter_mm": 3.6576}),
        ("cup.depth", "0.4 in", {"cup_depth_mm": 10.16}),
        ("throat.entry", "square", {"entry": "square", "entry_radius_mm": 0.0}),
        ("throat.entry", "rounded 0.5 mm", {"entry": "rounded 0.5 mm", "entry_radius_mm": 0.5}),
        ("throat.entry", "chamfered 1 mm", {"entry": "chamfered 1 mm", "entry_radius_mm": None}),
        ("air.temperature", "77 degF", {"air_temperature_degC": 25.0}),
        ("air.relative_humidity", "50 %", {"air_relative_humidity_percent": 50.0}),
        ("air.pressure", "1013.25 hPa", {"air_pressure_kPa": 101.325}),
        ("cup.shape", 1, {"cup_shape": 1.0}),
        ("backbore.taper", "opening late", {"backbore_taper": "opening late"}),
        ("backbore.taper", 0.25, {"backbore_taper": 0.25}),
        ("backbore.taper", "-0.25", {"backbore_taper": -0.25}),
    ],
)
def test_columns_of_a_table_have_their_unit_in_the_name(make, key, value, table):
    (case,) = make({"vary": {key: [value]}}).cases()
    assert case.varied_columns() == table


def test_a_case_says_what_its_results_depend_on(make):
    first, second, *_ = make({}).cases()
    assert first.description() != second.description()
    again = make({"question": "Another?", "flow/rates": "0.1 L/s", "mesh": {"resolution": "fine"}})
    assert again.cases()[0].description() == first.description()


def test_each_entry_of_a_study_is_parsed_once(make, monkeypatch):
    parsed = []
    kind = next(m for m in ThroatEntry.__metadata__ if isinstance(m, Checked))
    parse = kind.parse
    monkeypatch.setitem(kind.__dict__, "parse", lambda text: parsed.append(text) or parse(text))
    for case in make({}).cases():
        case.build_bore()
        case.varied_columns()
    assert sorted(parsed) == sorted(
        ["square", "rounded 0.25 mm", "rounded 0.5 mm", "rounded 1 mm", "rounded 2 mm"]
    )


def test_a_measured_bore_has_an_error_at_each_station(make):
    (case,) = make({"bore": {"stations": "stations.csv"}, "vary": None}).cases()
    errors = case.station_errors()
    assert errors.independent_m.tolist() == [25.4e-6] * 4
    assert errors.common_m == 0.0


def test_a_bore_of_dimensions_has_no_station_errors(make):
    assert make({}).cases()[0].station_errors() is None
