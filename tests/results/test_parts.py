"""Up to the throat's end and after it: what is said of either half, and of which rate."""

import re
from dataclasses import replace

import pytest

from borestudy.flow.result import Separation
from borestudy.quantity import Quantity
from borestudy.report.sentences.parts import parts_answers, separation_answers
from borestudy.results.case import CaseResults
from borestudy.results.tables.flow import separation_table

from .conftest import altered, make_case

FAST, FASTEST = 0.2, 0.3
RATES = (0.05, FAST, FASTEST)


def case(name: str, back: float, lost: tuple[float, ...] = ()) -> CaseResults:
    """A case whose backbore takes so much of the drop [share]."""
    found = make_case(name, {}, rates=RATES, lost=lost)
    for index, row in enumerate(found.rates):
        if (drop := row.quantity("pressure_drop")) is not None:
            share = replace(drop, value=back * drop.value)
            found = altered(found, index, backbore_pressure_drop=share)
    return found


@pytest.mark.parametrize(("share", "word"), [(-0.1, "gives back"), (0.1, "takes")])
def test_a_backbore_gives_back_or_takes_with_both_errors(share: float, word: str) -> None:
    found = case("first", share)
    (sentence,) = parts_answers([found])
    matched = re.search(rf"the backbore {word} ([\d.]+) ± \S+ (?:± \S+|\+\S+/−\S+) Pa", sentence)
    assert matched
    assert float(matched[1]) == pytest.approx(0.1 * 100 * FASTEST**1.6, rel=1e-2)


@pytest.mark.parametrize(("lost", "told"), [((), "0.3 L/s"), ((FASTEST,), "0.2 L/s")])
def test_the_greatest_rate_that_the_first_case_has_is_told_of(
    lost: tuple[float, ...], told: str
) -> None:
    """Whatever the last case has."""
    (sentence,) = parts_answers([case("first", -0.1, lost), case("last", -0.1)])
    assert told in sentence


def test_nothing_is_said_without_a_solution() -> None:
    lost = case("first", -0.1, RATES)
    assert parts_answers([lost]) == separation_answers([lost]) == []


def test_where_the_air_leaves_the_wall_is_told_in_words_and_in_the_table() -> None:
    found = make_case("first", {})
    parts = {"cup": (0.0, 10.8), "throat": (10.8, 15.8), "backbore": (15.8, 88.0)}
    found = replace(found, geometry=replace(found.geometry, parts=parts))
    bubbles = (
        Separation(separation=Quantity(10.8, None), reattachment=Quantity(12.9, None)),
        Separation(separation=Quantity(20.0, None), reattachment=Quantity(30.0, None)),
    )
    back = altered(found, 2, separations=bubbles)
    table = separation_table([back])
    loud = table[table["flow_rate_L_per_s"] == 0.3]
    assert list(loud["solution"]) == ["estimate", "estimate"]
    assert list(loud["part"]) == ["throat", "backbore"]
    assert list(loud["wall"]) == ["comes back", "comes back"]
    assert set(table[table["flow_rate_L_per_s"] != 0.3]["wall"]) == {"stays on the wall"}
    (sentence,) = separation_answers([back])
    assert "leaves the wall 4.2 mm after the throat and is back" in sentence
    away = altered(found, 2, separations=(Separation(separation=Quantity(10.8, None)),))
    (sentence,) = separation_answers([away])
    assert "has left the wall before it and does not come back" in sentence
