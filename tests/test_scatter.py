"""Shop tolerances by the front door and the command line: told, written, refused."""

from pathlib import Path

import pandas as pd
import pytest

import borestudy as bs
from borestudy import questions
from borestudy.__main__ import main
from borestudy.mesh import generate
from borestudy.records import write_record
from borestudy.results.toleranced import (
    FIRST,
    SAMPLED,
    OneTolerance,
    TolerancedQuantity,
    ToleranceResult,
)
from borestudy.stages import in_process
from borestudy.study import load_study
from borestudy.views.tolerances import Scatter

FLOW = "flow resistance at 0.2 L/s"


def one(key, share, halved, tolerance=0.0127, unit="mm"):
    label = key.replace(".", " ")
    return OneTolerance(key=key, label=label, unit=unit, tolerance=tolerance, effect=1.0,
                        share_percent=share, span_if_halved=halved)  # fmt: skip


RESULT = ToleranceResult(
    quantities=(
        TolerancedQuantity(
            quantity="resonance", unit="Hz", value=812.1, effect_unit="cents", method=SAMPLED,
            percentiles=(-12.0, -6.0, 0.1, 6.2, 12.5), hold_tighter_first="cup.shape",
            dimensions=(one("cup.shape", 60.0, 16.0, 0.02, ""), one("cup.depth", 39.8, 20.0)),
        ),
        TolerancedQuantity(
            quantity=FLOW, unit="kPa_s_per_L", value=0.4585, effect_unit="percent", method=FIRST,
            percentiles=(-2.6, -1.0, 0.0, 1.0, 2.6), hold_tighter_first="cup.depth",
            dimensions=(one("cup.shape", 0.2, 5.2, 0.02, ""), one("cup.depth", 99.8, 2.8)),
        ),
        TolerancedQuantity(quantity="flow resistance at 0.3 L/s", note="did not converge"),
    ),
    samples=1024,
    seed=1,
)  # fmt: skip


def cells(line):
    return [cell.strip() for cell in line.split("  ") if cell.strip()]


def test_the_text_says_where_the_bores_lie_and_what_to_hold_tighter_first():
    lines = Scatter(RESULT).lines()
    assert cells(lines[2]) == [
        "resonance", "812.1 Hz", "−12 to +12 cents", "cup shape", "± 8 cents", "sampled two-port",
    ]  # fmt: skip
    assert cells(lines[3]) == [
        FLOW, "0.4585 kPa·s/L", "−2.6 to +2.6 %", "cup depth", "± 1.4 %", "first order",
    ]  # fmt: skip
    # 0.0127 mm are half a thousandth of an inch; the greater share of any quantity is first.
    assert [cells(line) for line in lines[7:9]] == [
        ["cup depth", "± 0.0005 in", "40 %", "100 %"],
        ["cup shape", "± 0.02", "60 %", "under 1 %"],
    ]
    assert lines[-1] == "  flow resistance at 0.3 L/s: did not converge"


def test_the_answer_has_a_table_a_picture_and_its_quantities_by_name():
    found = Scatter(RESULT)
    assert found.of("Flow resistance at 200 mL/s").percentiles[-1] == 2.6
    assert set(found.to_frame()["quantity"]) == {one.quantity for one in RESULT.quantities}
    labels = [axes.get_xlabel().rsplit(", ")[-1] for axes in found.plot().axes]
    assert labels == ["cents", "%"]
    with pytest.raises(ValueError, match=r"^quantity: found 'resonanse'.*did you mean resonance"):
        found.of("resonanse")


@pytest.fixture
def bore():
    return bs.Bore.from_dimensions(
        length="88 mm",
        cup={"diameter": "16.2 mm", "depth": "10.8 mm"},
        throat={"diameter": "drill 27", "length": "5 mm"},
        backbore={"end_diameter": "9 mm"},
    )


def test_what_a_notebook_states_is_what_a_study_does(bore, monkeypatch):
    asked = []

    def look(study, question):
        asked.append((study.tolerance.value, study.stated_tolerances(), question))
        return RESULT

    monkeypatch.setattr(questions, "solve_study_tolerances", look)
    stated = {"throat.diameter": "0.0005 in", "cup.shape": 0.02}
    found = bs.tolerances(
        bore, bs.Air(), lengths="0.002 in", dimensions=stated, tolerance="2 %", rates="0.2 L/s"
    )
    assert found.result is RESULT
    ((lengths, single, question),) = asked
    assert lengths == pytest.approx(0.0508e-3)
    assert single == {"throat.diameter": pytest.approx(0.0127e-3), "cup.shape": 0.02}
    assert (question.tolerance, question.rates) == (0.02, pytest.approx((0.2e-3,)))


@pytest.mark.parametrize(
    ("given", "message"),
    [
        ({"lengths": "5 mm"}, r"^lengths: found '5 mm'; allowed .*for example"),
        ({"lengths": 0.001}, r"^lengths: found 0.001.*for example"),
        (
            {"dimensions": {"throat.diametre": "0.001 in"}},
            r"^dimensions\.throat\.diametre: .*did you mean throat\.diameter.*for example",
        ),
        ({"dimensions": {"cup.depth": "9 mm"}}, r"^dimensions\.cup\.depth: found .*for example"),
        ({"rates": "0.2 m"}, r"^rates.*found '0.2 m'.*for example"),
        ({"samples": 9}, r"^argument: found 'samples'; .*for example"),
    ],
)
def test_tolerances_that_cannot_be_are_refused_before_anything_is_meshed(
    bore, monkeypatch, given, message
):
    monkeypatch.setattr(generate, "run_gmsh", None)
    with pytest.raises(ValueError, match=message):
        bs.tolerances(bore, bs.Air(), **given)


STUDY = """\
bore:
  length: 88 mm
  cup: {diameter: 16.2 mm, depth: 10.8 mm}
  throat: {diameter: drill 27, length: 5 mm}
  backbore: {end_diameter: 9 mm}
tolerances: {throat.diameter: 0.0005 in}
"""


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("mine.yaml").write_text(STUDY)
    return tmp_path


def test_the_command_says_the_tolerances_and_where_its_answer_is_from(folder, monkeypatch, capsys):
    monkeypatch.setattr(in_process, "solve_study_tolerances", lambda study: RESULT)
    assert main(["tolerances", "mine.yaml", "--output", "out.csv", "--picture", "out.png"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "mine, case base (solved now)"
    assert "throat.diameter 0.0005 in" in lines[1]
    assert lines[2:-2] == Scatter(RESULT).lines()
    assert pd.read_csv("out.csv")["quantity"].tolist()[0] == "resonance"
    assert Path("out.png").stat().st_size > 5_000
    results = folder / "results" / "mine"
    results.mkdir(parents=True)
    load_study("mine.yaml").write_resolved(results / "resolved.yaml")
    write_record(results / "tolerances.json", RESULT)
    monkeypatch.setattr(in_process, "solve_study_tolerances", None)
    assert main(["tolerances", "mine.yaml"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "mine, case base (from results/mine/tolerances.json)"


@pytest.mark.parametrize(
    ("old", "new", "arguments", "message"),
    [
        ("throat.diameter: 0", "throat.diametre: 0", [], "did you mean throat.diameter?"),
        ("0.0005 in", "0.0005", [], "a number without a unit"),
        ("mm", "mm", ["--output", "no/out.csv"], "and no folder no; allowed is a file in a folder"),
    ],
)
def test_what_the_command_cannot_do_is_one_line_and_nothing_is_written(
    folder, monkeypatch, capsys, old, new, arguments, message
):
    monkeypatch.setattr(generate, "run_gmsh", None)
    Path("mine.yaml").write_text(STUDY.replace(old, new))
    assert main(["tolerances", "mine.yaml", *(arguments or ["--output", "out.csv"])]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert message in shown.err
    assert "for example" in shown.err
    assert len(shown.err.splitlines()) == 1
    assert [path.name for path in folder.iterdir()] == ["mine.yaml"]
