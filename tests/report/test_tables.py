"""Columns that mean the same are called the same, and the study's topic comes first."""

from typing import Any

import pandas as pd
import pytest

from borestudy.report.figures.case import PicturedStudy
from borestudy.report.tables.comparison import printed_comparisons
from borestudy.report.tables.layout import build_table, chosen
from borestudy.report.tables.tolerances import MOST, printed_tolerances, stated_tolerances
from borestudy.results.toleranced import ALL

from .toleranced import NOT_KNOWN, tolerances


def test_changes_and_verdicts_are_named_alike_in_every_table(study: PicturedStudy) -> None:
    table = study.comparison.copy()
    stems = {"resonance": "cents", "resonance_Q": "percent", "impedance_peak": "percent",
             "flow_resistance": "percent", "flow_resistance_to_throat_end": "percent"}  # fmt: skip
    for stem, unit in stems.items():
        table[f"{stem}_change_{unit}"], table[f"{stem}_change_verdict"] = 1.0, "higher"
    changes = build_table(pd.DataFrame(
        [{f"{stem}_change_{unit}": 1.0, f"{stem}_change_verdict": "higher"}
         for stem, unit in stems.items()]), "c")  # fmt: skip
    names = [
        cell.text
        for part in (*printed_comparisons(table, study.flow), changes)
        for cell in part.columns
        if "hange" in cell.text or "Result" in cell.text
    ]
    assert set(names) == {"Change, %", "Change, cents", "Result"}
    assert names.count("Result") == 2 * len(stems)


def test_two_changes_in_a_table_stand_under_their_quantities() -> None:
    found = build_table(pd.DataFrame(
        [{"dimension": "length", "resonance_change_cents": 1.0, "resonance_change_verdict": "a",
          "flow_resistance_change_percent": 2.0, "flow_resistance_change_verdict": "b"}]), "c"
    )  # fmt: skip
    assert found.groups == [("", 1), ("First resonance", 2), ("Flow resistance", 2)]
    assert found.labels[-1] == "Flow resistance: result"


@pytest.mark.parametrize(("topic", "first"), [("flow", "Flow at"), ("resonance", "Resonance.")])
def test_the_tables_of_the_topic_come_first(study: PicturedStudy, topic: Any, first: str) -> None:
    found = printed_comparisons(study.comparison, study.flow, topic)
    assert found[0].caption.startswith(first)
    assert found[-1].caption == "The bores."


def test_the_tolerances_have_a_line_for_each_main_quantity() -> None:
    printed = printed_tolerances(tolerances("throat diameter"))
    assert len(printed.rows) == 6 <= MOST
    assert [cell.text for cell in printed.rows[0]] == [
        "Resonance", "−2 to +2.1 cents", "throat diameter", "± 1 cents", "sampled two-port",
    ]  # fmt: skip
    assert [row[0].text for row in printed.rows[3:]] == [
        "Flow resistance at 0.05 L/s", "Flow resistance at 0.3 L/s", "Cup volume",
    ]  # fmt: skip
    assert printed.rows[3][1].text == "−5 to +5.1 %"
    assert [cell.text for cell in printed.rows[4][1:]] == [NOT_KNOWN, *["none"] * 3]


def test_the_tolerances_of_lengths_are_stated_the_usual_one_last() -> None:
    table = tolerances("throat diameter")
    assert "(±0.001 in (0.0254 mm) on every length)" in printed_tolerances(table).caption
    one = table[table["dimension"] != ALL].iloc[:1]
    wider = [
        one.assign(dimension=name, dimension_label=name, tolerance=0.0508)
        for name in ("cup depth", "rim diameter")
    ]
    assert stated_tolerances(pd.concat([table, *wider])) == (
        "0.001 in (0.0254 mm) on the throat diameter and 0.002 in (0.0508 mm) on every other length"
    )


def test_of_many_peaks_and_rates_the_tolerances_show_some() -> None:
    table = tolerances()
    row = table[table["quantity"] == "resonance"]
    names = [f"peak {number}" for number in range(1, 13)]
    names += [f"peak {number} Q" for number in range(1, 13)]
    names += [f"flow resistance at 0.{number} L/s" for number in range(1, 10)]
    many = pd.concat([table, *(row.assign(quantity=name) for name in names)])
    printed = [line[0].text for line in printed_tolerances(many).rows]
    assert len(printed) == MOST
    assert [name for name in printed if name.startswith("Peak")] == [
        "Peak 2", "Peak 5", "Peak 9", "Peak 12",
    ]  # fmt: skip
    assert printed[-2:] == ["Flow resistance at 0.9 L/s", "Cup volume"]


def test_a_figure_of_a_measured_bore_has_what_its_stations_make_of_it_beside_its_own_error() -> (
    None
):
    frame = pd.DataFrame(
        {
            "case": ["plain", "other"],
            "resonance_Hz": [812.34, 823.1],
            "resonance_Hz_uncertainty": [0.2, 0.2],
            "resonance_Hz_measurement_uncertainty": [3.0, None],
            "resonance_change_cents": [0.0, 22.0],
            "resonance_change_cents_uncertainty": [0.0, 3.0],
            "resonance_change_cents_measurement_uncertainty": [0.0, 2.9],
        }
    )
    names = chosen(frame, ["resonance_Hz", "resonance_change_cents"])
    assert names == list(frame.columns)[1:]
    table = build_table(frame, "", columns=["case", *names])
    heads = [cell.text for cell in table.columns]
    assert heads[1].endswith("Hz ± numerical ± measurement")
    assert len(heads) == 3
    assert [row[1].text for row in table.rows] == ["812.3 ± 0.2 ± 3", "823.1 ± 0.2 ± unknown"]
    assert table.rows[1][2].text == "22 ± 3"
