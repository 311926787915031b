"""The best estimate at a rate: its figures, both of its errors, and what never enters it."""

import math
from dataclasses import replace

import pytest

from borestudy.flow.result import FlowAtRate
from borestudy.quantity import Quantity
from borestudy.results.estimate import (
    DROPS,
    WHOLE,
    EstimatedFlow,
    EstimatedRate,
    estimated_flow,
)
from borestudy.results.model_error import ModelError, Sides, model_error

from .conftest import PASSAGE, flow_of, flow_result, lost_row, rate_row, scales


def rate_with(low: float, high: float, numerical: float | None) -> EstimatedRate:
    """A drop of 100 Pa with a numerical uncertainty and the model's error to both sides [Pa]."""
    solved = FlowAtRate(
        flow_rate_L_per_s=0.3, converged=True, pressure_drop=Quantity(100.0, numerical, "Pa")
    )
    error = ModelError({WHOLE: Sides(low, high)}, {})
    return EstimatedRate(**scales(0.3), estimate=solved, model_error=error)


def test_the_interval_joins_both_errors_by_squares_each_side_by_itself() -> None:
    """Sides of 4 and 12 Pa, 3 Pa of numerical uncertainty: 5 below and √153 above."""
    found = rate_with(4.0, 12.0, 3.0).interval()
    assert (found.low, found.high) == pytest.approx((95.0, 100 + math.sqrt(153.0)))
    without = rate_with(4.0, 12.0, None).interval()
    assert (without.low, without.high) == pytest.approx((96.0, 112.0))


@pytest.mark.parametrize("drop", DROPS)
@pytest.mark.parametrize("rate", [0.05, 0.1, 0.3])
def test_the_interval_holds_the_estimate_and_each_error_by_itself(rate: float, drop: str) -> None:
    """With the model error that the bore really has."""
    (row,) = flow_of([rate_row(rate, 30.0, 1e-3)]).rates
    found, sides = row.quantity(drop), row.model_error.drops[drop]
    interval = row.interval(drop)
    assert min(sides.low, sides.high) > 0
    assert interval.low < found.value - max(found.uncertainty, sides.low)
    assert interval.high > found.value + max(found.uncertainty, sides.high)
    assert found.value - interval.low < found.uncertainty + sides.low
    assert interval.high - found.value < found.uncertainty + sides.high


def test_the_model_error_is_that_of_the_passage_and_the_estimate() -> None:
    row = rate_row(0.3, 30.0)
    cone = replace(PASSAGE, cone_angle=12.0)
    for passage in (PASSAGE, cone):
        (found,) = flow_of([row], passage=passage).rates
        assert found.model_error == model_error(passage, found.estimate)
    assert model_error(cone, found.estimate) != model_error(PASSAGE, found.estimate)


def test_without_a_model_error_nothing_is_believed() -> None:
    row = rate_with(4.0, 12.0, 3.0)
    assert replace(row, model_error=None).interval() is None
    assert row.interval(DROPS[1]) is None


def test_a_lost_rate_is_a_row_without_a_number_with_the_last_good_rate() -> None:
    first, last = flow_of([rate_row(0.2, 9.0), lost_row(0.3)]).rates
    assert first.converged
    assert first.note == ""
    assert not last.converged
    assert (last.figures, last.quantity(WHOLE), last.interval(), last.model_error) == (None,) * 4
    assert last.last_converged_flow_rate_L_per_s == 0.2
    assert last.note == "no number: the solution did not converge"


def test_a_rate_without_a_mesh_says_why() -> None:
    (row,) = flow_of([], rates=[0.3], not_meshed="too fine a step").rates
    assert row.note == "no number: not meshed: too fine a step"


@pytest.mark.parametrize("lost", [True, False])
def test_the_extremes_are_beside_the_estimate_and_never_stand_in_for_it(lost: bool) -> None:
    rows = [lost_row(0.3) if lost else rate_row(0.3, 30.0)]
    extremes = {"laminar": [rate_row(0.3, 50.0)], "turbulent": [rate_row(0.3, 20.0)]}
    (row,) = flow_of(rows, extremes).rates
    (alone,) = flow_of(rows).rates
    assert row.quantity(WHOLE, "laminar").value == pytest.approx(50.0, rel=1e-3)
    assert row.quantity(WHOLE, "turbulent").value == pytest.approx(20.0, rel=1e-3)
    assert alone.of("laminar") is alone.of("turbulent") is None
    assert row.converged is not lost
    for name in ("figures", "note", "regime", "model_error", "converged"):
        assert getattr(row, name) == getattr(alone, name)
    assert row.interval() == alone.interval()


def test_an_extreme_without_an_estimate_is_nothing_computed() -> None:
    extreme = flow_result([rate_row(0.3, 20.0)], "turbulent", [0.3])
    assert estimated_flow(None, PASSAGE, None, {"turbulent": extreme}) == EstimatedFlow()


def test_the_turbulent_extreme_is_not_counted_where_it_could_not_become_laminar() -> None:
    """A result has a row for each rate of the study, solved or not; 0.1 L/s is 2300."""
    for rate, sought in ((0.1, False), (0.12, True)):
        (row,) = flow_of([rate_row(rate, 3.0)], {"turbulent": [rate_row(rate, 2.0)]}).rates
        assert (row.turbulent is not None) is sought


def test_results_of_different_rates_are_refused() -> None:
    one = flow_result([], "estimate", [0.05])
    two = flow_result([], "laminar", [0.05, 0.1])
    with pytest.raises(ValueError, match=r"1 \(estimate\), 2 \(laminar\)"):
        estimated_flow(one, PASSAGE, None, {"laminar": two})


def test_laminar_is_the_word_of_a_bore_that_is_laminar_throughout() -> None:
    """At a Reynolds number of 1196 a jet may break up inside a long bore."""
    words = []
    for place in (None, 60.0):
        (row,) = flow_of([rate_row(0.052, 2.0, transition_position_mm=place)]).rates
        words.append(row.regime)
    assert words == ["laminar", "transitional"]
    (loud,) = flow_of([rate_row(0.3, 30.0)]).rates
    assert loud.regime == "turbulent"
