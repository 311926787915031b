"""What the page adds to the results: checks in a line, formulas by hand, print, and whose it is."""

import re
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest

from borestudy.report import sources
from borestudy.report.figures.case import PicturedStudy
from borestudy.report.figures.collection import draw_all
from borestudy.report.page import ResultTables, StudyReport, layers_of, write_report
from borestudy.report.pictures import headline_of, pictures_by_layer
from borestudy.report.tables.by_hand import printed_by_hand
from borestudy.report.tables.layout import PAPER_ROWS, Cell, Table
from borestudy.report.tables.verification import (
    failed_rows,
    printed_failed,
    printed_summary,
    told_checks,
)
from borestudy.report.topic import FLOW, RESONANCE
from borestudy.results.check import Check
from borestudy.results.tables.files import verification_table

RATE = 0.2


def a_check(check: str, quantity: str, off_percent: float, tolerance: float) -> Check:
    return Check(check, quantity, "Hz", 100 + off_percent, 100.0, tolerance, "invented")


@pytest.fixture
def checks() -> pd.DataFrame:
    """Two fields: one with two checks, one with a check that fails."""
    return verification_table(
        [
            a_check("closed pipe", "resonance 1", 0.01, 0.1),
            a_check("closed pipe", "resonance 2", -0.16, 0.2),
            a_check("cone", "resonance 1", 0.3, 0.2),
        ]
    )


def texts(table: Table) -> list[list[str]]:
    return [[cell.text for cell in row] for row in table.rows]


def test_checks_are_summed_up_by_what_was_solved_with_the_one_nearest_to_its_tolerance(
    checks: pd.DataFrame,
) -> None:
    summary = printed_summary(checks)
    assert texts(summary) == [
        ["closed pipe", "2", "−0.16 %", "0.2 %", "pass"],
        ["cone", "1", "0.3 %", "0.2 %", "1 failed"],
    ]
    assert [row[-1].look for row in summary.rows] == ["good", "bad"]


def test_a_sentence_counts_the_checks_that_passed(checks: pd.DataFrame) -> None:
    passed = checks[checks["verdict"] == "pass"]
    told = told_checks(passed)
    assert told.startswith("2 of 2 checks passed.")
    assert "closed pipe: resonance 2" in told
    assert "0.16 % off, 0.2 % allowed" in told
    assert told_checks(checks).startswith("2 of 3 checks passed.")
    assert told_checks(checks.iloc[:0]) == ""


def test_a_check_that_failed_is_shown_in_full_and_a_missing_mesh_with_its_reason(
    checks: pd.DataFrame,
) -> None:
    lost = verification_table([], [("throat-drill99", "sound", "no triangle fits")])
    rows = texts(printed_failed(failed_rows(pd.concat([checks, lost], ignore_index=True))))
    assert [row[:2] for row in rows] == [
        ["cone", "resonance 1"],
        ["case throat-drill99", "solution for sound"],
    ]
    assert "100.3" in rows[0]
    assert "no triangle fits" in rows[1]


@pytest.fixture
def formulas() -> pd.DataFrame:
    """Formulas of two cases; of pressure at two rates, one without a computed value."""
    rows = [
        ("cup volume", None, 0.9474, "cm3", 1.3322, 0.0, -28.884, "the cup bulges"),
        ("throat volume", None, 0.05, "cm3", 0.05, 0.0, 1e-14, "exact"),
        ("resonance", None, 837.18, "Hz", 811.717, 0.0097, 3.137, "air moves too"),
        ("pressure drop at 0.1 L/s", 0.1, 53.32, "Pa", 35.13, 0.53, 51.77, "won back"),
        ("pressure drop at 0.2 L/s", 0.2, 213.3, "Pa", None, None, None, "no solution"),
    ]
    names = ("quantity", "flow_rate_L_per_s", "hand_value", "unit", "computed", "uncertainty",
             "difference_percent", "reason")  # fmt: skip
    table = pd.DataFrame([dict(zip(names, row, strict=True)) for row in rows])
    table.insert(0, "formula", "a formula")
    return pd.concat([table.assign(case=case) for case in ("square", "rounded")])


def test_a_formula_by_hand_stands_beside_what_was_computed_with_the_reason(
    formulas: pd.DataFrame,
) -> None:
    table = printed_by_hand(formulas, "comparison")
    assert table is not None
    assert texts(table) == [
        ["Cup volume", "a formula", "0.9474 cm³", "1.332 cm³", "−29", "the cup bulges"],
        ["Throat volume", "a formula", "0.05 cm³", "0.05 cm³", "0", "exact"],
    ]
    assert table.source == sources.HAND
    sound = printed_by_hand(formulas, "resonance")
    assert sound is not None
    assert texts(sound)[0][2:5] == ["837.2 Hz", "811.717 ± 0.010 Hz", "+3.1"]


def test_formulas_of_the_flow_are_those_of_the_rate_that_is_spoken_of(
    formulas: pd.DataFrame,
) -> None:
    soft, loud = (printed_by_hand(formulas, "flow", rate) for rate in (0.1, RATE))
    assert soft is not None
    assert loud is not None
    assert texts(soft)[0][0] == "Pressure drop at 0.1 L/s"
    assert texts(soft)[0][3:5] == ["35.1 ± 0.5 Pa", "+52"]
    assert texts(loud)[0][3:5] == ["none", "none"]
    assert printed_by_hand(formulas, "flow") is None
    assert printed_by_hand(pd.DataFrame(), "flow", RATE) is None


@pytest.mark.parametrize("topic", [FLOW, RESONANCE])
def test_each_figure_stands_in_one_layer_and_its_numbers_come_from_a_file_that_is_explained(
    study: PicturedStudy, tmp_path: Path, topic: str
) -> None:
    figures = draw_all(tmp_path, study)
    headline = headline_of(figures, topic)  # type: ignore[arg-type]
    assert headline is not None
    assert headline.record.name == "headline"
    layers = pictures_by_layer(figures, headline, layers_of(topic))  # type: ignore[arg-type]
    placed = [one.record.name for names in layers.values() for one in names]
    assert sorted([*placed, "headline"]) == sorted(one.name for one in figures)
    subjects = [layer for layer in layers if layer in (FLOW, RESONANCE)]
    assert subjects[0] == topic
    explained = (Path(__file__).parents[2] / "results/README.md").read_text("utf-8")
    for one in (one for names in layers.values() for one in names):
        assert one.source.how
        for file in one.source.files:
            assert f"`{file}`" in explained


def test_a_long_table_is_printed_in_part_and_says_where_the_rest_is(
    study: PicturedStudy, tmp_path: Path
) -> None:
    many = pd.concat([study.flow.assign(case=f"bore {place}") for place in range(20)])
    report = StudyReport(
        title="a", question="b?", answers=["c"],
        tables=ResultTables(comparison=study.comparison, flow=many),
    )  # fmt: skip
    write_report(tmp_path / "report.html", report)
    text = (tmp_path / "report.html").read_text("utf-8")
    assert f"{PAPER_ROWS} of {len(many)} rows are printed; all are in flow.csv." in text


def test_the_lips_that_a_study_states_stand_in_the_part_on_starting_a_tone(tmp_path: Path) -> None:
    onset = pd.DataFrame({"case": ["a"], "register": [2], "validity": ["within range"]})
    row = {"property": "Q", "own_lips": "7.25", "from": "a measurement", "set_of_lips": "3.25 to 9",
           "its_source": "two handbooks"}  # fmt: skip
    for lips in (pd.DataFrame([row]), pd.DataFrame()):
        tables = ResultTables(onset=onset, lips=lips)
        report = StudyReport(title="a", question="b?", answers=["c"], tables=tables)
        write_report(tmp_path / "report.html", report)
        _, _, part = (tmp_path / "report.html").read_text("utf-8").partition("playing-model")
        told = [value in re.sub(r"<wbr>|\s+", " ", part) for value in row.values()]
        assert told[1:] == [not lips.empty] * 4


def test_the_first_screen_has_at_most_three_sentences_and_the_layer_below_has_the_rest() -> None:
    report = StudyReport(title="a", question="b?", answers=list("vwxyz"), tables=ResultTables())
    assert list(report.answer) == ["v", "w", "x"]
    assert list(report.further) == ["y", "z"]
    told = replace(report, first=["in short"])
    assert list(told.answer) == ["in short"]
    assert list(told.further) == list("vwxyz")


def test_a_rate_without_a_solution_is_among_the_cautions_of_the_first_screen(
    study: PicturedStudy, tmp_path: Path
) -> None:
    flow = study.flow.copy()
    flow.loc[flow.index[0], "converged"] = False
    for table, expected in ((flow, True), (study.flow, False)):
        report = StudyReport(
            title="a", question="b?", answers=["c"],
            tables=ResultTables(comparison=study.comparison, flow=table),
        )  # fmt: skip
        write_report(tmp_path / "report.html", report)
        text = (tmp_path / "report.html").read_text("utf-8")
        first = text[: text.index("<details")]
        told = f"1 of {len(flow)} flow rates have no steady solution" in first
        assert told is expected


def test_a_bore_that_is_called_by_its_one_dimension_has_no_column_that_says_it_again(
    study: PicturedStudy, tmp_path: Path
) -> None:
    words = {case.name: case.label for case in study.cases}
    comparison = study.comparison.assign(**{"throat.entry": [*words.values()]})
    for labels, columns in ((words, 0), ({name: f"the {name}" for name in words}, 1)):
        report = StudyReport(
            title="a", question="b?", answers=["c"], labels=labels,
            tables=ResultTables(comparison=comparison),
        )  # fmt: skip
        write_report(tmp_path / "report.html", report)
        text = (tmp_path / "report.html").read_text("utf-8")
        assert len(re.findall(r'<th scope="col">Throat entry</th>', text)) == columns


def test_a_narrow_table_is_printed_in_two_halves_and_a_wide_one_is_not() -> None:
    narrow = Table("c", [Cell("a"), Cell("b")], [[Cell("x"), Cell("y")]] * 12)
    assert narrow.is_halved
    assert not replace(narrow, rows=narrow.rows[:4]).is_halved
    assert not replace(narrow, rows=[[Cell("x"), Cell("y" * 90)]] * 12).is_halved
