"""The first answer: at most three plain sentences, one number in each, as in the tables."""

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from borestudy.report.sentences.first import FirstSentence, first_sentences, wished_sentences
from borestudy.report.topic import FLOW, RESONANCE
from borestudy.results.case import CaseResults
from borestudy.results.changes import flow_change
from borestudy.results.estimate import WHOLE
from borestudy.results.tables.comparison import comparison_table, peaks_table
from borestudy.results.tables.flow import flow_table
from borestudy.results.wishes import (
    MET,
    NOT_MET,
    NewDimension,
    NewQuantity,
    ReturnedBore,
    WishResult,
)
from borestudy.rounding import with_sides, with_uncertainty
from borestudy.study import load_study

from .conftest import PASSAGE, lost_row, make_case
from .test_measured import measured_cases

CONFIGS = Path(__file__).parents[2] / "configs"
STUDIES = ("entry-rounding", "throat-sweep", "cup-shape", "overall-length", "entry-by-throat",
           "measured")  # fmt: skip
#: What a maker would have to be told the meaning of.
NEEDS_EXPLANATION = re.compile(
    r"\b(cases?|Q|regimes?|estimates?d?|mesh(es)?|numerical|models?|Reynolds|converged?|solutions?|"
    r"impedance|peaks?|two-ports?|adjoint|transition(al)?|closure|termination|quasi-steady|"
    r"derivatives?|residuals?|not meshed|base|validity|anechoic|loss coefficient|taper)\b"
)
SIZE = re.compile(r"[\d.]+ (?:± [\d.]+|\+[\d.]+/−[\d.]+)")


def cases_of(name: str, rates: tuple[float, ...] = (0.05, 0.1, 0.2, 0.3)) -> list[CaseResults]:
    """A study's cases with invented figures: pitch falls and resistance too, from case to case."""
    study = load_study(CONFIGS / f"{name}.yaml")
    instrument: dict[str, Any] = {"termination": "air column"} if name == "overall-length" else {}
    return [
        replace(
            make_case(
                case.name,
                case.varied_columns(),
                frequencies=[
                    (100.0 - 0.1 * place) * number + 0.02 * place * number**2
                    for number in range(1, 13)
                ]
                if instrument
                else [850.0 - place],
                resistance=100.0 - 3 * place,
                rates=rates,
                **instrument,
            ),
            words=case.words(),
        )
        for place, case in enumerate(study.cases())
    ]


def question_of(name: str) -> str:
    return load_study(CONFIGS / f"{name}.yaml").question


def told_of(name: str, rate: int = 2) -> tuple[list[CaseResults], list[FirstSentence]]:
    cases = cases_of(name)
    return cases, first_sentences(cases, rate, question_of(name))


def from_table(one: FirstSentence, cases: list[CaseResults]) -> tuple[float, float]:
    """The number and its uncertainty that the table holds for a sentence.

    A table counts changes from its first case, so that it is made of both bores alone.
    """
    pair = {case.name: case for case in cases}
    shown = [pair[one.against], pair[one.case]] if one.against else [pair[one.case]]
    tables = {"comparison.csv": comparison_table(shown, 0), "flow.csv": flow_table(shown),
              "peaks.csv": peaks_table(shown)}  # fmt: skip
    table: pd.DataFrame = tables[one.file]
    rows = table[table["case"] == one.case]
    if one.flow_rate_L_per_s is not None:
        rows = rows[rows["flow_rate_L_per_s"] == one.flow_rate_L_per_s]
    if one.file == "peaks.csv":
        first, last = map(int, re.findall(r"partials (\d+) to (\d+)", one.text)[0])
        rows = rows[rows["peak"].between(first, last)]
    else:
        assert len(rows) == 1
    return rows[one.column].mean(), rows[f"{one.column}_uncertainty"].mean()


@pytest.mark.parametrize("name", STUDIES)
def test_each_number_and_its_sign_are_those_of_the_table(name: str) -> None:
    cases, found = told_of(name)
    assert found
    for one in found:
        value, uncertainty = from_table(one, cases)
        assert f"{with_uncertainty(abs(value), uncertainty)} {one.unit}" in one.text
        fell = re.search(r"\b(falls|lowers|lower)\b", one.text)
        rose = re.search(r"\b(rises|raises|higher)\b", one.text)
        assert bool(fell) == (value < 0), one.text
        assert bool(rose) == (value > 0), one.text


@pytest.mark.parametrize("name", STUDIES)
def test_a_sentence_tells_which_bore_and_against_which(name: str) -> None:
    cases, found = told_of(name)
    words = {case.name: case.words for case in cases}
    for one in found:
        if "same change" in one.text or "radius of" in one.text or "begins to" in one.text:
            continue
        ours, theirs = words[one.case], words[one.against]
        for column, said in ours.items():
            if theirs[column] != said:
                assert said in one.text
        before, _, behind = one.text.partition(" instead of ")
        changed = [said for column, said in ours.items() if theirs[column] != said]
        assert all(said in before for said in changed)
        least = [theirs[column].split()[-1] for column in ours if ours[column] != theirs[column]]
        assert all(last in behind or last in ("deep", "mm") for last in least)


@pytest.mark.parametrize("name", STUDIES)
def test_at_most_three_sentences_have_one_number_with_its_uncertainty_each(name: str) -> None:
    _, found = told_of(name)
    assert 1 <= len(found) <= 3
    for one in found:
        assert len(SIZE.findall(one.text)) == 1, one.text
        assert len(set(re.findall(r"[\d.]+ L/s(?! computed)", one.text))) <= 1
        assert one.text.endswith(".")


@pytest.mark.parametrize("name", STUDIES)
def test_no_word_needs_this_projects_explanation(name: str) -> None:
    for one in told_of(name)[1]:
        assert not NEEDS_EXPLANATION.search(one.text), one.text
        assert "_" not in one.text


@pytest.mark.parametrize(
    ("name", "units"),
    [
        ("entry-rounding", "%"),
        ("entry-by-throat", "%"),
        ("throat-sweep", "cents"),  # its question names the resonance first
        ("cup-shape", "cents"),
        ("overall-length", "cents"),
    ],
)
def test_the_answer_is_about_what_was_asked(name: str, units: str) -> None:
    assert told_of(name)[1][0].unit == units


@pytest.mark.parametrize(
    ("column", "topic"),
    [("entry", FLOW), ("throat_diameter_mm", FLOW), ("length_mm", RESONANCE),
     ("cup_shape", RESONANCE), ("cup_depth_mm", RESONANCE)],
)  # fmt: skip
def test_a_question_about_nothing_is_answered_by_what_is_varied(column: str, topic: str) -> None:
    values = ("square", "rounded 1 mm") if column == "entry" else (1.0, 2.0)
    cases = [
        make_case(str(place), {column: value}, frequencies=[800.0 + place], resistance=90.0 - place)
        for place, value in enumerate(values)
    ]
    found = first_sentences(cases, 1, "Is it better?")
    assert found[0].unit == ("%" if topic == FLOW else "cents")
    assert {one.unit for one in found} == {"%", "cents"}


def size_of(one: FirstSentence) -> float:
    assert one.value is not None
    return abs(one.value)


def test_what_matters_more_is_told_first() -> None:
    for name in ("cup-shape", "overall-length", "entry-by-throat"):
        found = told_of(name)[1]
        assert found[0].text != found[1].text
        assert size_of(found[0]) > size_of(found[1])


def test_most_and_least_are_those_of_all_throats_and_registers() -> None:
    cases, found = told_of("entry-by-throat")
    size = {"most": found[0], "least": found[1]}
    throats = {case.varied["throat_diameter_mm"]: case for case in cases[:4]}
    changes = {}
    for diameter, base in throats.items():
        mine = [case for case in cases[4:] if case.varied["throat_diameter_mm"] == diameter]
        changes[base.name] = max(abs(flow_change(case, base, 2).value or 0.0) for case in mine)
    for word, extreme in (("most", max), ("least", min)):
        assert f"The entry matters {word} with throat drill" in size[word].text
        assert size[word].against == extreme(changes, key=lambda name: changes[name])
    _, found = told_of("overall-length")
    most, least, other = found
    assert "moves most" in most.text
    assert "moves least" in least.text
    assert most.case == least.case != other.case


def test_an_instrument_is_answered_by_register() -> None:
    cases = [
        make_case(
            str(length),
            {"length_mm": length},
            frequencies=[100.0 * number * 2 ** (move * number / 1200) for number in range(1, 13)],
            termination="air column",
        )
        for length, move in ((88.0, 0.0), (82.0, 1.0))
    ]
    found = first_sentences(cases, 0, "How far does the pitch move?")
    # a partial moves by as many cents as its number says
    for one, name, mean in zip(found, ("low", "middle", "high"), (3, 6, 10), strict=True):
        assert f"the {name} register" in one.text
        assert re.search(rf" {mean}\.\d+ ± \S+ cents higher on average", one.text)


def test_the_answer_is_at_the_rate_that_it_is_asked_for() -> None:
    cases = cases_of("entry-rounding")
    for rate, words in ((2, "0.2 L/s (the middle of the rates computed)"),
                        (3, "0.3 L/s (of 0.05 to 0.3 L/s computed)")):  # fmt: skip
        flow, *_ = first_sentences(cases, rate, question_of("entry-rounding"))
        assert words in flow.text
        assert flow.value == flow_change(cases[-1], cases[0], rate).value


def test_a_single_bore_has_its_pressure_with_both_errors() -> None:
    case = make_case("base", {})
    found = {one.quantity: one for one in first_sentences([case], 1, "What pressure?")}
    pressure = found["pressure"]
    row = case.rates[1]
    ends = row.interval(WHOLE)
    assert ends is not None
    drop = row.quantity(WHOLE)
    assert drop is not None
    sides = drop.value - ends.low, ends.high - drop.value
    assert all(side > (drop.uncertainty or 0.0) for side in sides)
    assert with_sides(drop.value, *sides, "Pa") in pressure.text
    assert "holds both errors" in pressure.text


def test_rounding_is_enough_where_no_larger_radius_differs(entries: list[CaseResults]) -> None:
    _, enough, cost = first_sentences(entries, 0, "Does it lower the resistance?")
    assert enough.text.startswith("A radius of 0.5 mm is enough")
    assert (enough.case, enough.against) == ("entry_radius-0.50mm", "entry-square")
    assert enough.value == pytest.approx(-6.0, abs=0.1)
    assert cost.unit == "cents"


def test_rounding_that_goes_on_helping_is_told_by_the_last_step(
    entries: list[CaseResults],
) -> None:
    wider = make_case(
        "r", {"entry": "rounded 3 mm", "entry_radius_mm": 3.0}, resistance=80.0, passage=PASSAGE
    )
    _, step, _ = first_sentences([*entries, wider], 0, "Does it lower the resistance?")
    assert step.text.startswith("From a radius of 2 mm to one of 3 mm, the largest computed")
    assert step.against == entries[-1].name
    assert step.value == pytest.approx(100 * (80.0 / 93.999 - 1), abs=0.01)


def test_a_change_that_cannot_be_told_is_not_told_as_one() -> None:
    cases = [
        make_case("a", {"throat_diameter_mm": 3.6}),
        make_case("b", {"throat_diameter_mm": 3.7}, resistance=99.9999),
    ]
    flow = first_sentences(cases, 1, "What resistance?")[0]
    assert "shows no change beyond the uncertainty" in flow.text
    assert not re.search(r"\b(rises|falls)\b", flow.text)


def test_where_nothing_was_solved_the_answer_says_so() -> None:
    rates = (0.05, 0.1, 0.3)
    cases = [
        make_case(name, {"entry": name, "entry_radius_mm": size}, lost=rates)
        for size, name in enumerate(("square", "rounded 1 mm"))
    ]
    assert lost_row(0.05)["converged"] is False
    flow = first_sentences(cases, 1, "What resistance?")[0]
    assert "what the flow resistance does is not known" in flow.text
    assert flow.value is None
    assert not SIZE.search(flow.text)
    assert first_sentences([], 0) == []
    assert first_sentences([CaseResults("base")], 0)[0].text.startswith("Nothing was computed")


def wish_result(*quantities: NewQuantity) -> WishResult:
    size = NewDimension(key="throat.diameter", label="throat diameter", unit="mm", value=3.797,
                        change=0.14, tool="drill 25")  # fmt: skip
    bore = ReturnedBore(name="bore 1", solve=4, met=True, misfit=0.1, dimensions=(size,),
                        quantities=quantities)  # fmt: skip
    return WishResult(wished=(), free=(), returned=(bore,))


def wished(quantity: str, change: float, verdict: str = MET, **more: Any) -> NewQuantity:
    return NewQuantity(quantity=quantity, before=1.0, after=2.0, after_uncertainty=0.1,
                       change=change, numerical=0.3, verdict=verdict, **more)  # fmt: skip


def test_a_wish_is_answered_by_how_far_each_quantity_goes_what_is_missed_first() -> None:
    found = wished_sentences(
        wish_result(
            wished("resonance", 15.0, scale="cents", wish="+15 cents"),
            wished("flow resistance at 0.2 L/s", -9.0, NOT_MET, wish="-20 %", model=0.4),
            wished("resonance Q", -2.0, wish="within 3 %"),
            wished("cup volume", 30.0),
        )
    )
    assert [one.quantity for one in found] == [
        "flow resistance at 0.2 L/s", "resonance", "resonance Q",
    ]  # fmt: skip
    missed, sound, sharpness = (one.text for one in found)
    assert missed.startswith("With throat diameter drill 25 (3.797 mm) the flow resistance at 0.2")
    assert "falls by 9.0 ± 0.5 %, while -20 % was wished; the ± holds both errors" in missed
    assert "the first resonance rises by 15.0 ± 0.3 cents, as wished." in sound
    assert "the sharpness of the first resonance falls by 2.0 ± 0.3 %" in sharpness
    for one in found:
        assert len(SIZE.findall(one.text)) == 1
        assert not NEEDS_EXPLANATION.search(one.text)


def test_a_wish_without_an_answer_says_why() -> None:
    (only,) = wished_sentences(WishResult(wished=(), free=(), stopped="no bore has a mesh"))
    assert only.text == "The wish has no answer: no bore has a mesh."


def test_the_errors_of_measured_stations_are_in_the_uncertainty_and_said() -> None:
    for cases in (measured_cases(), measured_cases()[:1]):
        varied = [
            replace(one, varied={"throat_diameter_mm": 3.6 + place})
            for place, one in enumerate(cases)
        ]
        flow, sound = first_sentences(varied, 0, "What pressure?")
        for one in (flow, sound):
            parts = [one.numerical or 0.0, one.model or 0.0, one.measurement or 0.0]
            assert one.measurement
            assert one.measurement > 0
            if len(cases) == 2:
                told = with_uncertainty(abs(one.value or 0.0), sum(p**2 for p in parts) ** 0.5)
                assert f"{told} {one.unit}" in one.text or "no change beyond" in one.text
        assert "the errors of computing, of the equations and of the readings" in flow.text
    assert "both errors" in first_sentences(cases_of("throat-sweep"), 1, "What pressure?")[0].text
