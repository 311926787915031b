"""Columns that mean the same are called the same, and the study's topic comes first."""

from typing import Any

import pandas as pd
import pytest

from borestudy.report.figures.case import PicturedStudy
from borestudy.report.tables.comparison import printed_comparisons
from borestudy.report.tables.layout import build_table


def test_changes_and_verdicts_are_named_alike_in_every_table(study: PicturedStudy) -> None:
    table = study.comparison.copy()
    stems = {"resonance": "cents", "resonance_Q": "percent", "impedance_peak": "percent",
             "flow_resistance": "percent", "flow_resistance_to_throat_end": "percent"}  # fmt: skip
    for stem, unit in stems.items():
        table[f"{stem}_change_{unit}"], table[f"{stem}_change_verdict"] = 1.0, "higher"
    tolerances = build_table(pd.DataFrame(
        [{f"{stem}_change_{unit}": 1.0, f"{stem}_change_verdict": "higher"}
         for stem, unit in stems.items()]), "c")  # fmt: skip
    names = [
        cell.text
        for part in (*printed_comparisons(table, study.flow), tolerances)
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
