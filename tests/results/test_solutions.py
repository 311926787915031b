"""Both solutions become one row: whose figure, what span, and which end is from where."""

from typing import Any

import pytest

from borestudy.results.merged_flow import REFUSED, is_judged_by_both, merged_flow, solution_row

from .conftest import lost_row, rate_row, turbulent_row

DROPS = ("pressure_drop", "pressure_drop_to_throat_end", "backbore_pressure_drop")


def given(rate: float, **changes: Any) -> dict[str, Any]:
    """What is known of a rate before it is solved: handbooks far above both solutions."""
    reynolds = 23000.0 * rate
    books = {f"{drop}_{end}_Pa": value for drop in DROPS for end, value in (("low", 40.0),
             ("high", 60.0))}  # fmt: skip
    row = {"flow_rate_L_per_s": rate, "throat_reynolds": reynolds, "handbook": books}
    return {"tolerance": 0.01, "rates": [row | changes]}


def merged(laminar: dict | None, turbulent: dict | None, mode: str = "both", rate: float = 0.3):
    files = [{"rates": [row]} if row else {} for row in (laminar, turbulent)]
    (row,) = merged_flow(*files, mode, given(rate))["rates"]
    return row


@pytest.mark.parametrize("drop", DROPS)
def test_the_span_reaches_from_one_solution_to_the_other_each_with_its_uncertainty(
    drop: str,
) -> None:
    laminar, turbulent = rate_row(0.3, 30.0, 1e-2), turbulent_row(0.3, 20.0, 1e-2)
    row = merged(laminar, turbulent)
    low, high = sorted((turbulent, laminar), key=lambda found: found[f"{drop}_Pa"])
    name = f"{drop}_Pa"
    assert row[f"{drop}_low_Pa"] == low[name] - low[f"{name}_uncertainty"]
    assert row[f"{drop}_high_Pa"] == high[name] + high[f"{name}_uncertainty"]
    words = {id(laminar): "laminar", id(turbulent): "turbulent"}
    assert row[f"{drop}_low_from"] == words[id(low)]
    assert row[f"{drop}_high_from"] == words[id(high)]


def test_the_handbooks_are_no_end_of_a_span_that_both_solutions_have() -> None:
    row = merged(rate_row(0.3, 30.0), turbulent_row(0.3, 20.0))
    assert row["pressure_drop_high_Pa"] < row["handbook"]["pressure_drop_low_Pa"]
    assert row["solution"] == "laminar"
    assert is_judged_by_both(row)


def test_a_greater_numerical_uncertainty_decides_an_end_where_figures_are_close() -> None:
    laminar = rate_row(0.3, 30.0, pressure_drop_Pa_uncertainty=9.0)
    row = merged(laminar, turbulent_row(0.3, 29.0))
    assert row["pressure_drop_low_from"] == row["pressure_drop_high_from"] == "laminar"


@pytest.mark.parametrize("lost", ["laminar", "turbulent"])
def test_where_one_solution_is_lost_the_handbooks_are_the_other_end_and_the_row_says_so(
    lost: str,
) -> None:
    gone = lost_row(0.3)
    laminar = gone if lost == "laminar" else rate_row(0.3, 30.0)
    turbulent = gone if lost == "turbulent" else turbulent_row(0.3, 30.0)
    row = merged(laminar, turbulent)
    left = "turbulent" if lost == "laminar" else "laminar"
    assert row["solution"] == row["pressure_drop_low_from"] == left
    assert row["pressure_drop_Pa"] == pytest.approx(30.0, rel=1e-3)
    assert (row["pressure_drop_high_from"], row["pressure_drop_high_Pa"]) == ("handbook", 60.0)
    assert row["converged"]
    assert row[f"{lost}_converged"] is False
    assert f"the {lost} solution did not converge" in row["span_note"]
    assert not solution_row(row, lost)


def test_two_lost_solutions_are_a_row_without_a_number_and_the_last_good_rate() -> None:
    files = [{"rates": [make(0.2, 9.0), lost_row(0.3)]} for make in (rate_row, turbulent_row)]
    first, last = merged_flow(*files)["rates"]
    assert first["converged"]
    assert not last["converged"]
    assert last["solution"] is None
    assert last["last_converged_flow_rate_L_per_s"] == 0.2
    assert "the laminar and the turbulent solution did not converge" in last["span_note"]
    assert not solution_row(last)


def test_a_laminar_rate_is_its_laminar_solution_alone() -> None:
    laminar = rate_row(0.05, 0.8)
    row = merged(laminar, None, rate=0.05)
    assert {key: row[key] for key in laminar if key != "handbook"} == {
        key: laminar[key] for key in laminar if key != "handbook"
    }
    assert row["pressure_drop_low_from"] == row["pressure_drop_high_from"] == "laminar"
    assert row["turbulent_converged"] is None
    assert not is_judged_by_both(row)


def test_below_the_closures_least_reynolds_number_the_handbooks_are_an_end_as_before() -> None:
    laminar = rate_row(0.1, 1.0, pressure_drop_low_Pa=0.9, pressure_drop_high_Pa=60.0)
    row = merged(laminar, None, rate=0.1)
    assert row["regime"] == "transitional"
    assert (row["pressure_drop_low_from"], row["pressure_drop_high_from"]) == (
        "laminar",
        "handbook",
    )


@pytest.mark.parametrize(("end", "sign"), [("low", -1), ("high", 1)])
def test_an_end_within_4_percent_beyond_the_computed_one_rests_on_it(end: str, sign: int) -> None:
    """An entry that the air may follow: kept ends are widened by 4 %, the nearer source tells."""
    half = "pressure_drop_to_throat_end"
    computed = 1.0 + sign * 0.1  # less or plus its uncertainty
    kept = computed * (1 + sign * 0.04)
    book = kept + sign * 0.04
    for value, source in ((kept + sign * 0.015, "laminar"), (book - sign * 0.015, "handbook")):
        row = rate_row(
            0.1, 1.0,
            **{f"{half}_Pa": 1.0, f"{half}_Pa_uncertainty": 0.1, f"{half}_{end}_Pa": value},
        )  # fmt: skip
        known = given(0.1)
        known["rates"][0]["handbook"][f"{half}_{end}_Pa"] = book
        (found,) = merged_flow({"rates": [row]}, {}, "both", known)["rates"]
        assert found[f"{half}_{end}_from"] == source


def test_the_turbulent_mode_has_its_solution_and_the_handbooks() -> None:
    row = merged(rate_row(0.3, 30.0), turbulent_row(0.3, 20.0), "turbulent")
    assert row["solution"] == row["pressure_drop_low_from"] == "turbulent"
    assert row["pressure_drop_Pa"] == pytest.approx(20.0, rel=1e-3)
    assert (row["pressure_drop_high_from"], row["pressure_drop_high_Pa"]) == ("handbook", 60.0)
    assert row["laminar_converged"] is None
    assert row["regime"] == "turbulent"
    assert row["tolerance_reached"]


def test_a_rate_too_slow_to_be_turbulent_says_why_it_has_no_number() -> None:
    (row,) = merged_flow({}, {"rates": []}, "turbulent", given(0.05))["rates"]
    assert not row["converged"]
    assert row["span_note"] == REFUSED
    assert "2500" in REFUSED
    assert row["throat_reynolds"] == 1150
    assert row.get("pressure_drop_Pa") is None


def test_the_laminar_mode_leaves_what_a_former_run_left() -> None:
    row = merged(rate_row(0.3, 30.0), turbulent_row(0.3, 20.0), "laminar")
    assert row["turbulent_converged"] is None
    assert "turbulent" not in row
    assert row["pressure_drop_low_Pa"] == pytest.approx(24.0)


def test_a_turbulent_figure_less_certain_than_asked_for_says_so() -> None:
    row = merged(lost_row(0.3), turbulent_row(0.3, 20.0, pressure_drop_Pa_uncertainty=1.0))
    assert row["tolerance_reached"] is False


def test_nothing_computed_is_nothing_merged() -> None:
    assert merged_flow({}, {}, "both", given(0.3)) == {}
