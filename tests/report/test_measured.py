"""What the report shows of a measured bore's readings."""

from dataclasses import replace
from pathlib import Path

import pytest
from matplotlib.figure import Figure

from borestudy.bore import Reading, measure, measured_bore
from borestudy.bore.measured.record import MeasurementRecord, record_of
from borestudy.drawing.bore import outline
from borestudy.drawing.measured import deviations_mm, looks_of
from borestudy.records import read_record, write_record
from borestudy.report.figures.case import PicturedStudy
from borestudy.report.figures.collection import draw_all
from borestudy.report.figures.measured import draw_measured
from borestudy.report.page import ResultTables, StudyReport, write_report
from borestudy.report.tables.measured import read_files

from .test_layout import caught, overlapping

READINGS = Path(__file__).parents[2] / "configs" / "readings-stations.csv"
HOW = Reading(outliers="leave out", smoothing=0.02e-3, common_uncertainty=5e-6)


@pytest.fixture
def record() -> MeasurementRecord:
    found = measure(READINGS, HOW)
    return record_of(found, measured_bore(found))


@pytest.fixture
def measured(study: PicturedStudy, record: MeasurementRecord) -> PicturedStudy:
    """The invented study with one measured bore, told once for all of its cases."""
    wall = outline(measured_bore(measure(READINGS, HOW)))
    cases = [
        replace(case, outline=wall, results=replace(case.results, measurement=record))
        for case in study.cases
    ]
    return replace(study, cases=cases)


def test_the_shipped_readings_have_every_trouble_and_all_are_told(record):
    kinds = {one.kind for one in record.findings}
    assert kinds >= {
        "separator", "decimal comma", "unit", "direction", "note", "other columns",
        "repeated readings", "step", "left out", "scatter", "smoothing",
    }  # fmt: skip
    lines = READINGS.read_text(encoding="utf-8").splitlines()
    numbered = {number for number, line in enumerate(lines, start=1) if number > 4 and line}
    every = (*record.stations, *record.left_out)
    assert {line for one in every for line in one.lines} == numbered
    assert [one.lines for one in record.left_out] == [(18,)]


def test_a_measurement_is_read_back_as_it_was_written(tmp_path, record):
    write_record(tmp_path / "measurement.json", record)
    assert read_record(tmp_path / "measurement.json", MeasurementRecord) == record


def test_each_station_is_marked_as_what_it_is(record):
    looks = dict(zip([one.lines for one in record.stations], looks_of(record), strict=True))
    assert looks[15, 14, 13] == "repeated"
    assert looks[23,] == looks[22,] == "step"
    assert looks[12,] == "reading"
    places, off = deviations_mm(record)
    assert len(places) == sum(len(one.readings_mm) for one in record.stations)
    within = 0.02 + 0.5 * 0.0200001  # the bound, and half the spread of two readings
    assert 0 < abs(off).max() <= within


def test_the_figure_names_the_parts_and_marks_what_was_left_out(tmp_path, measured):
    drawing = caught(lambda: draw_measured(measured, tmp_path))
    section, below = drawing.axes
    words = {text.get_text() for text in section.texts}
    assert {"cup", "throat", "backbore", "rim plane", "shank end"} <= words
    legend = [text.get_text() for text in drawing.legends[0].get_texts()]
    assert legend == ["one reading", "mean of repeated readings", "step", "left out"]
    crosses = [line for line in section.lines if line.get_marker() == "x"]
    assert [line.get_xydata().tolist() for line in crosses] == [[pytest.approx([30, 7.21 / 2])]]
    assert overlapping(drawing) == []
    assert "wall" in below.get_ylabel()


def test_the_figure_is_one_of_the_report_and_of_no_bore_from_dimensions(tmp_path, study, measured):
    def keep(self: Figure, path: Path, **_: object) -> None:
        path.write_text("<svg></svg>")

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Figure, "savefig", keep)
        (record,) = [one for one in draw_all(tmp_path, measured) if one.name == "stations"]
        assert "stations" not in [one.name for one in draw_all(tmp_path, study)]
    assert "readings-stations.csv" in record.caption
    assert "Smoothing moved no station by more than 0.0186 mm, of 0.02 mm allowed" in record.caption


def test_the_report_tells_every_finding_once(tmp_path, measured):
    files = read_files([case.results for case in measured.cases])
    (file,) = files
    cells = [[cell.text for cell in row] for row in file.findings.rows]
    assert len(cells) == len(measured.cases[0].results.measurement.findings)
    assert ["line 18", "left out"] in [row[:2] for row in cells]
    assert "all of them together by ± 0.005 mm" in file.sentences[1]
    report = StudyReport(
        title="readings", question="Is it one bore?", answers=["Yes."], tables=ResultTables(),
        readings=files,
    )  # fmt: skip
    write_report(tmp_path / "report.html", report)
    page = (tmp_path / "report.html").read_text(encoding="utf-8")
    assert 'href="#stations"' in page
    assert page.count("left out as a slip") == 1
    assert "measurement.json" in page


@pytest.mark.parametrize(("study", "marked"), [("readings", True), ("measured-entry", False)])
def test_checks_picture_has_the_readings_unless_the_bores_are_changed(tmp_path, study, marked):
    from borestudy.stages.meaning import meaning_of
    from borestudy.study import load_study

    meaning = meaning_of(load_study(READINGS.parent / f"{study}.yaml"))
    drawing = caught(lambda: meaning.draw(tmp_path / "picture.svg"))
    titles = [axes.get_title(loc="left") for axes in drawing.axes]
    files = ["measured-stations.csv", "", "readings-stations.csv", ""]
    assert titles == (files if marked else [""])


def test_what_is_solved_at_once_tells_its_readings_and_its_cautions():
    from borestudy.stages.measured import readings_told
    from borestudy.study import load_study

    lines = readings_told(load_study(READINGS.parent / "readings.yaml").cases())
    assert [line for line in lines if line.startswith("readings of ")] == [lines[0], *[
        line for line in lines if line.startswith("readings of readings-stations.csv: 28 stations")
    ]]  # fmt: skip
    assert len([line for line in lines if line.startswith("caution: ")]) == 1
    assert "line 18" in lines[-1]


def test_many_repeated_readings_are_told_by_their_lines(tmp_path):
    from borestudy.stages.meaning import meaning_of
    from borestudy.stages.measured import measurement_lines
    from borestudy.study import study_from_mapping

    stations = [(0, 16), (11, 4), (16, 4), *((x, 4 + (x - 16) / 14) for x in range(20, 87, 6))]
    rows = [f"{x},{d:.3f}" for x, d in stations for _ in range(2)]
    (tmp_path / "bore.csv").write_text("\n".join(["position_mm,diameter_mm", *rows]))
    study = study_from_mapping({"bore": {"stations": "bore.csv"}}, tmp_path, "study")
    lines = [
        line
        for line in measurement_lines(study.cases())
        if "  bore.csv" in line and "repeated" in line
    ]
    assert len(lines) == 6
    assert (
        lines[-1].strip()
        == f"bore.csv, lines 12 to {len(rows) + 1}: repeated readings, 10 more times"
    )
    (found,) = meaning_of(study).facts()["readings"]
    assert len([one for one in found["findings"] if one["kind"] == "repeated readings"]) == 15
