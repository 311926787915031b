"""Sensitivities by the front door and the command line: ranked, told, written, refused."""

import re
from pathlib import Path

import pandas as pd
import pytest

import borestudy as bs
from borestudy.__main__ import main
from borestudy.command_line.main import COMMANDS
from borestudy.mesh import generate
from borestudy.results.sensitivities import COLUMNS
from borestudy.results.tables.files import read_table, write_table
from borestudy.stages import in_process
from borestudy.study import load_study
from borestudy.views.foremost import foremost
from borestudy.views.sensitivities import DIMENSIONS, Sensitivities
from borestudy.views.text import signed


def row(quantity, dimension, thousandth, rank, **more):
    """A row of `sensitivities.csv` for a length, of what tells it from others."""
    unit = "cents" if quantity == "resonance" else "percent"
    return {
        "case": "base", "dimension": dimension, "dimension_label": dimension.replace(".", " "),
        "dimension_value": 4.0, "dimension_unit": "mm", "quantity": quantity, "value": 800.0,
        "unit": "Hz" if unit == "cents" else "kPa_s_per_L", "uncertainty": 0.1,
        "effect_unit": unit, "effect_of_0.001_in": thousandth, "effect_of_1_percent": 10.0,
        "noise_floor": 0.25, "rank": rank, "above_noise": "yes", "note": "",
    } | more  # fmt: skip


FLOW = "flow resistance at 0.2 L/s"
TABLE = pd.DataFrame(
    [
        row("resonance", "cup.depth", -3.21, 1),
        row("resonance", "throat.diameter", 1.5, 2),
        row("resonance", "cup.shape", None, None, dimension_unit="", dimension_value=0.6,
            **{"effect_of_1_percent": -0.4}),
        row(FLOW, "throat.diameter", -2.5, 1),
        row(FLOW, "cup.depth", 0.01, 2, above_noise="no"),
    ]
).astype({"rank": "Int64"})  # fmt: skip


def test_dimensions_are_ranked_by_the_first_quantity_and_signs_are_told():
    lines = Sensitivities(TABLE).lines()
    assert [line.split("  ")[1] for line in lines[6:9]] == [
        "cup depth", "throat diameter", "cup shape",
    ]  # fmt: skip
    assert lines[6].split()[-2:] == ["−3.2", "~+0.010"]
    assert lines[7].split()[-2:] == ["+1.5", "−2.5"]
    by_flow = Sensitivities(TABLE).lines([FLOW])
    assert [line.split("  ")[1] for line in by_flow[5:7]] == ["throat diameter", "cup depth"]


def test_a_pure_number_is_told_per_hundredth_of_its_range_and_a_missing_effect_in_words():
    (shape,) = (line for line in Sensitivities(TABLE).lines() if "cup shape" in line)
    assert shape.split()[2:] == ["0.6", "−0.40", "none"]


def test_each_quantity_has_its_value_its_unit_of_change_and_its_uncertainty():
    lines = str(Sensitivities(TABLE)).splitlines()
    assert lines[:2] == ["resonance: 800.00 ± 0.10 Hz", f"{FLOW}: 800.00 ± 0.10 kPa·s/L"]
    assert lines[2].startswith("Effect of +0.001 in (of a shape or taper: +1 % of its range), to")
    assert lines[3].split() == ["flow", "resistance"]
    assert lines[4].split() == ["dimension", "value", "resonance", "at", "0.2", "L/s"]
    assert lines[5].split() == ["cents", "%"]
    assert lines[-1].split() == ["noise", "floor", *["±", "0.25"] * 2]


def test_of_an_instrument_the_usual_registers_are_told():
    sound = ["resonance", *(f"peak {n}" for n in range(1, 14)), "peak 4 Q"]
    assert foremost([*sound, "flow resistance at 0.1 L/s", FLOW, "cup volume"]) == [
        "peak 2", "peak 4", "peak 6", "peak 8", "flow resistance at 0.1 L/s", FLOW,
    ]  # fmt: skip


def test_of_many_stations_the_strongest_are_told_and_how_many_more_there_are():
    rows = [row("resonance", f"station {n}", 1.0 / n, n, position_mm=n) for n in range(1, 40)]
    lines = Sensitivities(pd.DataFrame(rows)).lines()
    assert "station 1: station 1 " in lines[5]
    assert lines[-1] == f"  and {39 - DIMENSIONS} more dimensions with less effect"


@pytest.mark.parametrize(
    ("value", "said"),
    [(6.0, "+6.0"), (-2.34, "−2.3"), (123.4, "+123"), (2e-4, "0"), (0.0, "0"), (None, "none")],
)
def test_effects_have_two_digits_and_no_more_than_thousandths(value, said):
    assert signed(value) == said


def test_pictures_are_ranked_or_along_the_axis_of_a_measured_bore(tmp_path):
    full = TABLE.reindex(columns=COLUMNS)
    full["flow_rate_L_per_s"] = [0.2 if name == FLOW else None for name in full["quantity"]]
    titles = [axes.get_title(loc="left") for axes in Sensitivities(full).plot().axes]
    assert titles == ["first resonance, cents", "flow resistance, %"]
    with pytest.raises(ValueError, match=r"^rate: found 0.1; allowed is one of 0.2 .* example 0.2"):
        Sensitivities(full).plot(rate=0.1)
    (tmp_path / "pipe.csv").write_text("position_mm,diameter_mm\n0,8\n20,9\n50,10.5\n")
    bore = bs.Bore.from_stations(tmp_path / "pipe.csv")
    rows = [row("resonance", f"station {n}", 1.0 / n, n, position_mm=10.0 * n) for n in (1, 2, 3)]
    along = Sensitivities(pd.DataFrame(rows).reindex(columns=COLUMNS), bore).plot()
    assert along.axes[-1].get_xlabel() == "distance from the rim plane, mm"


def test_a_quantity_without_a_number_is_told_with_its_reason():
    missing = {"case": "base", "quantity": "flow resistance at 0.3 L/s", "note": "no solution"}
    found = Sensitivities(pd.concat([TABLE, pd.DataFrame([missing])]))
    assert found.lines()[-1] == "  flow resistance at 0.3 L/s: no solution"
    assert found.quantities == ["resonance", FLOW]
    nothing = Sensitivities(pd.DataFrame([missing | {"dimension": ""}]))
    assert nothing.lines() == ["No quantity has a number:", found.lines()[-1]]


def test_a_quantity_is_found_by_its_words_and_another_is_refused():
    found = Sensitivities(TABLE)
    assert found.of("Flow resistance at 200 mL/s")["dimension"].tolist() == [
        "throat.diameter", "cup.depth",
    ]  # fmt: skip
    with pytest.raises(ValueError, match=r"^quantity: found 'resonanse'.*did you mean resonance"):
        found.of("resonanse")


@pytest.mark.parametrize(
    ("given", "message"),
    [
        ({"rates": "0.1, 0.05 L/s"}, r"^rates\[1\]: found '0.05 L/s' after"),
        ({"termination": "opne"}, r"^termination: found 'opne'; allowed.*open"),
        ({"termination": {"air column": "no.csv"}}, r"air column.*no\.csv"),
        ({"resolution": "finer"}, r"^resolution: found 'finer'.*example medium$"),
        ({"rate": "0.1 L/s"}, r"^argument: found 'rate'; did you mean rates\? Allowed is from_, "),
    ],
)
def test_a_wrong_argument_is_refused_before_anything_is_meshed(monkeypatch, given, message):
    monkeypatch.setattr(generate, "run_gmsh", None)
    bore = bs.Bore.from_dimensions(
        length="88 mm",
        cup={"diameter": "16.2 mm", "depth": "10.8 mm"},
        throat={"diameter": "drill 27", "length": "5 mm"},
        backbore={"end_diameter": "9 mm"},
    )
    with pytest.raises(ValueError, match=message):
        bs.sensitivities(bore, bs.Air(), **given)
    with pytest.raises(ValueError, match=r"^bore: found .* dimensions are not known; .* example"):
        bs.sensitivities(bs.Bore(bore.segments), bs.Air())


STUDY = """\
bore:
  length: 88 mm
  cup: {diameter: 16.2 mm, depth: 10.8 mm}
  throat: {diameter: drill 27, length: 5 mm}
  backbore: {end_diameter: 9 mm}
vary: {throat.diameter: [drill 27, drill 26]}
"""


@pytest.fixture
def study(tmp_path, monkeypatch):
    """A study file with results of its own beside it, in the working folder."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "mine.yaml").write_text(STUDY)
    folder = tmp_path / "results" / "mine"
    folder.mkdir(parents=True)
    loaded = load_study("mine.yaml")
    loaded.write_resolved(folder / "resolved.yaml")
    (folder / "study-file.txt").write_text("mine.yaml\n")
    names = [case.name for case in loaded.cases()]
    tables = [TABLE.assign(case=name) for name in names]
    write_table(pd.concat(tables), folder / "sensitivities.csv")
    return folder


def ask(*arguments):
    return main(["sensitivities", "mine.yaml", *arguments])


def test_the_command_reads_the_results_of_the_study_and_says_so(study, capsys):
    assert ask("--output", "one.csv") == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == ("mine, case throat_diameter-drill27 (from results/mine/sensitivities.csv)")
    assert lines[1:-1] == Sensitivities(TABLE).lines()
    assert lines[-1] == "Table: one.csv"
    assert set(pd.read_csv("one.csv")["case"]) == {"throat_diameter-drill27"}
    assert ask("--case", "throat_diameter-drill26", "--quantity", "flow resistance") == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("mine, case throat_diameter-drill26 (from")
    assert lines[1].startswith(f"{FLOW}: ")


def test_results_that_are_elsewhere_are_read_where_they_are_said_to_be(study, capsys):
    study.rename("elsewhere")
    assert ask("--results", "elsewhere") == 0
    assert "(from elsewhere/sensitivities.csv)" in capsys.readouterr().out


@pytest.mark.parametrize("why", ["asked afresh", "study changed", "no table"])
def test_results_that_are_not_of_this_study_are_not_read(study, monkeypatch, capsys, why):
    solved = []

    def solve(study, case):
        solved.append(case.name)
        raise RuntimeError("solved anew")

    monkeypatch.setattr(in_process, "solve_study_case", solve)
    if why == "study changed":
        Path("mine.yaml").write_text(STUDY.replace("88 mm", "89 mm"))
    elif why == "no table":
        (study / "sensitivities.csv").unlink()
    assert ask(*(["--fresh"] if why == "asked afresh" else [])) == 1
    assert solved == ["throat_diameter-drill27"]
    assert capsys.readouterr().err == "solved anew\n"


def test_another_question_or_name_leaves_the_results_the_studys(study, capsys):
    Path("mine.yaml").write_text(f"question: Which drill?\n{STUDY}")
    assert ask() == 0
    assert "(from results/mine" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["--case", "drill26"], "case: found 'drill26'; allowed is one of throat_diameter-drill27"),
        (["--quantity", "resonanse"], "quantity: found 'resonanse', which is no quantity here; did "
         "you mean resonance?"),
        (["--output", "one.xlsx"], "--output: found 'one.xlsx'; allowed is a file that ends in"),
        (["--picture", "one.gif"], "--picture: found 'one.gif'; allowed is a file that ends in .svg"
         " or .png or .pdf, for example one.svg"),
        (["--output", "results"], "--output: found 'results'; allowed is a file that ends in .csv"),
    ],
)  # fmt: skip
def test_what_the_command_cannot_do_is_one_line_and_nothing_is_written(
    study, tmp_path, capsys, arguments, message
):
    before = sorted(tmp_path.rglob("*"))
    given = [] if {"--output", "--picture"} & set(arguments) else ["--output", "one.csv"]
    assert ask(*arguments, *given) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert message in shown.err
    assert "for example" in shown.err
    assert len(shown.err.splitlines()) == 1
    assert sorted(tmp_path.rglob("*")) == before


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_shows_an_example_in_its_help(command, capsys):
    assert main([command, "--help"]) == 0
    assert re.search(rf"examples?:\n  borestudy {command} ", capsys.readouterr().out)


def test_the_command_and_a_notebook_solve_the_same(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    study = STUDY.partition("vary")[0]
    study += 'flow: {rates: "0.05 L/s"}\nmesh: {resolution: coarse}\nair: {temperature: 25 degC}\n'
    Path("mine.yaml").write_text(study)
    assert ask("--output", "all.csv") == 0
    assert capsys.readouterr().out.startswith("mine, case base (solved now)\n")
    bore = bs.Bore.from_dimensions(
        length="88 mm",
        cup={"diameter": "16.2 mm", "depth": "10.8 mm"},
        throat={"diameter": "drill 27", "length": "5 mm"},
        backbore={"end_diameter": "9 mm"},
    )
    found = bs.sensitivities(bore, bs.Air("25 degC"), rates="0.05 L/s", resolution="coarse")
    written, asked = read_table("all.csv"), found.to_frame()
    assert written["quantity"].tolist() == asked["quantity"].tolist()
    for column in ("value", "slope_per_unit", "effect_of_0.001_in", "noise_floor"):
        assert written[column].to_numpy() == pytest.approx(asked[column].to_numpy(), nan_ok=True)
    # Common practice: a wider throat has less resistance, a deeper cup a lower resonance.
    lowers = {"flow resistance at 0.05 L/s": "throat.diameter", "resonance": "cup.depth"}
    for quantity, dimension in lowers.items():
        row = found.of(quantity).set_index("dimension").loc[dimension]
        assert row["effect_of_0.001_in"] < -row["effect_of_0.001_in_uncertainty"]
