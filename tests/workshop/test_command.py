"""``borestudy drawing``: from a study to a file."""

import ezdxf
import pytest

from borestudy.__main__ import main

STUDY = """
question: Is this an invented bore?
bore:
  length: 88 mm
  cup: {diameter: 16.2 mm, depth: 10.8 mm, shape: 0.6}
  throat: {diameter: drill 27, length: 5 mm, entry: square}
  backbore: {end_diameter: 9.0 mm, taper: straight}
vary: {throat.entry: [square, rounded 1 mm]}
tolerance: 0.002 in
tolerances: {throat.diameter: 0.0005 in}
"""
STATIONS = "position_mm,diameter_mm\n0,16.2\n10.8,3.66\n15.8,3.66\n88,9\n"


@pytest.fixture
def study(tmp_path):
    path = tmp_path / "invented.yaml"
    path.write_text(STUDY, encoding="utf-8")
    return path


def words(path):
    return [one.dxf.text for one in ezdxf.readfile(path).modelspace().query("TEXT")]


def test_the_case_asked_for_is_drawn_with_the_studys_tolerances(study, tmp_path, capsys):
    output = tmp_path / "bore.dxf"
    asked = ["drawing", str(study), "--case", "entry_radius-1.00mm", "--output", str(output)]
    assert main(asked) == 0
    assert capsys.readouterr().out.splitlines()[-1] == f"Drawing: {output}"
    found = words(output)
    row = found.index("throat diameter")
    assert found[row + 1 : row + 4] == [
        "3.658 ± 0.013", "0.1440 ± 0.0005", "nearest drill 27 (0.1440 in)",
    ]  # fmt: skip
    assert found[found.index("cup depth") + 1] == "10.800 ± 0.051"
    assert found[found.index("throat entry") + 1] == "rounded 1 mm"


def test_a_measured_bore_is_drawn_with_what_was_found_on_it(tmp_path):
    (tmp_path / "stations.csv").write_text(STATIONS, encoding="utf-8")
    study = tmp_path / "measured.yaml"
    study.write_text("question: Q?\nbore: {stations: stations.csv}\n", encoding="utf-8")
    output = tmp_path / "bore.dxf"
    assert main(["drawing", str(study), "--output", str(output)]) == 0
    found = words(output)
    assert found[found.index("cup depth") + 1] == "10.800 ± 0.025"
    assert found[found.index("throat length") + 1] == "5.000 ± 0.025"
    assert found[found.index("overall length") + 1] == "88.000 ± 0.025"


def test_another_kind_of_file_is_refused_and_nothing_written(study, tmp_path, capsys):
    assert main(["drawing", str(study), "--output", str(tmp_path / "bore.step")]) == 2
    said = capsys.readouterr().err
    assert said.startswith("--output: found ")
    assert ".dxf or .pdf or .svg, for example bore.dxf" in said
    assert {path.name for path in tmp_path.iterdir()} == {"invented.yaml"}
