"""Both solutions become one row: whose figure, what span, and which end is from where."""

from typing import Any

import pytest

from borestudy.closed_form.handbook import Span
from borestudy.results.merged_flow import REFUSED, MergedFlow, MergedRate, merged_flow
from borestudy.results.spans import DROPS, WHOLE, Handbook

from .conftest import flow_of, flow_result, lost_row, rate_row, turbulent_row

#: Far above both solutions.
BOOKS = Handbook(dict.fromkeys(DROPS, Span(40.0, 60.0)), {})


def merged(
    laminar: dict | None, turbulent: dict | None, mode: Any = "both", rate: float = 0.3
) -> MergedRate:
    rows = [None if row is None else [row] for row in (laminar, turbulent)]
    (row,) = flow_of(*rows, {rate: BOOKS}, mode).rates
    return row


@pytest.mark.parametrize("drop", DROPS)
def test_the_span_reaches_from_one_solution_to_the_other_each_with_its_uncertainty(
    drop: str,
) -> None:
    row = merged(rate_row(0.3, 30.0, 1e-2), turbulent_row(0.3, 20.0, 1e-2))
    figures = {word: row.quantity(drop, word) for word in ("laminar", "turbulent")}
    low, high = sorted(figures, key=lambda word: figures[word].value)
    span = row.spans[drop]
    assert span.low == figures[low].value - figures[low].uncertainty
    assert span.high == figures[high].value + figures[high].uncertainty
    assert (span.low_from, span.high_from) == (low, high)


def test_the_handbooks_are_no_end_of_a_span_that_both_solutions_have() -> None:
    row = merged(rate_row(0.3, 30.0), turbulent_row(0.3, 20.0))
    assert row.spans[WHOLE].high < row.handbook.spans[WHOLE].low
    assert row.solution == "laminar"
    assert row.is_judged_by_both


def test_a_greater_numerical_uncertainty_decides_an_end_where_figures_are_close() -> None:
    laminar = rate_row(0.3, 30.0, pressure_drop_Pa_uncertainty=9.0)
    row = merged(laminar, turbulent_row(0.3, 29.0))
    assert row.spans[WHOLE].low_from == row.spans[WHOLE].high_from == "laminar"


@pytest.mark.parametrize("lost", ["laminar", "turbulent"])
def test_where_one_solution_is_lost_the_handbooks_are_the_other_end_and_the_row_says_so(
    lost: str,
) -> None:
    gone = lost_row(0.3)
    laminar = gone if lost == "laminar" else rate_row(0.3, 30.0)
    turbulent = gone if lost == "turbulent" else turbulent_row(0.3, 30.0)
    row = merged(laminar, turbulent)
    left = "turbulent" if lost == "laminar" else "laminar"
    span = row.spans[WHOLE]
    assert row.solution == span.low_from == left
    assert row.figures.pressure_drop.value == pytest.approx(30.0, rel=1e-3)
    assert (span.high_from, span.high) == ("handbook", 60.0)
    assert row.converged
    assert row.sought(lost).converged is False
    assert f"the {lost} solution did not converge" in row.note
    assert row.of(lost) is None


def test_two_lost_solutions_are_a_row_without_a_number_and_the_last_good_rate() -> None:
    rows = [[make(0.2, 9.0), lost_row(0.3)] for make in (rate_row, turbulent_row)]
    first, last = flow_of(*rows).rates
    assert first.converged
    assert not last.converged
    assert last.solution is None
    assert last.last_converged_flow_rate_L_per_s == 0.2
    assert "the laminar and the turbulent solution did not converge" in last.note
    assert last.figures is None


def test_a_laminar_rate_is_its_laminar_solution_alone() -> None:
    laminar = rate_row(0.05, 0.8)
    row = merged(laminar, None, rate=0.05)
    assert row.figures.pressure_drop.value == laminar["pressure_drop_Pa"]
    span, drop = row.spans[WHOLE], row.figures.pressure_drop
    assert (span.low, span.high) == (drop.low, drop.high)
    assert span.low_from == span.high_from == "laminar"
    assert row.turbulent is None
    assert not row.is_judged_by_both


def test_below_the_least_turbulent_reynolds_number_the_handbooks_are_an_end_as_before() -> None:
    row = merged(rate_row(0.1, 1.0), None, rate=0.1)
    assert row.regime == "transitional"
    assert (row.spans[WHOLE].low_from, row.spans[WHOLE].high_from) == ("laminar", "handbook")


def test_a_turbulent_row_of_a_rate_that_is_too_slow_for_it_is_not_counted() -> None:
    """A result has a row for each rate of the study, solved or not."""
    row = merged(rate_row(0.05, 0.8), lost_row(0.05), rate=0.05)
    assert row.turbulent is None
    assert row.note == "laminar solution and its numerical uncertainty"


def test_results_of_different_rates_are_refused() -> None:
    one, two = (flow_result([], "laminar", rates) for rates in ([0.05], [0.05, 0.1]))
    with pytest.raises(ValueError, match="found 1 laminar rates and 2 turbulent ones"):
        merged_flow(one, two)


def test_the_turbulent_mode_has_its_solution_and_the_handbooks() -> None:
    row = merged(rate_row(0.3, 30.0), turbulent_row(0.3, 20.0), "turbulent")
    span = row.spans[WHOLE]
    assert row.solution == span.low_from == "turbulent"
    assert row.figures.pressure_drop.value == pytest.approx(20.0, rel=1e-3)
    assert (span.high_from, span.high) == ("handbook", 60.0)
    assert row.laminar is None
    assert row.regime == "turbulent"


def test_a_rate_too_slow_to_be_turbulent_says_why_it_has_no_number() -> None:
    row = merged(None, lost_row(0.05), "turbulent", 0.05)
    assert not row.converged
    assert row.note == REFUSED
    assert "2500" in REFUSED
    assert row.throat_reynolds == 1150
    assert row.quantity(WHOLE) is None


def test_the_laminar_mode_leaves_what_a_former_run_left() -> None:
    row = merged(rate_row(0.3, 30.0), turbulent_row(0.3, 20.0), "laminar")
    assert row.turbulent is None
    assert {row.spans[WHOLE].low_from, row.spans[WHOLE].high_from} == {"handbook"}


def test_nothing_computed_is_nothing_merged() -> None:
    assert merged_flow(None, None) == MergedFlow()
