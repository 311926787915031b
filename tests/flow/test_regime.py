"""The regime word and the span follow the throat's Reynolds number."""

import pytest

from borestudy.closed_form.handbook import Dimensions, Span
from borestudy.flow.regime import drop_span, handbook_span, regime

MM = 1e-3
SQUARE = Dimensions(16.2 * MM, 3.66 * MM, 9.0 * MM, 5 * MM, 72.2 * MM)
ROUND = Dimensions(16.2 * MM, 3.66 * MM, 9.0 * MM, 5 * MM, 72.2 * MM, (1 * MM, 1 * MM))
THROAT, BACKBORE = Span(1.2, 1.3), Span(-0.4, -0.3)


@pytest.mark.parametrize(
    ("reynolds", "word"),
    [(1, "laminar"), (2000, "laminar"), (2001, "transitional"), (3500, "transitional"),
     (3501, "turbulent")],
)  # fmt: skip
def test_regime_changes_at_2000_and_3500(reynolds, word):
    assert regime(reynolds) == word


def test_laminar_span_is_the_computed_value_and_its_uncertainty():
    span = drop_span(SQUARE, 1500.0, THROAT, BACKBORE)
    assert (span.to_throat_end, span.backbore) == (THROAT, BACKBORE)
    assert span.whole == Span(pytest.approx(0.8), pytest.approx(1.0))


def test_transitional_span_holds_computation_and_handbooks():
    handbook = handbook_span(SQUARE, 3000.0)
    span = drop_span(SQUARE, 3000.0, THROAT, BACKBORE)
    for part, computed in (("to_throat_end", THROAT), ("backbore", BACKBORE)):
        ours, theirs = getattr(span, part), getattr(handbook, part)
        assert ours.low == min(computed.low, theirs.low)
        assert ours.high == max(computed.high, theirs.high)


def test_turbulent_span_after_a_square_edge_is_the_handbooks():
    assert drop_span(SQUARE, 7000.0, THROAT, BACKBORE) == handbook_span(SQUARE, 7000.0)


def test_smooth_entry_keeps_the_computed_throat_to_6500():
    kept = drop_span(ROUND, 6000.0, THROAT, BACKBORE).to_throat_end
    assert kept == Span(pytest.approx(1.2 * 0.96), pytest.approx(1.3 * 1.04))
    beyond = drop_span(ROUND, 7000.0, THROAT, BACKBORE).to_throat_end
    assert beyond == handbook_span(ROUND, 7000.0).to_throat_end
