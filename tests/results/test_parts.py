"""Up to the throat's end and behind it: what is said of either half, and of which rate."""

import math
import re

import pytest

from borestudy.report.sentences.parts import (
    BACKBORE,
    TO_THROAT_END,
    difference_percent,
    parts_answers,
)
from borestudy.results.case import CaseResults

from .conftest import lost_row, make_case, turbulent_row

FAST, FASTEST = 0.2, 0.3
RATES = (0.05, FAST, FASTEST)


def case(name: str, back: float, solved: tuple[float, ...] = (FAST, FASTEST)) -> CaseResults:
    """A case whose backbore takes so much of both drops [share], solved both ways at rates."""
    closed = [
        turbulent_row(rate, 40 * rate) if rate in solved else lost_row(rate)
        for rate in (FAST, FASTEST)
    ]
    found = make_case(name, {}, rates=RATES, closure={"rates": closed})
    for row in found.flow["rates"]:
        for figures in (row, row.get("turbulent")):
            if figures and figures.get("converged"):
                figures[BACKBORE] = back * figures["pressure_drop_Pa"]
    return found


def test_a_backbore_gives_back_where_both_solutions_say_so_and_takes_otherwise() -> None:
    sizes = [0.1 * 100 * FASTEST**1.6, 0.1 * 40 * FASTEST]
    for share, word in ((-0.1, "gives back"), (0.1, "takes")):
        (sentence,) = parts_answers([case("first", share)])
        figure = r"([\d.]+) ± \S+ Pa"
        pattern = rf"the backbore {word} {figure} \(laminar\) or {figure} \(turbulent\)"
        found = re.search(pattern, sentence)
        assert found
        assert [float(text) for text in found.groups()] == pytest.approx(sizes, rel=1e-3)
    mixed = case("first", 0.1)
    mixed.rate(FASTEST)["turbulent"][BACKBORE] = -0.5
    (sentence,) = parts_answers([mixed])
    assert re.search(r"the backbore takes 1\.\d+ .* or −0\.50", sentence)


@pytest.mark.parametrize(("solved", "told"), [((FAST, FASTEST), "0.3 L/s"), ((FAST,), "0.2 L/s")])
def test_the_greatest_rate_that_the_first_case_has_both_ways_is_told_of(
    solved: tuple[float, ...], told: str
) -> None:
    """Whatever the last case has."""
    (sentence,) = parts_answers([case("first", -0.1, solved), case("last", -0.1)])
    assert told in sentence
    assert parts_answers([case("first", -0.1, ()), case("last", -0.1)]) == []


def test_solutions_are_as_far_apart_as_their_figures_and_their_errors_add_as_squares() -> None:
    row = dict(case("first", -0.1).rate(FASTEST))
    closed = dict(row["turbulent"])
    row |= {TO_THROAT_END: 103.0, f"{TO_THROAT_END}_uncertainty": 3.0}
    closed |= {TO_THROAT_END: 97.0, f"{TO_THROAT_END}_uncertainty": 4.0}
    assert difference_percent(row | {"turbulent": closed}) == pytest.approx((6.0, 5.0))
    unknown = closed | {f"{TO_THROAT_END}_uncertainty": None}
    assert difference_percent(row | {"turbulent": unknown}) == pytest.approx((6.0, 3.0))
    assert difference_percent(row | {"turbulent": closed | {TO_THROAT_END: None}}) is None
    assert math.isfinite(sum(difference_percent(row | {"turbulent": closed}, BACKBORE) or (0, 0)))
