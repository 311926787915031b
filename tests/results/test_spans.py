"""Changes of a span: like is compared with like, and a word needs every basis of both spans."""

from dataclasses import replace
from functools import partial
from typing import Any

import pytest

from borestudy.air import humid_air
from borestudy.closed_form.handbook import Dimensions, Span
from borestudy.flow.regime import rate_scale
from borestudy.flow.result import FlowAtRate
from borestudy.quantity import Quantity
from borestudy.results.case import CaseResults
from borestudy.results.changes import HIGHER, LOWER, NO_DIFFERENCE
from borestudy.results.merged_flow import MergedFlow, MergedRate, merged_flow
from borestudy.results.span_changes import ENDS_DISAGREE, span_change
from borestudy.results.spans import (
    BACKBORE,
    DROPS,
    TO_THROAT_END,
    WHOLE,
    DropSpan,
    Handbook,
    handbook_at,
)

from .conftest import flow_of, flow_result, rate_row, scales, turbulent_row

MM = 1e-3
AIR = humid_air(298.15)
RATE = 0.1
#: The throat sweep's bore; drills 30 and 29 are 3.2639 and 3.4544 mm (ASME B94.11M).
BORE = Dimensions(16.2 * MM, 3.2639 * MM, 9.0 * MM, 5 * MM, 72.2 * MM, (0.5 * MM, 0.5 * MM))
DRILL_29 = replace(BORE, throat_diameter=3.4544 * MM)
DRILL_27 = replace(BORE, throat_diameter=3.6576 * MM, entry_radius=(0.0, 0.0), funnel_angle=133.4)


def row_of(to_throat: float, backbore: float, error: float = 1e-3) -> dict[str, Any]:
    """A laminar solution [Pa] at 0.1 L/s."""
    drops = {WHOLE: to_throat + backbore, TO_THROAT_END: to_throat, BACKBORE: backbore}
    row = rate_row(RATE, drops[WHOLE])
    for name, value in drops.items():
        row |= {f"{name}_Pa": value, f"{name}_Pa_uncertainty": error * abs(value)}
        row["levels"][f"{name}_Pa"] = [value * (1 + error), value]
    return row


def case_of(bore: Dimensions, laminar: dict, turbulent: dict | None = None) -> CaseResults:
    """Solutions of a bore at 0.1 L/s, whose scales are those of its throat."""
    scale = rate_scale(AIR, 1e-3 * RATE, bore.throat_diameter)
    of_the_throat = {
        "throat_reynolds": scale.reynolds,
        "throat_velocity_m_per_s": scale.velocity,
        "dynamic_pressure_Pa": 0.5 * scale.pressure,
        "mach_number": scale.mach,
    }
    results = [
        row and flow_result([row | of_the_throat], model, [RATE])
        for model, row in (("laminar", laminar), ("turbulent", turbulent))
    ]
    return CaseResults("case", flow=merged_flow(*results, partial(handbook_at, bore)))


def test_a_handbook_is_not_divided_by_the_turbulent_solution_of_the_next_drill() -> None:
    """At 0.1 L/s drill 29 has a Reynolds number of 2366 and no turbulent solution; 30, 2504, has.

    A drop goes as the fourth power of the diameter or a little more: (3.2639/3.4544)⁴ is 0.797.
    """
    laminar = -20.98
    factor = 1 + laminar / 100
    first = case_of(BORE, row_of(117.1, -35.6), turbulent_row(RATE, 79.0))
    other = case_of(DRILL_29, row_of(117.1 * factor, -35.6 * factor))
    found = span_change(other, first, 0)
    assert not found.judged_by_both
    assert found.verdict == LOWER
    assert found.low.value is not None
    assert found.high.value is not None
    assert found.low.value <= laminar + 1e-6
    assert -24 < found.low.value <= found.high.value < -17
    assert found.computed.value == pytest.approx(laminar)
    assert span_change(first, other, 0).verdict == HIGHER


def test_a_change_from_a_solution_that_both_spans_hold_is_within_what_is_believed() -> None:
    """Both ends of drill 30's span are the turbulent solution's, and the laminar one lies inside.

    Drill 29, square, has handbooks at both ends of its own and the laminar solution inside as well.
    """
    closed = turbulent_row(RATE, 43.7)
    closed |= {f"{TO_THROAT_END}_Pa": 116.88, f"{TO_THROAT_END}_Pa_uncertainty": 0.61}
    small = case_of(replace(BORE, entry_radius=(1 * MM, 1 * MM)), row_of(116.9, -35.9), closed)
    square = replace(DRILL_29, entry_radius=(0.0, 0.0), funnel_angle=133.4)
    wide = case_of(square, row_of(100.4, -29.6))
    for case, source in ((small, "turbulent"), (wide, "handbook")):
        span = case.rates[0].spans[TO_THROAT_END]
        assert {span.low_from, span.high_from} == {source}
        assert span.low < case.rates[0].quantity(TO_THROAT_END).value < span.high
    factors = []
    for other, first in ((wide, small), (small, wide)):
        found = span_change(other, first, 0, TO_THROAT_END)
        low, computed, high = found.low.value, found.computed.value, found.high.value
        assert low is not None
        assert computed is not None
        assert high is not None
        assert low <= computed <= high
        factors.append((1 + low / 100, 1 + high / 100))
    # what the one is against the other does not depend on which of them comes first
    (low, high), (least, greatest) = factors
    assert (low, high) == pytest.approx((1 / greatest, 1 / least), rel=1e-9)


@pytest.mark.parametrize("quantity", DROPS[:2])
def test_a_handbook_is_not_divided_by_the_laminar_solution_of_a_rounded_entry(
    quantity: str,
) -> None:
    """Square and rounded by 1 mm, Reynolds number 2235, drops as computed: 9.1 % lower.

    The cup is a funnel, which lowers the least handbook drop of the square edge alone.
    """
    first = case_of(DRILL_27, row_of(78.9, -24.0))
    rounded = case_of(replace(DRILL_27, entry_radius=(1 * MM, 1 * MM)), row_of(73.7, -23.8))
    assert rounded.rates[0].spans[WHOLE].high_from == "laminar and handbook"
    found = span_change(rounded, first, 0, quantity)
    assert found.verdict == LOWER
    assert found.computed.value is not None
    assert found.high.value is not None
    assert found.high.value < -5


def of_handbooks(**by_name: float) -> CaseResults:
    """A turbulent rate whose span is the handbooks' own; the laminar drop is 30 Pa."""
    span = Span(min(by_name.values()), max(by_name.values()))
    spans = {WHOLE: span, TO_THROAT_END: span, BACKBORE: Span(0.0, 0.0)}
    handbook = Handbook(spans, {TO_THROAT_END: by_name, BACKBORE: {"cone": 0.0}})
    row = rate_row(0.3, 30.0, pressure_drop_Pa_uncertainty=15.0)
    return CaseResults("case", flow=flow_of([row], handbooks={0.3: handbook}))


def test_handbooks_that_disagree_leave_the_verdict_open() -> None:
    apart = of_handbooks(one=18.0, other=44.0)
    found = span_change(apart, of_handbooks(one=20.0, other=40.0), 0)
    assert (found.low.value, found.high.value) == (pytest.approx(-10.0), pytest.approx(10.0))
    assert (found.low.verdict, found.high.verdict) == (LOWER, HIGHER)
    assert found.verdict == ENDS_DISAGREE


def test_each_handbook_is_compared_with_itself_and_carries_no_numerical_error() -> None:
    """The least of one bore is one handbook's and that of the other bore another's."""
    first, case = (of_handbooks(one=one, other=other) for one, other in ((20, 40), (36, 18)))
    found = span_change(case, first, 0)
    assert (found.low.value, found.high.value) == (pytest.approx(-55.0), pytest.approx(80.0))
    assert found.low.uncertainty == found.high.uncertainty == 0.0


def test_a_handbook_that_one_bore_has_not_is_left_out() -> None:
    first, case = of_handbooks(one=20, other=40), of_handbooks(one=18)
    found = span_change(case, first, 0)
    assert found.low.value == found.high.value == pytest.approx(-10.0)
    assert found.verdict == LOWER


@pytest.mark.parametrize(
    ("sources", "uncertain", "expected"),
    [
        (("handbook", "laminar"), TO_THROAT_END, 0.0),
        (("handbook", "laminar"), BACKBORE, 5.0),
        (("laminar", "handbook"), TO_THROAT_END, 5.0),
        (("laminar", "handbook"), BACKBORE, 0.0),
    ],
)
def test_an_end_carries_the_numerical_error_of_the_half_that_is_computed(
    sources: tuple[str, str], uncertain: str, expected: float
) -> None:
    """Whole drops of 50 Pa, one half uncertain by 2.5 Pa in the one case alone."""
    handbook = Handbook({}, {TO_THROAT_END: {"one": 60.0}, BACKBORE: {"one": -10.0}})

    def case(**errors: float) -> CaseResults:
        drops = {WHOLE: 50.0, TO_THROAT_END: 60.0, BACKBORE: -10.0}
        return spanned(drops, errors, handbook, DropSpan(45.0, 55.0, *[" and ".join(sources)] * 2))

    found = span_change(case(**{uncertain: 2.5}), case(), 0)
    assert found.low.uncertainty == pytest.approx(expected)
    assert found.verdict == NO_DIFFERENCE


def spanned(
    drops: dict[str, float], errors: dict[str, float], handbook: Handbook, span: DropSpan
) -> CaseResults:
    """A case with a span of the whole drop that is given and not computed."""
    figures = {
        name: Quantity(value, errors.get(name, 0.0), "Pa", (value, value))
        for name, value in drops.items()
    }
    solved = FlowAtRate(flow_rate_L_per_s=0.3, converged=True, **figures)
    rate = MergedRate(**scales(0.3), laminar=solved, handbook=handbook, spans={WHOLE: span})
    return CaseResults("case", flow=MergedFlow(rates=(rate,)))


def test_the_error_of_what_is_compared_with_counts_in_proportion() -> None:
    """Drops of 40 and 50 Pa, the latter known to 2 Pa: 4 % of four fifths."""
    handbook = Handbook({}, {BACKBORE: {"cone": -10.0}})
    # neither solution lies within, so that the mixed basis stands alone
    span = DropSpan(1.0, 2.0, *["laminar and handbook"] * 2)
    cases = [
        spanned({WHOLE: drop, TO_THROAT_END: drop + 10, BACKBORE: -10.0}, errors, handbook, span)
        for drop, errors in ((40.0, {}), (50.0, {TO_THROAT_END: 2.0}))
    ]
    found = span_change(*cases, 0)
    assert found.low.value == found.high.value == pytest.approx(-20.0)
    assert found.low.uncertainty == pytest.approx(3.2)


@pytest.mark.parametrize(("radius", "source"), [(0.2, "handbook"), (0.3, "handbook"),
                                                (0.4, "laminar"), (0.5, "laminar")])  # fmt: skip
def test_an_end_between_handbook_and_solution_is_named_after_the_nearer(
    radius: float, source: str
) -> None:
    """Up to 0.075 throat diameters, 0.24 mm, it is the handbooks'; from 0.49 mm the solution's."""
    rounded = replace(BORE, entry_radius=(radius * MM, radius * MM))
    spans = case_of(rounded, row_of(130.0, -11.0)).rates[0].spans
    words = "handbook" if source == "handbook" else "laminar and handbook"
    for end in ("low_from", "high_from"):
        assert getattr(spans[TO_THROAT_END], end) == source
        assert getattr(spans[WHOLE], end) == words
