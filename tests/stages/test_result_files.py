"""Which files the workflow's rules are told to read and to write."""

from types import SimpleNamespace

import pytest

from borestudy.stages.batches.steps import steps_of
from borestudy.stages.layout import Layout
from borestudy.study import study_from_mapping

BORE = {
    "length": "88 mm",
    "cup": {"diameter": "16.2 mm", "depth": "10.8 mm"},
    "throat": {"diameter": "drill 27", "length": "5 mm"},
    "backbore": {"end_diameter": "9 mm"},
}


@pytest.fixture
def layout(tmp_path):
    """The layout of two throats in two airs, with some keys changed."""

    def make(**changed):
        varied = {"throat.diameter": ["3.6 mm", "3.7 mm"], "air.temperature": "20 degC, 25 degC"}
        mapping = {"bore": BORE, "vary": varied} | changed
        return Layout(study_from_mapping(mapping, tmp_path, "two"), "results/two")

    return make


@pytest.mark.parametrize(
    ("asked", "models"),
    [
        ("estimate", ["estimate"]),
        ("both", ["estimate", "laminar", "turbulent"]),
        ("laminar", ["estimate", "laminar"]),
        ("turbulent", ["estimate", "turbulent"]),
    ],
)
def test_the_best_estimate_has_its_files_and_beside_it_what_is_asked_for(layout, asked, models):
    found = layout(flow={"closure": asked})
    assert list(found.models) == models
    patterns = [pattern for step in steps_of(found).values() for pattern in step.files]
    for word in ("estimate", "laminar", "turbulent"):
        assert (f"mesh/{word}-*.msh" in patterns) == (word in models)
        assert (f"flow-{word}/*.vtu" in patterns) == (word in models)


def test_no_file_is_named_twice(layout):
    documented = layout().documented()
    assert len(documented) == len(set(documented))
    assert all(path.startswith("results/two/") for path in documented)


def test_measured_bores_alone_have_a_measurement_for_each_case(layout, tmp_path):
    assert layout().of_measured() == ()
    (tmp_path / "bore.csv").write_text("position_mm,diameter_mm\n0,16\n11,4\n16,4\n88,9\n")
    measured = layout(bore={"stations": "bore.csv"}, vary={"join": ["straight", "smooth"]})
    assert measured.of_measured() == ("measurement.json",)


def test_cases_share_the_air_that_is_the_same(layout):
    found = layout()
    assert len(found.cases) == 4
    assert list(found.airs) == ["air_temperature-20degC", "air_temperature-25degC"]
    for name, case in found.cases.items():
        temperature = case.varied["air.temperature"]
        asked = SimpleNamespace(case=name, air=f"air_temperature-{temperature.replace(' ', '')}")
        assert found.air_of(case) == f"results/two/air/{asked.air}.json"
        kelvin = float(temperature.split()[0]) + 273.15
        assert found.conditions_of_air(asked)["temperature"] == kelvin


def test_an_air_column_is_one_file(layout, tmp_path):
    (tmp_path / "column.csv").write_text("position_mm,diameter_mm\n0,9\n100,9\n")
    found = layout(resonance={"behind": {"air column": "column.csv"}})
    assert found.air_column_file() == str(tmp_path / "column.csv")
    assert found.study.termination() == "air column"


def test_a_case_without_stations_waits_for_no_file(layout):
    found = layout()
    asked = SimpleNamespace(batch="0001")
    assert found.stations_of_batch(asked) == found.air_column_file() == []


def test_what_a_file_of_readings_has_is_written_and_read_again(layout, tmp_path):
    from borestudy.bore.measured.record import MeasurementRecord
    from borestudy.records import read_record
    from borestudy.stages.geometry import write_measurement
    from borestudy.stages.measured import measurement_record

    (tmp_path / "bore.csv").write_text(
        "position_in;diameter_in\n0;0,63\n0,5;0,15\n0,7;0,15\n3,4;0,35\n"
    )
    (case,) = layout(bore={"stations": "bore.csv"}, vary={}).cases.values()
    path = tmp_path / "measurement.json"
    write_measurement(measurement_record(case), [path])
    found = read_record(path, MeasurementRecord)
    assert [one.kind for one in found.findings] == ["separator", "decimal comma"]
    assert found.parts["throat"].from_mm == pytest.approx(12.7)
    assert found.stations[0].diameter_mm_uncertainty == pytest.approx(0.0254)
    (designed,) = layout(vary={}).cases.values()
    assert measurement_record(designed) is None
