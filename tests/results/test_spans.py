"""Changes of a span: like is compared with like, and a word needs every basis of both spans."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from borestudy.air import humid_air
from borestudy.closed_form.handbook import Dimensions, Span
from borestudy.results.case import CaseResults
from borestudy.results.changes import HIGHER, LOWER, NO_DIFFERENCE
from borestudy.results.merged_flow import merged_flow
from borestudy.results.span_changes import ENDS_DISAGREE, TO_THROAT_END, span_change
from borestudy.results.spans import DropSpan, drop_span
from borestudy.stages.solutions import rates_before_solving

from .conftest import rate_row, turbulent_row

MM = 1e-3
AIR = humid_air(298.15)
RATE = 0.1
#: The throat sweep's bore; drills 30 and 29 are 3.2639 and 3.4544 mm (ASME B94.11M).
BORE = Dimensions(16.2 * MM, 3.2639 * MM, 9.0 * MM, 5 * MM, 72.2 * MM, (0.5 * MM, 0.5 * MM))
DRILL_29 = replace(BORE, throat_diameter=3.4544 * MM)
DRILL_27 = replace(BORE, throat_diameter=3.6576 * MM, entry_radius=(0.0, 0.0), funnel_angle=133.4)
NAMES = ("pressure_drop", TO_THROAT_END, "backbore_pressure_drop")


def row_of(bore: Dimensions, to_throat: float, backbore: float, error: float = 1e-3) -> dict:
    """A row as the flow stage makes it, of a laminar solution [Pa] of a bore at 0.1 L/s."""
    velocity = 1e-3 * RATE / (np.pi / 4 * bore.throat_diameter**2)
    reynolds = velocity * bore.throat_diameter / AIR.kinematic_viscosity
    dynamic = 0.5 * AIR.density * velocity**2
    halves = [
        Span(value * (1 - error) / dynamic, value * (1 + error) / dynamic)
        if value > 0
        else Span(value * (1 + error) / dynamic, value * (1 - error) / dynamic)
        for value in (to_throat, backbore)
    ]
    whole = to_throat + backbore
    row = rate_row(RATE, whole, throat_reynolds=reynolds, regime="transitional")
    for name, value in zip(NAMES, (whole, to_throat, backbore), strict=True):
        row |= {f"{name}_Pa": value, f"{name}_Pa_uncertainty": error * abs(value)}
        row["levels"][f"{name}_Pa"] = [value * (1 + error), value]
    row |= _pascals(drop_span(bore, reynolds, *halves), dynamic)
    (given,) = rates_before_solving(bore, AIR, [1e-3 * RATE])
    return row | {"handbook": given["handbook"]}


def _pascals(spans: DropSpan, dynamic: float) -> dict[str, float]:
    parts = (spans.whole, spans.to_throat_end, spans.backbore)
    return {
        f"{name}_{end}_Pa": dynamic * getattr(span, end)
        for name, span in zip(NAMES, parts, strict=True)
        for end in ("low", "high")
    }


def case_of(row: dict, turbulent: dict | None = None) -> CaseResults:
    closure = {"rates": [turbulent]} if turbulent else {}
    return CaseResults("case", flow=merged_flow({"rates": [row]}, closure))


def test_a_handbook_is_not_divided_by_the_turbulent_solution_of_the_next_drill() -> None:
    """At 0.1 L/s drill 29 has a Reynolds number of 2366 and no turbulent solution; 30, 2504, has.

    A drop goes as the fourth power of the diameter or a little more: (3.2639/3.4544)⁴ is 0.797.
    """
    laminar = -20.98
    small = row_of(BORE, 117.1, -35.6)
    factor = 1 + laminar / 100
    first = case_of(small, turbulent_row(RATE, 79.0))
    other = case_of(row_of(DRILL_29, 117.1 * factor, -35.6 * factor))
    found = span_change(other, first, RATE)
    assert not found.judged_by_both
    assert found.verdict == LOWER
    assert found.low.value is not None
    assert found.high.value is not None
    assert found.low.value <= laminar + 1e-6
    assert -24 < found.low.value <= found.high.value < -17
    assert found.computed.value == pytest.approx(laminar)
    assert span_change(first, other, RATE).verdict == HIGHER


def test_a_change_from_a_solution_that_both_spans_hold_is_within_what_is_believed() -> None:
    """Both ends of drill 30's span are the turbulent solution's, and the laminar one lies inside.

    Drill 29, square, has handbooks at both ends of its own and the laminar solution inside as well.
    """
    closed = turbulent_row(RATE, 43.7)
    closed |= {f"{TO_THROAT_END}_Pa": 116.88, f"{TO_THROAT_END}_Pa_uncertainty": 0.61}
    small = case_of(row_of(replace(BORE, entry_radius=(1 * MM, 1 * MM)), 116.9, -35.9), closed)
    square = replace(DRILL_29, entry_radius=(0.0, 0.0), funnel_angle=133.4)
    wide = case_of(row_of(square, 100.4, -29.6))
    for case, source in ((small, "turbulent"), (wide, "handbook")):
        row = case.rate(RATE)
        ends = [row[f"{TO_THROAT_END}_{end}_Pa"] for end in ("low", "high")]
        assert {row[f"{TO_THROAT_END}_{end}_from"] for end in ("low", "high")} == {source}
        assert ends[0] < row[f"{TO_THROAT_END}_Pa"] < ends[1]
    factors = []
    for other, first in ((wide, small), (small, wide)):
        found = span_change(other, first, RATE, TO_THROAT_END)
        low, computed, high = found.low.value, found.computed.value, found.high.value
        assert low is not None
        assert computed is not None
        assert high is not None
        assert low <= computed <= high
        factors.append((1 + low / 100, 1 + high / 100))
    # what the one is against the other does not depend on which of them comes first
    (low, high), (least, greatest) = factors
    assert (low, high) == pytest.approx((1 / greatest, 1 / least), rel=1e-9)


@pytest.mark.parametrize("quantity", NAMES[:2])
def test_a_handbook_is_not_divided_by_the_laminar_solution_of_a_rounded_entry(
    quantity: str,
) -> None:
    """Square and rounded by 1 mm, Reynolds number 2235, drops as computed: 9.1 % lower.

    The cup is a funnel, which lowers the least handbook drop of the square edge alone.
    """
    first = case_of(row_of(DRILL_27, 78.9, -24.0))
    rounded = case_of(row_of(replace(DRILL_27, entry_radius=(1 * MM, 1 * MM)), 73.7, -23.8))
    assert rounded.rate(RATE)["pressure_drop_high_from"] == "laminar and handbook"
    found = span_change(rounded, first, RATE, quantity)
    assert found.verdict == LOWER
    assert found.computed.value is not None
    assert found.high.value is not None
    assert found.high.value < -5


def row_of_handbooks(**by_name: float) -> dict[str, Any]:
    """A turbulent rate whose span is the handbooks' own; the laminar drop is 30 Pa."""
    ends = {
        "pressure_drop_low_Pa": min(by_name.values()),
        "pressure_drop_high_Pa": max(by_name.values()),
    }
    named = {f"{NAMES[1]}_by_handbook_Pa": by_name, f"{NAMES[2]}_by_handbook_Pa": {"cone": 0.0}}
    return rate_row(0.3, 30.0, pressure_drop_Pa_uncertainty=15.0, **ends, handbook=ends | named)


def test_handbooks_that_disagree_leave_the_verdict_open() -> None:
    apart = case_of(row_of_handbooks(one=18.0, other=44.0))
    found = span_change(apart, case_of(row_of_handbooks(one=20.0, other=40.0)), 0.3)
    assert (found.low.value, found.high.value) == (pytest.approx(-10.0), pytest.approx(10.0))
    assert (found.low.verdict, found.high.verdict) == (LOWER, HIGHER)
    assert found.verdict == ENDS_DISAGREE


def test_each_handbook_is_compared_with_itself_and_carries_no_numerical_error() -> None:
    """The least of one bore is one handbook's and that of the other bore another's."""
    first, case = (
        case_of(row_of_handbooks(one=one, other=other)) for one, other in ((20, 40), (36, 18))
    )
    found = span_change(case, first, 0.3)
    assert (found.low.value, found.high.value) == (pytest.approx(-55.0), pytest.approx(80.0))
    assert found.low.uncertainty == found.high.uncertainty == 0.0


def test_a_handbook_that_one_bore_has_not_is_left_out() -> None:
    first, case = case_of(row_of_handbooks(one=20, other=40)), case_of(row_of_handbooks(one=18))
    found = span_change(case, first, 0.3)
    assert found.low.value == found.high.value == pytest.approx(-10.0)
    assert found.verdict == LOWER


@pytest.mark.parametrize(
    ("sources", "uncertain", "expected"),
    [
        (("handbook", "laminar"), TO_THROAT_END, 0.0),
        (("handbook", "laminar"), "backbore_pressure_drop", 5.0),
        (("laminar", "handbook"), TO_THROAT_END, 5.0),
        (("laminar", "handbook"), "backbore_pressure_drop", 0.0),
    ],
)
def test_an_end_carries_the_numerical_error_of_the_half_that_is_computed(
    sources: tuple[str, str], uncertain: str, expected: float
) -> None:
    """Whole drops of 50 Pa, one half uncertain by 2.5 Pa in the one case alone."""
    books = {f"{NAMES[1]}_by_handbook_Pa": {"one": 60.0},
             f"{NAMES[2]}_by_handbook_Pa": {"one": -10.0}}  # fmt: skip
    row = rate_row(0.3, 50.0, handbook=books)
    row |= {f"{NAMES[1]}_Pa": 60.0, f"{NAMES[2]}_Pa": -10.0}
    row |= {f"{name}_Pa_uncertainty": 0.0 for name in NAMES}
    named = {f"pressure_drop_{end}_from": " and ".join(sources) for end in ("low", "high")}

    def case(**changes: float) -> CaseResults:
        found = case_of(row | changes)
        (merged,) = found.flow["rates"]
        merged |= named
        return found

    found = span_change(case(**{f"{uncertain}_Pa_uncertainty": 2.5}), case(), 0.3)
    assert found.low.uncertainty == pytest.approx(expected)
    assert found.verdict == NO_DIFFERENCE


def test_the_error_of_what_is_compared_with_counts_in_proportion() -> None:
    """Drops of 40 and 50 Pa, the latter known to 2 Pa: 4 % of four fifths."""
    rows = [rate_row(0.3, drop) | {f"{NAMES[1]}_Pa": drop + 10.0, f"{NAMES[2]}_Pa": -10.0}
            for drop in (40.0, 50.0)]  # fmt: skip
    for row, error in zip(rows, (0.0, 2.0), strict=True):
        row |= {f"{NAMES[1]}_Pa_uncertainty": error, f"{NAMES[2]}_Pa_uncertainty": 0.0}
        row["handbook"] = {f"{NAMES[2]}_by_handbook_Pa": {"cone": -10.0}}
    cases = [case_of(row) for row in rows]
    for case in cases:
        (merged,) = case.flow["rates"]
        for end, low in (("low", 1.0), ("high", 2.0)):
            # neither solution lies within, so that the mixed basis stands alone
            merged[f"pressure_drop_{end}_Pa"] = low
            merged[f"pressure_drop_{end}_from"] = "laminar and handbook"
    found = span_change(*cases, 0.3)
    assert found.low.value == found.high.value == pytest.approx(-20.0)
    assert found.low.uncertainty == pytest.approx(3.2)


@pytest.mark.parametrize(("radius", "source"), [(0.2, "handbook"), (0.3, "handbook"),
                                                (0.4, "laminar"), (0.5, "laminar")])  # fmt: skip
def test_an_end_between_handbook_and_solution_is_named_after_the_nearer(
    radius: float, source: str
) -> None:
    """Up to 0.075 throat diameters, 0.24 mm, it is the handbooks'; from 0.49 mm the solution's."""
    rounded = replace(BORE, entry_radius=(radius * MM, radius * MM))
    row = case_of(row_of(rounded, 130.0, -11.0)).rate(RATE)
    for end in ("low", "high"):
        assert row[f"{TO_THROAT_END}_{end}_from"] == source
        words = row[f"pressure_drop_{end}_from"]
        assert words == ("handbook" if source == "handbook" else "laminar and handbook")
