"""Low and high of the pressure drop follow the throat's Reynolds number and its entry."""

import numpy as np
import pytest

from borestudy.closed_form.handbook import Dimensions, Span
from borestudy.results.spans import drop_span, handbook_span, spans_of_row

MM = 1e-3
SQUARE = Dimensions(16.2 * MM, 3.66 * MM, 9.0 * MM, 5 * MM, 72.2 * MM)
ROUND = Dimensions(16.2 * MM, 3.66 * MM, 9.0 * MM, 5 * MM, 72.2 * MM, (1 * MM, 1 * MM))
THROAT, BACKBORE = Span(1.2, 1.3), Span(-0.4, -0.3)


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


@pytest.mark.parametrize("reynolds", [3000.0, 6000.0])
def test_the_span_goes_over_from_the_handbooks_to_the_computed_throat_without_a_jump(reynolds):
    def ends(share):
        radius = share * 3.66 * MM
        bore = Dimensions(16.2 * MM, 3.66 * MM, 9.0 * MM, 5 * MM, 72.2 * MM, (radius, radius))
        return drop_span(bore, reynolds, THROAT, BACKBORE).to_throat_end

    for share in (0.075, 0.15):  # where the weight begins, and where it is all
        below, above = ends(share - 1e-6), ends(share + 1e-6)
        assert below.low == pytest.approx(above.low, abs=1e-4)
        assert below.high == pytest.approx(above.high, abs=1e-4)
    radius = 0.1125 * 3.66 * MM
    bore = Dimensions(16.2 * MM, 3.66 * MM, 9.0 * MM, 5 * MM, 72.2 * MM, (radius, radius))
    book = handbook_span(bore, reynolds).to_throat_end
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
        whole = handbook_span(bore, loudness / diameter).whole
        spans.append((whole.low, whole.high))
    assert np.abs(np.diff(spans, axis=0)).max() < 2 * 4 * 1e-3


def row_at(reynolds):
    drops = {"pressure_drop_Pa": 9.0, "pressure_drop_to_throat_end_Pa": 12.0,
             "backbore_pressure_drop_Pa": -3.0}  # fmt: skip
    errors = {f"{key}_uncertainty": 0.1 for key in drops}
    return drops | errors | {"dynamic_pressure_Pa": 10.0, "throat_reynolds": reynolds}


def test_laminar_row_spans_its_own_uncertainty_and_turbulent_row_the_handbooks():
    first = spans_of_row(row_at(1500.0), SQUARE)
    assert first["pressure_drop_low_Pa"] == pytest.approx(9.0 - 0.1)
    assert first["pressure_drop_high_Pa"] == pytest.approx(9.0 + 0.1)
    last = spans_of_row(row_at(6500.0), SQUARE)
    assert last["pressure_drop_low_Pa"] == pytest.approx(last["handbook"]["pressure_drop_low_Pa"])


def test_a_bore_without_halves_spans_the_whole_alone():
    alone = row_at(3000.0) | {"pressure_drop_to_throat_end_Pa": None}
    found = spans_of_row(alone, SQUARE)
    assert {key for key in found if key.endswith("_low_Pa")} == {"pressure_drop_low_Pa"}
    book = 10 * handbook_span(SQUARE, 3000.0).whole.high
    assert found["pressure_drop_high_Pa"] == pytest.approx(max(9.1, book))
