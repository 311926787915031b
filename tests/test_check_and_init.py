"""What `borestudy check` shows of a bore, and the study that `borestudy init` begins with."""

import json
import math
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from borestudy.__main__ import main
from borestudy.air import humid_air
from borestudy.command_line.init import STATIONS, study_text
from borestudy.drawing.characters import AIR, CHARACTER, METAL, section_in_characters
from borestudy.drawing.outline import outline
from borestudy.stages.check import MOIST, moist_sound_speed
from borestudy.stages.meaning import dimension_rows, meaning_of
from borestudy.study import load_study

CONFIGS = Path(__file__).parents[1] / "configs"
WIDTH = 76


def first_bore(name="entry-rounding"):
    return load_study(CONFIGS / f"{name}.yaml").cases()[0].build_bore()


def test_the_section_in_characters_is_as_wide_as_the_bore():
    bore = first_bore()
    lines = section_in_characters(outline(bore), WIDTH)
    rows = [line.ljust(WIDTH, AIR) for line in lines if set(line) <= {METAL, AIR}]
    open_rows = np.array([[cell == AIR for cell in row] for row in rows]).sum(axis=0)
    column = 1e3 * bore.length / WIDTH
    places = 1e-3 * column * (np.arange(WIDTH) + 0.5)
    wide = 2 * 1e3 * bore.radius(places) * 2 / (CHARACTER * column)
    # Rows at whole heights -h … h on either side of the axis: within one row of the width.
    assert np.abs(open_rows - wide).max() <= 1.0
    assert rows == rows[::-1]


def test_a_step_and_a_narrow_pipe_are_drawn_too():
    for name in ("nozzle-benchmark", "measured", "overall-length"):
        lines = section_in_characters(outline(first_bore(name)), 60)
        assert max(map(len, lines[:-1])) <= 61
        assert all(AIR in row or row == METAL * 60 for row in lines[:-2] if row)


def test_parts_are_marked_where_they_begin():
    bore = first_bore()
    *_, marks, words = section_in_characters(outline(bore), WIDTH)
    assert words == "cup 0 to 10.8, throat 10.8 to 15.8, backbore 15.8 to 88 mm from the rim plane"
    expected = {round(x / 88 * WIDTH) for x in (0, 10.8, 15.8, 88)}
    assert {place for place, cell in enumerate(marks) if cell == "|"} == expected


def test_dimensions_are_in_both_units_with_the_nearest_drill_and_what_it_is_off():
    rows = {row[0]: row[1:] for row in dimension_rows(first_bore())}
    assert rows["overall length"] == ["88.000", "3.4646", ""]
    # No. 27 is 0.1440 in and letter T 0.358 in: ASME B94.11M.
    assert rows["throat diameter"] == ["3.658", "0.1440", "drill 27 (0.1440 in)"]
    assert rows["end diameter"] == ["9.000", "0.3543", "drill T (0.3580 in, 9.093 mm: +0.093 mm)"]
    cup, inch = float(rows["cup volume"][0]), float(rows["cup volume"][1])
    assert inch == pytest.approx(cup / 2.54**3, abs=1e-5 + 0.5e-3 / 2.54**3)


def test_check_prints_dimensions_time_and_where_results_go(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    Path("mine.yaml").write_text((CONFIGS / "entry-rounding.yaml").read_text())
    assert main(["check", "mine.yaml"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert "dimensions of entry-square:" in lines
    assert re.fullmatch(r"time: about .* on \d+ cores? \(times of each job recorded elsewhere\)",
                        lines[-2])  # fmt: skip
    assert lines[-1] == "results: results/mine"
    results = Path("results/mine")
    results.mkdir(parents=True)
    (results / "benchmarks.csv").write_text(
        "rule,case,wall_time_s,peak_memory_MB\nfigures,,36000,1\n"
    )
    assert main(["check", "mine.yaml", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["times_recorded_here"]
    assert found["time_s"] > 36000
    assert found["cases"][0]["case"] == "entry-square"
    one = found["cases"][4]
    assert one["varied"] == {"throat.entry": "rounded 2 mm"}
    assert one["nearest_drill_to_throat"] == "drill 27"
    meaning = meaning_of(load_study("mine.yaml"))
    assert one["cup_volume_cm3"] == pytest.approx(
        1e6 * sum(meaning.bores[one["case"]].volume(part) for part in ("cup", "entry"))
    )


def test_check_draws_the_sections_to_a_file(tmp_path, capsys):
    picture = tmp_path / "sections.svg"
    assert main(["check", str(CONFIGS / "entry-rounding.yaml"), "--picture", str(picture)]) == 0
    assert capsys.readouterr().out.endswith(f"Picture: {picture}\n")
    drawn = picture.read_text(encoding="utf-8")
    assert "backbore" in drawn
    assert "rounded 2 mm" in drawn
    assert main(["check", str(CONFIGS / "measured.yaml"), "--picture", "bore.gif"]) == 2
    assert "allowed is a file that ends in .svg" in capsys.readouterr().err


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize("options", [[], ["--measured"]])
def test_check_takes_what_init_writes(here, capsys, options):
    assert main(["init", *options]) == 0
    assert capsys.readouterr().out.startswith("Study: study.yaml\n")
    assert main(["check", "study.yaml"]) == 0
    shown = capsys.readouterr()
    assert "caution" not in shown.out
    assert len(load_study("study.yaml").cases()) == (2 if options else 3)


SETTINGS = [line[1:] for line in study_text("x").splitlines() if re.match(r"#\S| *#  \w", line)]


@pytest.mark.parametrize("setting", SETTINGS)
def test_every_setting_that_init_leaves_out_can_be_stated(here, capsys, setting):
    text = study_text("x").replace(f"#{setting}", setting)
    if setting.startswith("combine"):  # whose lists are of one length
        text = text.replace("#  throat.d", "  throat.d")
    Path("study.yaml").write_text(text)
    assert main(["check", "study.yaml"]) == 0
    key = setting.split(":")[0].strip()
    assert key in capsys.readouterr().out + json.dumps(load_study("study.yaml").resolved())


def test_every_setting_that_init_leaves_out_of_a_measured_bore_can_be_stated(here, capsys):
    assert main(["init", "--measured"]) == 0
    text = Path("study.yaml").read_text()
    settings = re.findall(r"^  #(\w.*)$", text, flags=re.MULTILINE)
    assert [one.split(":")[0] for one in settings] == ["uncertainty", "outliers", "smoothing"]
    for setting in settings:
        Path("study.yaml").write_text(text.replace(f"#{setting}", setting))
        assert main(["check", "study.yaml"]) == 0
        key, value = setting.split(": ")
        assert load_study("study.yaml").resolved()["bore"][key] == value


def test_init_leaves_out_more_than_nothing():
    assert {setting.split(":")[0].strip() for setting in SETTINGS} >= {"tolerance", "combine"}
    assert math.isclose(float(STATIONS.split()[-1].split(",")[1]), 9.0)


@pytest.mark.parametrize(
    ("given", "message"),
    [
        (["study.yaml"], "found 'study.yaml', which is there and would be overwritten"),
        (["my.yaml", "--measured"], "found 'my-stations.csv', which is there and would be"),
        (["study.txt"], "allowed is a file that ends in .yaml, for example study.yaml"),
        (["no/study.yaml"], "and no folder no; allowed is a file in a folder that is there"),
    ],
)
def test_init_overwrites_nothing(here, capsys, given, message):
    for name in ("study.yaml", "my-stations.csv"):
        Path(name).write_text("mine")
    assert main(["init", *given]) == 2
    shown = capsys.readouterr()
    assert message in shown.err
    assert "for example" in shown.err
    assert {path.name: path.read_text() for path in here.iterdir()} == {
        "study.yaml": "mine",
        "my-stations.csv": "mine",
    }


@pytest.mark.parametrize("temperature", [273.15, 293.15, 310.15, 323.15])
@pytest.mark.parametrize("humidity", [0.0, 0.5, 1.0])
@pytest.mark.parametrize("pressure", [70e3, 101325.0])
def test_the_speed_of_sound_of_cautions_is_near_enough_to_that_of_humid_air(
    temperature, humidity, pressure
):
    exact = humid_air(temperature, humidity, pressure).sound_speed
    assert abs(moist_sound_speed(temperature, humidity, pressure) / exact - 1) < MOIST


def test_a_caution_that_is_clear_loads_no_library_of_air(tmp_path):
    words = "import sys; from borestudy.__main__ import main; main(['check', {!r}]); "
    words += "print('CoolProp' in sys.modules)"
    ran = subprocess.run(
        [sys.executable, "-c", words.format(str(CONFIGS / "entry-by-throat.yaml"))],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert "the throat's Mach number is 0.2" in ran.stdout
    assert ran.stdout.splitlines()[-1] == "False"
