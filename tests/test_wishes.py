"""Wishes by the front door and the command line: what is asked, told, written, refused."""

from pathlib import Path

import pandas as pd
import pytest

import borestudy as bs
from borestudy import questions
from borestudy.__main__ import main
from borestudy.mesh import generate
from borestudy.records import write_record
from borestudy.results.wishes import (
    MET,
    NOT_MET,
    FreeRange,
    NewDimension,
    NewQuantity,
    ReturnedBore,
    SolvedBore,
    WishedFor,
    WishResult,
)
from borestudy.stages import in_process
from borestudy.study import load_study
from borestudy.views.wish import WishedBores

DIMENSIONS = {
    "length": "88 mm",
    "cup": {"diameter": "16.2 mm", "depth": "10.8 mm", "shape": 0.6},
    "throat": {"diameter": "drill 27", "length": "5 mm", "entry": "rounded 0.5 mm"},
    "backbore": {"end_diameter": "9 mm", "taper": "straight"},
}
FLOW, SHARE = "flow resistance at 0.1 L/s", "percent"


def wished(quantity, target, within, scale, kind="change"):
    written = f"{target:+g} {'cents' if scale == 'cents' else '%'}"
    return WishedFor(quantity=quantity, kind=kind, written=written, target=target,
                     within=within, scale=scale)  # fmt: skip


def figure(quantity, change, wish="", miss=None, within=None):
    scale, unit = ("cents", "Hz") if quantity == "resonance" else (SHARE, "kPa_s_per_L")
    verdict = "" if not wish else MET if abs(miss) <= within else NOT_MET
    return NewQuantity(
        quantity=quantity, before=800.0, after=810.0, after_uncertainty=0.5, change=change,
        numerical=0.02, unit=unit, scale=scale, wish=wish, miss=miss, miss_uncertainty=0.02,
        within=within, verdict=verdict,
    )  # fmt: skip


#: A resonance that is met and a resistance that is not, on a drill; off the drills both are.
RESULT = WishResult(
    wished=(wished("resonance", 15.0, 1.0, "cents"), wished(FLOW, -10.0, 0.5, SHARE)),
    free=(
        FreeRange(
            key="throat.diameter", label="throat diameter", unit="mm", start=3.6576, low=3.6,
            high=4.0, sizes="drill",
        ),
    ),
    path=(
        SolvedBore(dimensions={"throat.diameter": 3.6576}, figures={"resonance": 0.0, FLOW: 0.0},
                   misfit=600.0),
        SolvedBore(dimensions={"throat.diameter": 3.72}, figures={"resonance": 15.2, FLOW: -10.1},
                   misfit=0.1),
        SolvedBore(dimensions={"throat.diameter": 3.7338}, figures={"resonance": 15.9, FLOW: -12.0},
                   misfit=20.0, tool_sizes=("throat.diameter",)),
    ),
    returned=(
        ReturnedBore(
            name="bore 1", solve=3, met=False, misfit=20.0,
            dimensions=(
                NewDimension(key="throat.diameter", label="throat diameter", unit="mm",
                             value=3.7338, change=0.0762, tool="drill 26"),
            ),
            quantities=(
                figure("resonance", 15.9, "+15 cents", 0.9, 1.0),
                figure(FLOW, -12.0, "-10 %", -2.0, 0.5),
                figure("resonance Q", -1.5),
                figure("pressure drop at 0.1 L/s", -12.0),
                figure("cup volume", 0.01),
            ),
        ),
    ),
    targets={"resonance": 15.0, FLOW: -10.0},
    stopped="every figure is near enough",
)  # fmt: skip


def test_the_text_has_the_answer_each_bore_and_what_it_costs_elsewhere():
    lines = WishedBores(RESULT).lines()
    assert "cannot be met" in lines[0]
    assert "flow resistance at 0.1 L/s is 2.00 ± 0.02 % below what is wished" in lines[0]
    off_sizes = "Off the tool sizes it is met, as by solve 2: throat diameter 3.720 mm (0.1465 in)."
    assert off_sizes in lines
    bore = lines.index("bore 1, which does not meet the wish:")
    assert lines[bore + 1] == "  throat diameter  3.7338 mm (0.1470 in)  +0.076 mm  drill 26"
    assert lines[bore + 3].endswith("+15.90 ± 0.02 cents  +15 cents: met")
    assert lines[bore + 4].endswith("−12.00 ± 0.02 %  -10 %: not met, 2.00 ± 0.02 % off")
    # A pressure drop at a rate changes as the resistance; the volume by less than its uncertainty.
    assert [line.split("  ")[1] for line in lines[bore + 5 :]] == ["beside the wish", "resonance Q"]


def test_the_answer_has_a_table_and_a_picture():
    found = WishedBores(RESULT)
    assert not found.met
    table = found.to_frame()
    assert set(table["bore"]) == {"bore 1"}
    assert table.loc[table["name"] == "resonance", "change"].tolist() == [15.9]
    titles = [axes.get_title(loc="left") for axes in found.plot().axes if axes.get_title("left")]
    assert titles == ["resonance, cents", f"{FLOW}, %", "throat diameter, mm"]


@pytest.fixture
def bore():
    return bs.Bore.from_dimensions(**DIMENSIONS)


def test_what_a_notebook_wishes_is_what_a_study_does(bore, monkeypatch):
    asked = {}

    def look(study, kept):
        asked.update(wish=study.asked(), question=kept.question)
        return RESULT

    monkeypatch.setattr(questions, "wish_result", look)
    found = bs.wish(
        bore,
        bs.Air("25 degC"),
        change={"resonance": "+15 cents", FLOW: "-10 % within 1 %"},
        keep={"cup volume": "within 2 %"},
        free={"throat.diameter": {"to": "drill 22", "sizes": "drill"}, "cup.depth": None},
        existing=True,
        rates=[5e-5, 1e-4],
        termination="open",
        resolution="coarse",
    )
    assert found.result is RESULT
    wish, question = asked["wish"], asked["question"]
    assert [(one.quantity.name, one.kind, one.target, one.within) for one in wish.wanted] == [
        ("resonance", "change", 15.0, 1.0), (FLOW, "change", -10.0, 1.0),
        ("cup volume", "keep", 0.0, 2.0),
    ]  # fmt: skip
    assert [one.key for one in wish.free] == ["throat.diameter", "cup.depth"]
    assert wish.free[0].sizes[-1][0] == "drill 22"
    assert wish.existing
    assert question.rates == (5e-5, 1e-4)
    assert (question.termination, question.resolution) == ("open", "coarse")
    assert question.air == bs.Air("25 degC")


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"change": {"resonanse": "+15 cents"}}, r"^change\.resonanse: .*did you mean resonance\?"),
        ({"change": {"resonance": "15 Hz"}}, r"^change\.resonance: .*for example"),
        ({"change": {}}, r"^change: found nothing that shall change .*for example"),
        ({"change": {FLOW.replace("0.1", "0.4"): "-1 %"}}, r"^change\..*no such rate.*for example"),
        ({"free": ["throat.diametre"]}, r"^free\.throat\.diametre: .*did you mean throat.diameter"),
        ({"free": []}, r"^free: found \{\}, and so no dimension that may move; .*for example"),
        (
            {"free": {"cup.depth": {"from": "12 mm", "to": "11 mm"}}},
            r"^free\.cup\.depth\.to: found '11 mm' with from: 12 mm; allowed is more .*for example",
        ),
        ({"free": {"cup.depth": {"to": "95 mm"}}}, r"^free: found limits that make no bore"),
        (
            {"free": {"throat.diameter": {"to": "3 mm"}}, "existing": True},
            r"^free\.throat\.diameter\.to: .*for example",
        ),
        ({"rate": "0.1 L/s"}, r"^argument: found 'rate'; did you mean rates\?"),
    ],
)
def test_a_wish_that_cannot_be_asked_is_refused_before_anything_is_meshed(
    bore, monkeypatch, changes, message
):
    monkeypatch.setattr(generate, "run_gmsh", None)
    asked = {"change": {"resonance": "+15 cents"}, "free": ["throat.diameter"]} | changes
    with pytest.raises(ValueError, match=message):
        bs.wish(bore, bs.Air(), **asked)


def test_a_wish_of_a_measured_bore_is_refused(tmp_path):
    (tmp_path / "pipe.csv").write_text("position_mm,diameter_mm\n0,8\n20,9\n50,10.5\n")
    measured = bs.Bore.from_stations(tmp_path / "pipe.csv")
    with pytest.raises(ValueError, match=r"found a bore from measured stations; allowed is"):
        bs.wish(measured, bs.Air(), change={"resonance": "+15 cents"}, free=["length"])


STUDY = """\
bore:
  length: 88 mm
  cup: {diameter: 16.2 mm, depth: 10.8 mm}
  throat: {diameter: drill 27, length: 5 mm}
  backbore: {end_diameter: 9 mm}
"""
WISH = 'wish: {change: {resonance: "+15 cents"}, free: {throat.diameter: {}}}\n'


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("mine.yaml").write_text(STUDY + WISH)
    return tmp_path


def test_the_command_says_where_its_answer_is_from_and_an_unmet_wish_is_an_answer(
    folder, monkeypatch, capsys
):
    monkeypatch.setattr(in_process, "solve_study_wish", lambda study: RESULT)
    assert main(["wish", "mine.yaml", "--output", "out.csv", "--picture", "out.svg"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "mine, case base (solved now)"
    assert lines[1:-2] == WishedBores(RESULT).lines()
    assert lines[-2:] == ["Table: out.csv", "Picture: out.svg"]
    assert pd.read_csv("out.csv")["name"].tolist()[0] == "throat.diameter"
    assert "throat diameter" in Path("out.svg").read_text(encoding="utf-8")
    results = folder / "results" / "mine"
    (results / "wish").mkdir(parents=True)
    load_study("mine.yaml").write_resolved(results / "resolved.yaml")
    write_record(results / "wish" / "wish.json", RESULT)
    monkeypatch.setattr(in_process, "solve_study_wish", None)
    assert main(["wish", "mine.yaml"]) == 0
    first, *rest = capsys.readouterr().out.splitlines()
    assert first == "mine, case base (from results/mine/wish/wish.json)"
    assert rest == WishedBores(RESULT).lines()


@pytest.mark.parametrize(
    ("study", "arguments", "message"),
    [
        (STUDY, [], "mine.yaml: wish: missing; needed is what shall become of"),
        (STUDY + WISH.replace("resonance", "resonanse"), [], "did you mean resonance?"),
        (STUDY + WISH.replace("{throat.diameter: {}}", "{}"), [], "and so no dimension that may"),
        (STUDY + WISH, ["--picture", "out.bmp"], "--picture: found 'out.bmp'; allowed is a file"),
    ],
    ids=["no wish", "unknown quantity", "no dimension", "picture"],
)
def test_what_cannot_be_wished_is_one_line_and_nothing_is_written(
    folder, monkeypatch, capsys, study, arguments, message
):
    monkeypatch.setattr(generate, "run_gmsh", None)
    Path("mine.yaml").write_text(study)
    given = arguments or ["--output", "out.csv"]
    assert main(["wish", "mine.yaml", *given]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert message in shown.err
    assert "for example" in shown.err
    assert len(shown.err.splitlines()) == 1
    assert [path.name for path in folder.iterdir()] == ["mine.yaml"]
