"""The extreme solutions stand in columns and rows of their own, and never in an answer."""

import pandas as pd
import pytest

from borestudy.report.sentences.answers import answers
from borestudy.report.sentences.parts import separation_answers
from borestudy.report.sentences.validity import validity_sentences
from borestudy.results.budget import budget_rows
from borestudy.results.case import CaseResults
from borestudy.results.tables.comparison import comparison_table
from borestudy.results.tables.flow import energy_table, flow_table, separation_table

from .conftest import RATES, altered, make_case

ABSURD = {"laminar": 1e6, "turbulent": -1e6}
EXTREME = ("laminar_", "turbulent_")


def cases(extremes: dict[str, float] | None) -> list[CaseResults]:
    return [
        make_case(
            f"r{radius}",
            {"entry": f"rounded {radius:g} mm", "entry_radius_mm": radius},
            resistance=resistance,
            extremes=extremes,
        )
        for radius, resistance in ((0.0, 100.0), (0.5, 80.0), (1.0, 79.9))
    ]


def own(table: pd.DataFrame) -> pd.DataFrame:
    """The columns that are not of an extreme."""
    return table[[name for name in table.columns if not name.startswith(EXTREME)]]


@pytest.mark.parametrize("rate", range(len(RATES)))
def test_absurd_extremes_change_no_answer_verdict_or_budget(rate: int) -> None:
    plain, absurd = cases(None), cases(ABSURD)
    pd.testing.assert_frame_equal(
        comparison_table(absurd, rate), comparison_table(plain, rate), check_exact=True
    )
    pd.testing.assert_frame_equal(own(flow_table(absurd)), flow_table(plain), check_exact=True)
    assert answers(absurd, rate) == answers(plain, rate)
    assert budget_rows(absurd[0], rate, 293.15) == budget_rows(plain[0], rate, 293.15)
    said = validity_sentences(absurd)
    assert [line for line in said if "wholly" not in line] == validity_sentences(plain)


def test_extremes_that_were_asked_for_stand_in_their_own_columns() -> None:
    table = flow_table(cases({"laminar": 2.0, "turbulent": 0.5}))
    loud = table[table["flow_rate_L_per_s"] == 0.3].iloc[1]
    for word, factor in (("laminar", 2.0), ("turbulent", 0.5)):
        for drop in ("pressure_drop", "pressure_drop_to_throat_end", "backbore_pressure_drop"):
            assert loud[f"{word}_{drop}_Pa"] == pytest.approx(factor * loud[f"{drop}_Pa"])
        assert loud[f"{word}_converged"]
    soft = table[table["flow_rate_L_per_s"] == 0.05]
    assert soft["turbulent_pressure_drop_Pa"].isna().all()
    assert soft["laminar_pressure_drop_Pa"].notna().all()


def test_an_extreme_that_was_not_asked_for_has_no_column() -> None:
    columns = flow_table(cases({"laminar": 2.0})).columns
    assert any(name.startswith("laminar_") for name in columns)
    assert not any(name.startswith("turbulent_") for name in columns)


def test_an_extreme_that_did_not_converge_leaves_no_number_and_is_counted() -> None:
    found = cases({"laminar": 2.0, "turbulent": 0.5})
    found[1] = altered(found[1], 2, "turbulent", converged=False)
    table = flow_table(found)
    lost = table[(table["case"] == "r0.5") & (table["flow_rate_L_per_s"] == 0.3)].iloc[0]
    assert lost["converged"]
    assert not lost["turbulent_converged"]
    assert lost.filter(like="turbulent_").drop("turbulent_converged").isna().all()
    said = " ".join(validity_sentences(found))
    assert "1 of 3 solutions of the wholly turbulent flow did not converge" in said
    assert "Every solution of the flow converged, 9 of 9" in said


def test_the_wall_and_the_energy_have_a_row_for_each_solution() -> None:
    found = make_case("one", {}, extremes={"laminar": 2.0, "turbulent": 0.5}, rates=(0.3,))
    assert list(separation_table([found])["solution"]) == ["estimate", "laminar", "turbulent"]
    assert list(separation_table([make_case("one", {})])["solution"]) == ["estimate"] * len(RATES)
    assert energy_table([found]).empty  # none has a budget of its energy
    assert len(separation_answers([found])) == 1
    assert "laminar flow" not in separation_answers([found])[0]
