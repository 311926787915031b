"""The maker's two sentences: one change and one verdict a rate, and drops with both errors."""

import re
from dataclasses import replace

import pytest

from borestudy.report.sentences.answers import answers
from borestudy.report.sentences.parts import parts_answers, separation_answers
from borestudy.report.sentences.validity import validity_sentences
from borestudy.report.sentences.words import listed, told_rates
from borestudy.results.case import CaseResults
from borestudy.results.changes import flow_change
from borestudy.results.estimate import BACKBORE, WHOLE
from borestudy.rounding import with_both_errors, with_uncertainty

from .conftest import altered, make_case

SQUARE = {"entry": "square", "entry_radius_mm": 0.0}
ROUND = {"entry": "rounded 1 mm", "entry_radius_mm": 1.0}


def two(resistance: float) -> list[CaseResults]:
    """A square entry with 100 Pa·s/L and a rounded one with another."""
    return [make_case("square", SQUARE), make_case("round", ROUND, resistance=resistance)]


def test_the_first_sentence_has_one_change_and_one_verdict_for_each_rate() -> None:
    square, rounded = two(60.0)
    sentence = answers([square, rounded], 1)[0]
    for index, rate in enumerate(("0.05", "0.1", "0.3")):
        change = flow_change(rounded, square, index)
        told = f"{with_uncertainty(40.0, change.uncertainty)} % lower"
        if not change.is_beyond:
            size = with_uncertainty(-40.0, change.uncertainty)
            told = f"not different beyond the uncertainty ({size} %)"
        assert f"{told} at {rate} L/s" in sentence
    assert sentence.count("±") == 3
    assert not re.search(r"span|solution|not known", sentence)


def test_a_change_within_the_model_error_is_not_called_one_within_the_numerical(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("borestudy.results.changes.change_error", lambda *_: 8.0)
    square, nearly = two(95.0)
    uncertainty = flow_change(nearly, square, 2).uncertainty
    assert uncertainty == pytest.approx(8.0, rel=1e-3)
    told = with_uncertainty(-5.0, uncertainty)
    assert (
        f"not different beyond the uncertainty ({told} %) at 0.3 L/s"
        in answers([square, nearly], 0)[0]
    )


def test_entries_that_differ_at_no_rate_are_said_not_to() -> None:
    told = answers(two(99.9999), 2)[0]
    assert told.startswith("No entry computed differs from square in flow resistance beyond")


def test_the_second_sentence_gives_each_drop_its_numerical_and_then_its_model_error() -> None:
    square, rounded = two(60.0)
    sentence = answers([square, rounded], 0)[1]
    assert sentence.endswith("each ± numerical ± model error.")
    for index in (0, 2):
        drops = []
        for case in (rounded, square):
            row = case.rates[index]
            drop, error = row.quantity(WHOLE), row.model_error
            assert drop is not None
            assert error is not None
            sides = error.drops[WHOLE]
            drops.append(with_both_errors(drop.value, drop.uncertainty, sides.low, sides.high))
        assert f"{drops[0]} Pa instead of {drops[1]} Pa at" in sentence


def test_the_sides_change_places_where_what_is_given_back_is_told() -> None:
    found = make_case("first", {})
    row = found.rates[2]
    assert row.model_error is not None
    drops = {
        **row.model_error.drops,
        BACKBORE: replace(row.model_error.drops[BACKBORE], low=0.1, high=0.3),
    }
    changed = replace(row, model_error=replace(row.model_error, drops=drops))
    flow = replace(found.flow, rates=(*found.rates[:2], changed))
    (sentence,) = parts_answers([replace(found, flow=flow)])
    # the drop may be higher by 0.3 Pa, so that what is given back may be less by so much
    assert re.search(r"gives back 1\.4\d+ ± \S+ \+0\.10/−0\.30 Pa", sentence)


@pytest.mark.parametrize(
    ("position", "told"),
    [
        (None, "laminar to the shank end"),
        (10.8 - 3.66, "turbulent from 1 throat diameters before the throat on"),
        (10.8 + 1.83, "turbulent from 0.5 throat diameters into the throat on"),
        (15.8 + 7.32, "turbulent from 2 throat diameters behind the throat on"),
    ],
)
def test_the_place_of_transition_is_told_in_throat_diameters(
    position: float | None, told: str
) -> None:
    found = altered(make_case("first", {}), 2, transition_position_mm=position)
    (sentence,) = separation_answers([found])
    assert f"the flow is {told}; in the backbore it stays on the wall" in sentence


def test_what_lies_outside_the_measurements_is_said_once_of_all_its_cases() -> None:
    cases = two(60.0)
    error = cases[0].rates[0].model_error
    assert error is not None
    told = replace(error, words=("cone of 4 degrees: compared from 20",))
    for place, case in enumerate(cases):
        rates = tuple(replace(row, model_error=told) for row in case.rates)
        cases[place] = replace(case, flow=replace(case.flow, rates=rates))
    expected = "Outside the measurements, all bores: cone of 4 degrees: compared from 20."
    assert validity_sentences(cases).count(expected) == 1


def test_a_sentence_goes_through_at_most_five_rates_with_the_reference_among_them() -> None:
    case = make_case("many", {}, rates=[0.05 + 0.03 * step for step in range(9)])
    for reference in range(9):
        rates = told_rates(case, reference)
        assert len(rates) == 5
        assert reference in rates
        assert rates == sorted(set(rates))
    assert told_rates(make_case("few", {}), 1) == [0, 1, 2]


def test_parts_are_listed_with_semicolons_where_one_has_a_comma() -> None:
    assert listed(["a"]) == "a"
    assert listed(["a", "b", "c"]) == "a, b and c"
    assert listed(["a, b", "c"]) == "a, b; c"
