"""Trade-offs by the front door and the command line: which cases no other one beats."""

import pandas as pd
import pytest

import borestudy as bs
from borestudy.__main__ import main

#: A base case, one that beats it in both columns, one farther from its resonance, one beaten.
TABLE = pd.DataFrame(
    {
        "case": ["base", "freer", "freest", "worse"],
        "resonance_Hz": [800.0, 800.0, 820.0, 840.0],
        "resonance_Hz_uncertainty": [0.1, 0.1, 0.1, 0.1],
        "flow_resistance_kPa_s_per_L": [0.50, 0.45, 0.40, 0.55],
        "flow_resistance_kPa_s_per_L_uncertainty": [0.01, 0.01, 0.01, 0.01],
        "flow_rate_L_per_s": [0.1] * 4,
        "regime": ["laminar"] * 4,
        "series_resistance_kPa_s_per_L": [None] * 4,
    }
)
COLUMNS = "resonance_Hz", "flow_resistance_kPa_s_per_L"


@pytest.fixture
def results(tmp_path):
    TABLE.to_csv(tmp_path / "comparison.csv", index=False)
    return tmp_path


def test_a_case_is_non_dominated_where_none_is_as_good_in_both_and_better_in_one():
    found = bs.trade_off(TABLE, *COLUMNS).to_frame()
    assert dict(zip(found["case"], found["non_dominated"], strict=True)) == {
        "base": "no", "freer": "yes", "freest": "yes", "worse": "no",
    }  # fmt: skip
    assert list(found.columns) == ["case", COLUMNS[0], f"{COLUMNS[0]}_uncertainty", COLUMNS[1],
                                   f"{COLUMNS[1]}_uncertainty", "non_dominated"]  # fmt: skip


def test_what_is_better_may_be_said():
    highest = bs.trade_off(TABLE, *COLUMNS, better_x="higher").to_frame()
    assert highest["non_dominated"].tolist() == ["no", "no", "yes", "yes"]
    upside_down = bs.trade_off(TABLE, *COLUMNS, better_x="higher", better_y="higher").to_frame()
    assert upside_down["non_dominated"].tolist() == ["no", "no", "no", "yes"]


def test_a_folder_of_results_and_a_file_are_the_table(results):
    by_table = bs.trade_off(TABLE, *COLUMNS).to_frame()
    for given in (results, results / "comparison.csv", str(results)):
        pd.testing.assert_frame_equal(bs.trade_off(given, *COLUMNS).to_frame(), by_table)


def test_the_text_has_a_line_a_case_with_uncertainties_and_says_what_is_better():
    lines = str(bs.trade_off(TABLE, *COLUMNS)).splitlines()
    assert lines[0] == (
        "Better is: first resonance near to the base case's, flow resistance at 0.1 L/s lower."
    )
    assert lines[2].split("  ")[-1].strip() == "base"
    assert "800.00 ± 0.10 Hz" in lines[2]
    assert "0.500 ± 0.010 kPa·s/L" in lines[2]
    assert [line.endswith("non-dominated") for line in lines[2:]] == [False, True, True, False]


def test_of_many_cases_the_text_has_the_base_and_those_that_none_is_better_than():
    many = pd.concat([TABLE, *[TABLE.iloc[3:].assign(case=f"worse {n}") for n in range(200)]])
    told = repr(bs.trade_off(many, *COLUMNS)).splitlines()
    assert [line.split()[0] for line in told[1:-1]] == ["case", "base", "freer", "freest"]
    assert told[-1].startswith("201 more cases: --output FILE.csv has all")


def test_the_picture_has_a_mark_a_case_and_the_unit_on_each_axis():
    figure = bs.trade_off(TABLE, *COLUMNS).plot()
    (axes,) = figure.axes
    assert (axes.get_xlabel(), axes.get_ylabel()) == (
        "first resonance, Hz", "flow resistance at 0.1 L/s, kPa·s/L",
    )  # fmt: skip
    named = {text.get_text() for text in axes.texts}
    assert {"base", "freer", "freest"} <= named


def test_the_command_prints_the_same_and_writes_table_and_picture(results, tmp_path, capsys):
    out, picture = tmp_path / "out.csv", tmp_path / "out.svg"
    asked = ["trade-off", str(results), *COLUMNS, "--output", str(out), "--picture", str(picture)]
    assert main(asked) == 0
    shown = capsys.readouterr().out
    assert shown.startswith(f"{bs.trade_off(TABLE, *COLUMNS)}\n")
    assert shown.endswith(f"Table: {out}\nPicture: {picture}\n")
    written = pd.read_csv(out)
    assert written["non_dominated"].tolist() == ["no", "yes", "yes", "no"]
    assert "kPa·s/L" in picture.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("asked", "message"),
    [
        (["resonance", COLUMNS[1]],
         "x: found 'resonance'; did you mean resonance_Hz? Allowed is resonance_Hz, "
         "flow_resistance_kPa_s_per_L, flow_rate_L_per_s, for example resonance_Hz"),
        ([COLUMNS[0], "regime"], "y: found 'regime', a column of words; allowed is resonance_Hz"),
        ([COLUMNS[0], "series_resistance_kPa_s_per_L"],
         "'series_resistance_kPa_s_per_L', a column without a number of its own; did you mean"),
        ([COLUMNS[0], COLUMNS[0]], "y: found 'resonance_Hz', as x; allowed is another column"),
        ([*COLUMNS, "--better-x", "larger"],
         "better_x: found 'larger'; allowed is lower, higher, near, for example lower"),
        ([*COLUMNS, "--output", "out.txt"],
         "--output: found 'out.txt'; allowed is a file that ends in .csv, for example out.csv"),
        ([*COLUMNS, "--picture", "no/such/out.svg"], "and no folder no/such; allowed is a file"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_told_in_one_line_and_nothing_is_written(
    results, monkeypatch, capsys, asked, message
):
    monkeypatch.chdir(results)
    outputs = [] if {"--output", "--picture"} & set(asked) else ["--output", "out.csv"]
    assert main(["trade-off", ".", *asked, *outputs]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert message in shown.err
    assert len(shown.err.splitlines()) == 1
    assert [path.name for path in results.iterdir()] == ["comparison.csv"]


@pytest.mark.parametrize(
    ("table", "message"),
    [
        ("no-such", r"^table: found 'no-such', and no such file or folder .* example results/"),
        (pd.DataFrame({"x": [1.0]}), r"^table: found the columns x; allowed .* column case"),
        (pd.concat([TABLE, TABLE]), r"^table: found more than one row of case base; allowed is a"),
    ],
)
def test_a_table_that_has_no_row_a_case_is_refused(table, message):
    with pytest.raises(ValueError, match=message):
        bs.trade_off(table, *COLUMNS)
