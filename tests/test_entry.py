"""The maker's question from options alone: its answer, and what is refused."""

import contextlib
import io
import json
import re
from pathlib import Path

import numpy as np
import pytest

from borestudy.__main__ import main
from borestudy.rounding import with_uncertainty
from borestudy.stages.entry import bore_words, entry_study
from borestudy.views.entry import EntryAnswer

from .results.conftest import make_case
from .results.test_first import NEEDS_EXPLANATION, SIZE

DRILL = {"throat.diameter": "drill 27"}


@pytest.fixture(scope="module")
def answered(tmp_path_factory: pytest.TempPathFactory) -> tuple[dict, Path]:
    """What the command answers for one radius, solved on coarse meshes by two processes."""
    folder = tmp_path_factory.mktemp("entry")
    words = io.StringIO()
    with contextlib.redirect_stdout(words):
        code = main(
            ["entry", "--throat", "drill 27", "--radii", "1 mm", "--rate", "0.2 L/s",
             "--resolution", "coarse", "--picture", str(folder / "entry.svg"),
             "--output", str(folder / "entry.csv"), "--json"]
        )  # fmt: skip
    assert code == 0
    return json.loads(words.getvalue()), folder


def test_two_sentences_have_the_numbers_of_the_table(answered: tuple[dict, Path]) -> None:
    found, _ = answered
    assert len(found["answer"]) == 2
    square, rounded = found["rows"]
    assert (square["case"], rounded["case"]) == ("entry-square", "entry_radius-1.00mm")
    flow, sound = found["answer"]
    change, error = (rounded[f"pressure_drop_change_percent{end}"] for end in ("", "_uncertainty"))
    assert f"falls by {with_uncertainty(-change, error)} % at 0.2 L/s" in flow
    ratio = rounded["pressure_drop_Pa"] / square["pressure_drop_Pa"]
    assert change == pytest.approx(100 * (ratio - 1), abs=error)
    assert change < -error
    assert "the first resonance rises by" in sound
    for one in found["answer"]:
        assert len(SIZE.findall(one)) == 1
        assert not NEEDS_EXPLANATION.search(one)


def test_both_errors_are_in_the_answer(answered: tuple[dict, Path]) -> None:
    found, _ = answered
    flow = found["numbers"][0]
    assert flow["numerical"] > 0
    assert flow["model"] > 0
    joined = (flow["numerical"] ** 2 + flow["model"] ** 2) ** 0.5
    assert f"± {with_uncertainty(flow['value'], joined).split('± ')[1]} %" in found["answer"][0]
    assert "the ± holds both errors" in found["answer"][0]


def test_table_and_picture_are_written(answered: tuple[dict, Path]) -> None:
    found, folder = answered
    assert found["files"] == [str(folder / "entry.csv"), str(folder / "entry.svg")]
    assert (folder / "entry.csv").read_text().startswith("case,flow_rate_L_per_s,")
    assert "rounded 1 mm" in (folder / "entry.svg").read_text()


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([], ["--throat: missing", "--stations", 'for example --throat "drill 27"']),
        (["--throat", "drill 99"], ["--throat: found 'drill 99'", "for example drill 27"]),
        (["--throat", "3.6"], ["--throat: found '3.6'", "without a unit"]),
        (["--throat", "drill 27", "--radii", "half"], ["--radii: found 'half'", "0.5 mm"]),
        (["--throat", "drill 27", "--radii", "30 mm"], ["--radii: found '30 mm'", "at most"]),
        (["--throat", "drill 27", "--radii", "1, 1 mm"], ["--radii: found '1 mm' and '1 mm'"]),
        (["--throat", "drill 27", "--rate", "0.2"], ["--rate: found '0.2'", "0.05 L/s"]),
        (["--throat", "drill 27", "--rate", "1, 2 L/s"], ["--rate: found", "one flow rate"]),
        (["--throat", "drill 27", "--rate", "9 L/s"], ["--rate: found 9 L/s", "Mach 0.3"]),
        (["--throat", "drill 27", "--length", "10 mm"], ["--cup-depth: found 10.8 mm"]),
        (["--throat", "drill 27", "--cup-shape", "3"], ["--cup-shape: found 3.0", "0.6"]),
        (["--throat", "drill 27", "--cup-shape", "full"], ["--cup-shape: found 'full'"]),
        (["--throat", "drill 27", "--end", "1 mm"], ["--end: found", "for example"]),
        (["--throat", "drill 27", "--stations", "x.csv"], ["--throat: found beside --stations"]),
        (["--stations", "none.csv"], ["--stations: found 'none.csv'", "no such file"]),
        (["--throat", "drill 27", "--radi", "1 mm"], ["--radi: unknown", "did you mean --radii?"]),
        (["--throat", "drill 27", "--picture", "x.bmp"], ["--picture: found 'x.bmp'", "x.svg"]),
        (["--throat", "drill 27", "--resolution", "best"], ["best", "medium", "for example"]),
    ],
)
def test_what_cannot_be_is_refused_in_the_options_words(
    arguments: list[str], words: list[str], capsys: pytest.CaptureFixture[str],
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    assert main(["entry", *arguments]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    for part in words:
        assert part in said.err
    assert len(said.err.splitlines()) == 1
    assert not re.search(r"\bcase\b|bore\.(?!csv)|flow\.rates|throat\.entry", said.err)
    assert list(tmp_path.iterdir()) == []


def test_the_study_compares_each_radius_with_the_square_entry() -> None:
    study = entry_study("0.5, 1 mm", "200 mL/s", DRILL | {"length": "3.4 in"})
    assert [case.label for case in study.cases()] == ["square", "rounded 0.5 mm", "rounded 1 mm"]
    assert list(study.flow_rates()) == pytest.approx([2e-4])
    bore = study.cases()[0].build_bore()
    assert bore.length == pytest.approx(3.4 * 25.4e-3)
    assert 2 * bore.throat_radius == pytest.approx(0.144 * 25.4e-3)


def test_the_answer_says_which_dimensions_nobody_gave() -> None:
    told = bore_words(DRILL | {"length": "90 mm"})
    assert told.startswith("The bore: throat drill 27, length 90 mm; not given, and taken from an")
    assert "cup 10.8 mm deep" in told
    assert "88 mm" not in told


def test_the_table_below_the_sentences_has_both_errors_of_each_pressure() -> None:
    cases = [
        make_case(name, {"entry": name, "entry_radius_mm": size}, resistance=drop, rates=(0.2,))
        for name, size, drop in (("square", 0.0, 100.0), ("rounded 1 mm", 1.0, 80.0))
    ]
    lines = EntryAnswer(cases, []).lines()
    row = next(line for line in lines if line.startswith("  rounded 1 mm"))
    pressure = 80.0 * 0.2**1.6
    assert re.search(rf"{pressure:.2f}\d* ± [\d.]+ (?:± [\d.]+|\+[\d.]+/−[\d.]+) ", row)
    assert re.search(r"20\.\d* ± [\d.]+ % lower", row)


@pytest.fixture
def stations(tmp_path: Path) -> Path:
    """A bore with a sharp edge before its throat, as a caliper has it."""
    path = tmp_path / "bore.csv"
    rows = ("0,16.2", "5,10", "10,3.9", "10,3.66", "15,3.66", "40,5.5", "88,9")
    path.write_text("position_mm,diameter_mm\n" + "\n".join(rows) + "\n")
    return path


def test_a_measured_bore_is_compared_with_itself_as_it_was_measured(stations: Path) -> None:
    study = entry_study("0.5, 1 mm", "0.2 L/s", {}, stations)
    labels = [case.label for case in study.cases()]
    assert labels == ["entry as measured", "rounded 0.5 mm", "rounded 1 mm"]
    measured, rounded, _ = (case.build_bore() for case in study.cases())
    assert rounded.length == pytest.approx(measured.length)
    places = np.linspace(0.1e-3, 87e-3, 4000)
    cut = rounded.radius(places) - measured.radius(places)
    assert cut.max() > 0.05e-3  # behind the edge
    assert cut.min() > -1e-6  # and nowhere is metal added


def test_metal_is_added_to_a_new_piece_alone(
    stations: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = stations.read_text().replace("10,3.9\n10,3.66", "9,5\n9.5,4.2\n10,3.66")
    stations.write_text(text)
    assert main(["entry", "--stations", str(stations), "--radii", "0.1 mm"]) == 2
    said = capsys.readouterr().err
    assert said.startswith("--radii: found '0.1 mm', which would add metal")
    assert "or --new for a new piece" in said
    study = entry_study("0.1 mm", "0.2 L/s", {}, stations, new=True)
    assert len(study.cases()) == 2


def test_the_sentences_of_a_measured_bore_say_as_measured() -> None:
    cases = [
        make_case(name, {"entry": name, "entry_radius_mm": size}, resistance=drop, rates=(0.2,))
        for name, size, drop in (
            ("as measured", None, 100.0), ("rounded 1 mm", 1.0, 80.0), ("rounded 2 mm", 2.0, 79.999)
        )
    ]  # fmt: skip
    flow, enough = (one.text for one in EntryAnswer(cases, []).sentences)
    assert flow.startswith("With the throat entry rounded 2 mm instead of as measured the flow")
    assert enough.startswith("A radius of 1 mm is enough: it lowers the flow resistance by 20.0 ±")
