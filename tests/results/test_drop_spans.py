"""Low and high of the pressure drop follow the throat's Reynolds number and its entry."""

from dataclasses import replace

import numpy as np
import pytest

from borestudy.closed_form.handbook import Dimensions, Span
from borestudy.flow.regime import regime
from borestudy.flow.result import FlowAtRate
from borestudy.quantity import Quantity
from borestudy.results.spans import (
    BACKBORE,
    HALVES,
    TO_THROAT_END,
    WHOLE,
    DropSpan,
    handbook_at,
    spans_of_laminar,
)

MM = 1e-3
SQUARE = Dimensions(16.2 * MM, 3.66 * MM, 9.0 * MM, 5 * MM, 72.2 * MM)
ROUND = Dimensions(16.2 * MM, 3.66 * MM, 9.0 * MM, 5 * MM, 72.2 * MM, (1 * MM, 1 * MM))
#: What the laminar solution says, in units of the throat's dynamic pressure.
COMPUTED = {TO_THROAT_END: Span(1.2, 1.3), BACKBORE: Span(-0.4, -0.3), WHOLE: Span(0.85, 0.95)}


def drop_spans(bore, reynolds, computed=COMPUTED):
    """Spans of a laminar solution, in units of the throat's dynamic pressure."""
    figures = {
        drop: Quantity((span.low + span.high) / 2, (span.high - span.low) / 2)
        for drop, span in computed.items()
    }
    solved = FlowAtRate(flow_rate_L_per_s=0.1, converged=True, **figures)
    handbook = handbook_at(bore, reynolds, 1.0)
    return spans_of_laminar(solved, regime(reynolds), reynolds, handbook)


def handbook_spans(bore, reynolds):
    return handbook_at(bore, reynolds, 1.0).spans


def ends_of(span):
    return pytest.approx((span.low, span.high))


def test_laminar_span_is_the_computed_value_and_its_uncertainty():
    """The halves' numerical errors partly cancel in the whole."""
    spans = drop_spans(SQUARE, 1500.0)
    for drop, computed in COMPUTED.items():
        assert (spans[drop].low, spans[drop].high) == ends_of(computed)
        assert (spans[drop].low_from, spans[drop].high_from) == ("laminar", "laminar")


def test_transitional_span_holds_computation_and_handbooks():
    handbook, spans = handbook_spans(SQUARE, 3000.0), drop_spans(SQUARE, 3000.0)
    for drop in HALVES:
        ours, theirs = COMPUTED[drop], handbook[drop]
        assert spans[drop].low == pytest.approx(min(ours.low, theirs.low))
        assert spans[drop].high == pytest.approx(max(ours.high, theirs.high))
    for end in ("low", "high"):
        halves = [getattr(spans[drop], end) for drop in HALVES]
        assert getattr(spans[WHOLE], end) == pytest.approx(sum(halves))


def test_turbulent_span_after_a_square_edge_is_the_handbooks():
    handbook = handbook_spans(SQUARE, 7000.0)
    for drop, span in drop_spans(SQUARE, 7000.0).items():
        assert (span.low, span.high) == ends_of(handbook[drop])
        assert (span.low_from, span.high_from) == ("handbook", "handbook")


def test_smooth_entry_keeps_the_computed_throat_to_6500():
    kept = drop_spans(ROUND, 6000.0)[TO_THROAT_END]
    assert (kept.low, kept.high) == pytest.approx((1.2 * 0.96, 1.3 * 1.04))
    beyond = drop_spans(ROUND, 7000.0)[TO_THROAT_END]
    assert (beyond.low, beyond.high) == ends_of(handbook_spans(ROUND, 7000.0)[TO_THROAT_END])


@pytest.mark.parametrize("reynolds", [3000.0, 6000.0])
def test_the_span_goes_over_from_the_handbooks_to_the_computed_throat_without_a_jump(reynolds):
    def ends(share):
        radius = share * 3.66 * MM
        bore = Dimensions(16.2 * MM, 3.66 * MM, 9.0 * MM, 5 * MM, 72.2 * MM, (radius, radius))
        return drop_spans(bore, reynolds)[TO_THROAT_END]

    for share in (0.075, 0.15):  # where the weight begins, and where it is all
        below, above = ends(share - 1e-6), ends(share + 1e-6)
        assert below.low == pytest.approx(above.low, abs=1e-4)
        assert below.high == pytest.approx(above.high, abs=1e-4)
    radius = 0.1125 * 3.66 * MM
    bore = Dimensions(16.2 * MM, 3.66 * MM, 9.0 * MM, 5 * MM, 72.2 * MM, (radius, radius))
    book = handbook_spans(bore, reynolds)[TO_THROAT_END]
    if reynolds > 3500:
        assert ends(0.1125).low == pytest.approx(0.5 * (book.low + 1.2 * 0.96))
        assert ends(0.1125).high == pytest.approx(0.5 * (book.high + 1.3 * 1.04))


@pytest.mark.parametrize("radius", [0.0, 0.25, 0.5])
@pytest.mark.parametrize("loudness", [9000.0, 20000.0])
def test_the_handbooks_whole_drop_jumps_at_no_drill_size(radius, loudness):
    """Drills 40 to 10 at one flow rate, in steps of a thousandth of the diameter.

    Over one step areas change by four times that and the diffuser's share of recovery, which goes
    from none at 2000 to all at 5000, by as much again; a rule that changes its mind moves by 0.15.
    """
    spans = []
    for diameter in np.linspace(2.4892, 4.9149, 1001):
        edge = (radius * MM, radius * MM)
        bore = Dimensions(16.2 * MM, diameter * MM, 9.0 * MM, 5 * MM, 72.2 * MM, edge)
        whole = handbook_spans(bore, loudness / diameter)[WHOLE]
        spans.append((whole.low, whole.high))
    assert np.abs(np.diff(spans, axis=0)).max() < 2 * 4 * 1e-3


@pytest.mark.parametrize(("end", "sign"), [("low", -1), ("high", 1)])
def test_an_end_within_4_percent_beyond_the_computed_one_rests_on_it(end, sign):
    """An entry that the air may follow: kept ends are widened by 4 %, the nearer source tells."""
    computed = {**COMPUTED, TO_THROAT_END: Span(0.9, 1.1)}
    kept = (1 + sign * 0.1) * (1 + sign * 0.04)
    book = kept + sign * 0.04
    for share, source in ((0.4, "handbook"), (0.6, "laminar")):
        handbook = handbook_at(SQUARE, 6000.0, 1.0)
        spans = {**handbook.spans, TO_THROAT_END: Span(book, book)}
        figures = {
            drop: Quantity((span.low + span.high) / 2, (span.high - span.low) / 2)
            for drop, span in computed.items()
        }
        solved = FlowAtRate(flow_rate_L_per_s=0.1, converged=True, **figures)
        blended = replace(handbook, spans=spans, followed=share)
        found = spans_of_laminar(solved, "turbulent", 6000.0, blended)[TO_THROAT_END]
        assert getattr(found, end) == pytest.approx(share * kept + (1 - share) * book)
        assert getattr(found, f"{end}_from") == source


def test_a_bore_without_halves_spans_the_whole_alone():
    spans = drop_spans(SQUARE, 3000.0, {WHOLE: COMPUTED[WHOLE]})
    assert list(spans) == [WHOLE]
    book = handbook_spans(SQUARE, 3000.0)[WHOLE]
    assert spans[WHOLE].high == pytest.approx(max(COMPUTED[WHOLE].high, book.high))


def test_without_a_handbook_the_laminar_solution_speaks_for_itself():
    solved = FlowAtRate(flow_rate_L_per_s=0.1, converged=True, pressure_drop=Quantity(9.0, 0.1))
    assert spans_of_laminar(solved, "turbulent", 6000.0, None) == {
        WHOLE: DropSpan(8.9, 9.1, "laminar", "laminar")
    }
