"""Up to the throat's end and after it: what is said of either half, and of which rate."""

import math
import re
from dataclasses import replace

import pytest
from borestudy.results.span_changes import solutions_apart
from borestudy.results.spans import BACKBORE

from borestudy.quantity import Quantity
from borestudy.report.sentences.parts import parts_answers
from borestudy.results.case import CaseResults

from .conftest import altered, lost_row, make_case, turbulent_row

FAST, FASTEST = 0.2, 0.3
RATES = (0.05, FAST, FASTEST)


def case(name: str, back: float, solved: tuple[float, ...] = (FAST, FASTEST)) -> CaseResults:
    """A case whose backbore takes so much of both drops [share], solved both ways at rates."""
    closed = [
        turbulent_row(rate, 40 * rate) if rate in solved else lost_row(rate)
        for rate in (FAST, FASTEST)
    ]
    found = make_case(name, {}, rates=RATES, turbulent=closed)
    for index, row in enumerate(found.rates):
        for word in ("laminar", "turbulent"):
            drop = row.quantity("pressure_drop", word)
            if drop is not None:
                share = replace(drop, value=back * drop.value)
                found = altered(found, index, word, backbore_pressure_drop=share)
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
    mixed = altered(mixed, 2, "turbulent", backbore_pressure_drop=Quantity(-0.5, 0.01))
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
    def apart(laminar: Quantity, turbulent: Quantity | None) -> Quantity | None:
        found = altered(case("first", -0.1), 2, pressure_drop_to_throat_end=laminar)
        found = altered(found, 2, "turbulent", pressure_drop_to_throat_end=turbulent)
        return solutions_apart(found.rates[2])

    known = apart(Quantity(103.0, 3.0), Quantity(97.0, 4.0))
    assert (known.value, known.uncertainty) == pytest.approx((6.0, 5.0))
    unknown = apart(Quantity(103.0, 3.0), Quantity(97.0, None))
    assert (unknown.value, unknown.uncertainty) == pytest.approx((6.0, 3.0))
    assert apart(Quantity(103.0, 3.0), None) is None
    backs = solutions_apart(case("first", -0.1).rates[2], BACKBORE)
    assert math.isfinite(backs.value + backs.uncertainty)
