"""The handbooks' figures beside the answer."""

import numpy as np
import pytest

from borestudy.closed_form.handbook import Dimensions
from borestudy.results.estimate import HALVES, WHOLE
from borestudy.results.handbooks import handbook_at

MM = 1e-3
SQUARE = Dimensions(16.2 * MM, 3.66 * MM, 9.0 * MM, 5 * MM, 72.2 * MM)


@pytest.mark.parametrize("reynolds", [1500.0, 3000.0, 7000.0])
def test_the_halves_add_up_and_go_with_the_dynamic_pressure(reynolds):
    found, louder = (handbook_at(SQUARE, reynolds, pressure) for pressure in (1.0, 7.0))
    for end in ("low", "high"):
        halves = [getattr(found[drop], end) for drop in HALVES]
        assert getattr(found[WHOLE], end) == pytest.approx(sum(halves))
        for drop, span in found.items():
            assert getattr(louder[drop], end) == pytest.approx(7 * getattr(span, end))
    assert found[WHOLE].low < found[WHOLE].high


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
        whole = handbook_at(bore, loudness / diameter, 1.0)[WHOLE]
        spans.append((whole.low, whole.high))
    assert np.abs(np.diff(spans, axis=0)).max() < 2 * 4 * 1e-3
