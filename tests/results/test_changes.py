"""A change carries its own uncertainty, and a word only where one is earned."""

from dataclasses import replace

import numpy as np
import pytest

from borestudy.fem.uncertainty import grid_uncertainty
from borestudy.results import changes
from borestudy.results.case import CaseResults
from borestudy.results.changes import change_of_levels, flow_change, resonance_change

from .conftest import PASSAGE, flow_of, ladder, lost_row, make_case, rate_row, resonance


@pytest.mark.parametrize("levels", [2, 3])
@pytest.mark.parametrize("errors", [(1e-3, 1e-3), (1e-3, 2e-3), (1e-3, -1e-3), (0.0, 1e-3)])
def test_the_true_change_lies_within_the_uncertainty(
    errors: tuple[float, float], levels: int
) -> None:
    found = change_of_levels(ladder(97.0, errors[0], levels), ladder(100.0, errors[1], levels))
    assert found.value is not None
    assert found.uncertainty is not None
    assert abs(found.value + 3.0) <= found.uncertainty


def test_mesh_errors_common_to_both_cases_leave_the_change() -> None:
    ours, theirs = ladder(97.0, 1e-3, 3), ladder(100.0, 1e-3, 3)
    apart = 97 * np.hypot(grid_uncertainty(ours) / 97, grid_uncertainty(theirs) / 100)
    found = change_of_levels(ours, theirs)
    assert found.value == pytest.approx(-3.0, abs=1e-9)
    assert found.uncertainty == pytest.approx(apart / 10, rel=0.01)


def test_two_levels_that_agree_by_chance_are_believed_less_than_three() -> None:
    two = change_of_levels(ladder(97.0, 1e-3, 2), ladder(100.0, 1e-3, 2))
    independent = 97 * np.sqrt(2) * grid_uncertainty(ladder(1.0, 1e-3, 2))
    assert two.uncertainty == pytest.approx(independent / 4, rel=0.01)


def test_errors_of_opposite_sign_add_up_in_the_change() -> None:
    ours, theirs = ladder(100.0, 1e-3, 3), ladder(100.0, -1e-3, 3)
    found = change_of_levels(ours, theirs)
    assert found.uncertainty is not None
    assert found.uncertainty > 1.9 * float(grid_uncertainty(ours))


def test_half_the_frequency_is_twelve_hundred_cents_lower() -> None:
    found = change_of_levels(ladder(400.0, 1e-6, 3), ladder(800.0, 1e-6, 3), "cents")
    assert found.value == pytest.approx(-1200.0, abs=0.01)
    assert found.verdict == changes.LOWER


def test_the_solvers_error_is_added_to_that_of_the_meshes() -> None:
    meshes = change_of_levels(ladder(97.0, 1e-3, 3), ladder(100.0, 1e-3, 3))
    both = change_of_levels(ladder(97.0, 1e-3, 3), ladder(100.0, 1e-3, 3), solver_error=1e-3)
    assert both.uncertainty == pytest.approx(meshes.uncertainty + 0.097, rel=1e-6)


@pytest.mark.parametrize(
    ("value", "error", "word"),
    [
        (1.0, 0.5, "higher"),
        (-1.0, 0.5, "lower"),
        (0.5, 0.5, "no difference beyond the numerical uncertainty"),
        (None, None, "not known: no result"),
        (1.0, None, "not known: no numerical uncertainty"),
    ],
)
def test_a_verdict_needs_a_change_larger_than_its_uncertainty(
    value: float | None, error: float | None, word: str
) -> None:
    assert changes.Change(value, error).verdict == word


def test_a_level_without_a_figure_is_left_out_of_the_series() -> None:
    values: list[float | None] = [None, *ladder(97.0, 1e-3, 2)]
    shorter = change_of_levels(ladder(97.0, 1e-3, 2), ladder(100.0, 1e-3, 2))
    found = change_of_levels(values, ladder(100.0, 1e-3, 3))
    assert found.uncertainty == pytest.approx(shorter.uncertainty)
    alone = change_of_levels([None, 97.0], [100.0, 100.0])
    assert alone.value == pytest.approx(-3.0)
    assert alone.uncertainty is None


def test_no_change_is_given_against_a_figure_that_is_not_positive() -> None:
    assert change_of_levels([1.0, 1.0], [-1.0, -1.0]).value is None
    assert change_of_levels([], [1.0, 1.0]).verdict == changes.NO_RESULT
    assert change_of_levels([1.0, 1.0], [0.0, 0.0]).value is None
    # what falls below nothing has a change in percent and none in cents
    assert change_of_levels([-1.0, -1.0], [1.0, 1.0], "cents").value is None
    assert change_of_levels([-1.0, -1.0], [1.0, 1.0], "percent").value == -200.0


def test_a_case_against_itself_does_not_change() -> None:
    case = make_case("base", {})
    for found in (resonance_change(case, case), flow_change(case, case, 0)):
        assert (found.value, found.uncertainty) == (0.0, 0.0)


def test_nothing_is_known_against_a_first_case_that_did_not_converge() -> None:
    first, other = make_case("first", {}, lost=(0.3,)), make_case("other", {})
    assert flow_change(other, first, 2) == changes.UNKNOWN
    assert flow_change(other, first, 1).is_known
    assert flow_change(other, CaseResults("empty"), 1).verdict == changes.NO_RESULT


def _with_row(name: str, row: dict) -> CaseResults:
    return CaseResults(name, flow=flow_of([row]))


@pytest.mark.parametrize(
    ("model", "word"),
    [
        (0.0, "lower"),
        (9.9, "lower"),
        (10.1, "no difference beyond the uncertainty"),
    ],
)
def test_the_verdict_is_of_both_errors_together(
    monkeypatch: pytest.MonkeyPatch, model: float, word: str
) -> None:
    """A drop that is 10 % lower, known to 0.01 points on its meshes."""
    monkeypatch.setattr(changes, "change_error", lambda *_: model)
    first, case = make_case("first", {}), make_case("case", {}, resistance=90.0)
    found = flow_change(case, first, 2)
    assert found.value == pytest.approx(-10.0, abs=1e-6)
    assert found.model == model
    assert found.uncertainty == pytest.approx(np.hypot(found.numerical, model))
    assert found.verdict == word


@pytest.mark.parametrize(
    ("numerical", "model", "word"),
    [
        (3.0, 4.0, "no difference beyond the uncertainty"),  # together 5 and not 7
        (3.0, 3.9, "higher"),
        (5.0, 0.0, "no difference beyond the numerical uncertainty"),
        (5.0, 9.0, "no difference beyond the numerical uncertainty"),
        (None, 9.0, "not known: no numerical uncertainty"),
    ],
)
def test_the_word_says_which_uncertainty_decides(
    numerical: float | None, model: float, word: str
) -> None:
    assert changes.Change(5.0, numerical, model=model).verdict == word


def test_the_models_error_of_a_change_is_asked_for_with_both_bores_and_the_drop(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked = []
    monkeypatch.setattr(changes, "change_error", lambda *given: asked.append(given) or 1.0)
    other = replace(PASSAGE, run_in=0.3)
    first, case = make_case("first", {}), make_case("case", {}, passage=other)
    drop = "pressure_drop_to_throat_end"
    assert flow_change(case, first, 1, drop).model == 1.0
    figures = [each.rates[1].figures for each in (case, first)]
    assert asked == [((other, figures[0]), (PASSAGE, figures[1]), drop)]
    assert flow_change(case, first, 1, "loss_coefficient").model == 0.0
    assert len(asked) == 1


def test_a_peak_that_the_range_cut_off_shifts_the_pairing_of_an_air_columns_peaks() -> None:
    series = [50.5, 232.0, 349.0, 466.0, 583.0, 700.0]
    first = make_case("first", {}, frequencies=series)
    case = make_case("case", {}, frequencies=[1.002 * value for value in series[1:]])
    assert changes.peak_shift(first, case) == -1
    assert resonance_change(case, first, 0).verdict == changes.NOT_PAIRED
    moved = resonance_change(case, first, 3)
    assert moved.value == pytest.approx(1200 * np.log2(1.002), rel=1e-6)


def test_a_mouthpiece_alone_is_paired_by_number_however_far_it_moves() -> None:
    first = make_case("first", {}, frequencies=[800.0, 1700.0])
    case = make_case("case", {}, frequencies=[1500.0, 2900.0])
    found = resonance_change(case, first)
    assert found.value == pytest.approx(1200 * np.log2(1500 / 800), rel=1e-6)


def test_the_reduced_basis_limits_how_small_a_change_can_be_seen() -> None:
    basis = {"held_out_error": 1e-3, "direct": False}
    first = make_case("first", {}, reduced_basis=basis)
    case = make_case("case", {}, frequencies=[800.5], reduced_basis=basis)
    assert resonance_change(case, first).verdict == changes.NO_DIFFERENCE
    assert resonance_change(make_case("c", {}, frequencies=[800.5]), make_case("f", {})).is_beyond


def test_an_unconverged_rates_leftover_number_is_not_compared() -> None:
    first, case = _with_row("first", rate_row(0.3, 30.0)), _with_row("case", lost_row(0.3))
    assert flow_change(case, first, 0) == changes.UNKNOWN


def test_heights_and_quality_factors_change_in_percent() -> None:
    first = make_case("first", {})
    higher = resonance(800.0)
    higher["levels"]["Q"] = [1.1 * value for value in higher["levels"]["Q"]]
    case = make_case("case", {}, resonances=[higher])
    assert resonance_change(case, first, 0, "Q").value == pytest.approx(10.0)


def test_levels_that_agree_by_chance_do_not_undercut_the_uncertainty_a_figure_carries() -> None:
    first = _with_row("first", rate_row(0.05, 30.0, error=0.0, pressure_drop_Pa_uncertainty=0.3))
    case = _with_row("case", rate_row(0.05, 29.0, error=0.0, pressure_drop_Pa_uncertainty=0.0))
    found = flow_change(case, first, 0)
    assert found.numerical == pytest.approx(100 * 29 / 30 * 0.01 / 4, rel=1e-3)


def test_rates_refined_differently_are_compared_on_the_meshes_they_share() -> None:
    theirs, ours = rate_row(0.05, 30.0), rate_row(0.05, 29.0)
    theirs["mesh_levels"], ours["mesh_levels"] = [0, 1], [0, 1, 2]
    quantity = "pressure_drop_Pa"
    shared = ours["levels"][quantity]
    ours["levels"] = {quantity: [*shared, 0.5 * shared[-1]]}
    change = flow_change(_with_row("case", ours), _with_row("first", theirs), 0)
    assert change.value == pytest.approx(100 * (29 / 30 - 1), abs=1e-6)
