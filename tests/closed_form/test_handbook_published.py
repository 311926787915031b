"""Handbook losses against the handbooks' own formulas, written out here without the library.

Crane (TP-410), Rennels & Hudson (2012) and Blasius (1913): formulas from memory, each checked by
value against the library's; Miller (1990) and Idelchik (1966) are charts, whose values here are
those of the library `fluids`.
"""

from dataclasses import replace
from math import atan, degrees, radians, sin, tan

import pytest

from borestudy.closed_form.handbook import (
    DIFFUSER_FACTOR,
    DIFFUSER_METHODS,
    Dimensions,
    Span,
    backbore_coefficient,
    entry_coefficient,
    throat_friction,
)
from borestudy.closed_form.pipe_flow import DEVELOPING_FLOW_TABLE

MM = 1e-3


def bore(**changes):
    made = Dimensions(16.2 * MM, 3.66 * MM, 9.0 * MM, 5 * MM, 72.2 * MM)
    return replace(made, **changes)


def cone_of(ratio, angle):
    """A bore whose backbore widens `ratio` times at an included angle [degrees]."""
    length = 3.66 * MM * (ratio - 1) / 2 / tan(radians(angle / 2))
    return bore(outlet_diameter=3.66 * MM * ratio, backbore_length=length)


def crane(ratio, angle):
    """2.6 sin(θ/2) (1 − β²)², θ up to 45°."""
    return 2.6 * sin(radians(angle / 2)) * (1 - ratio**-2) ** 2


def rennels(ratio, angle, friction):
    """8.30 tan(θ/2)^1.75 (1 − β²)² + f (1 − β⁴) / (8 sin(θ/2)), θ up to 20°."""
    half = radians(angle / 2)
    return 8.30 * tan(half) ** 1.75 * (1 - ratio**-2) ** 2 + friction * (1 - ratio**-4) / (
        8 * sin(half)
    )


#: Smooth pipe at Reynolds number 1e4 (Prandtl and von Kármán; Schlichting's table: 0.0309).
FRICTION_1E4 = 0.0309


@pytest.mark.parametrize(("ratio", "angle"), [(2.0, 2.0), (2.0, 5.0), (2.459, 4.23), (3.0, 3.0)])
def test_least_loss_of_a_slow_backbore_is_cranes(ratio, angle):
    span = backbore_coefficient(cone_of(ratio, angle), 1e4)
    assert span.low == pytest.approx(crane(ratio, angle), rel=1e-3)


@pytest.mark.parametrize(("ratio", "angle"), [(2.459, 7.0), (2.459, 10.0), (3.0, 7.0)])
def test_least_loss_of_a_faster_backbore_is_rennels(ratio, angle):
    """The friction factor's last digit is worth 0.1 % of it."""
    span = backbore_coefficient(cone_of(ratio, angle), 1e4)
    assert span.low == pytest.approx(rennels(ratio, angle, FRICTION_1E4), rel=2e-3)


@pytest.mark.parametrize(("ratio", "angle"), [(2.0, 2.0), (2.459, 3.0), (3.0, 2.0)])
def test_greatest_loss_of_a_long_backbore_is_1_3_times_rennels(ratio, angle):
    span = backbore_coefficient(cone_of(ratio, angle), 1e4)
    assert span.high == pytest.approx(1.3 * rennels(ratio, angle, FRICTION_1E4), rel=2e-3)


#: Methods that are an end of the span somewhere, with a cone where each is: D2/D1, angle, loss.
CHARTS = {
    "Miller": (2.459, 5.0, "high", 0.1906),
    "Swamee": (2.459, 7.0, "high", 0.2187),
    "Idelchik": (2.0, 15.0, "low", 0.1600),
}


@pytest.mark.parametrize(("method", "found"), CHARTS.items())
def test_end_of_the_span_is_that_of_the_chart(method, found):
    ratio, angle, end, loss = found
    span = backbore_coefficient(cone_of(ratio, angle), 1e4)
    assert getattr(span, end) == pytest.approx(loss, abs=1e-4)
    assert method in DIFFUSER_METHODS


def test_all_handbooks_of_a_diffuser_that_the_library_has_for_turbulent_flow_are_asked():
    assert set(DIFFUSER_METHODS) == {"Rennels", "Crane", "Miller", "Swamee", "Idelchik", "Hooper"}


def test_recovery_begins_at_2000_is_half_way_at_3500_and_whole_from_5000_on():
    """The loss moves in a straight line between no recovery and Crane's, which has no Re in it.

    The open nozzle benchmark has next to no recovery at 2000, 0.41 q at 3500 and 0.56 q at 5000.
    """
    made, none, whole = cone_of(2.459, 5.0), 1 - 2.459**-4, crane(2.459, 5.0)
    expected = {1500.0: none, 2000.0: none, 3500.0: 0.5 * (none + whole), 5000.0: whole, 8e3: whole}
    found = {reynolds: backbore_coefficient(made, reynolds).low for reynolds in expected}
    assert found == pytest.approx(expected, rel=1e-3)
    assert backbore_coefficient(made, 2000.0) == Span(pytest.approx(none), pytest.approx(none))


@pytest.mark.parametrize(
    ("angle", "least"),
    [(30.0, 0.04497), (60.0, 0.05761), (120.0, 0.09333)],
)
def test_a_funnels_least_loss_is_that_of_millers_chart_at_its_included_angle(angle, least):
    span = entry_coefficient(bore(funnel_angle=angle), 5000.0)
    assert span.low == pytest.approx(least, abs=2e-5)


def test_friction_after_a_smooth_entry_is_that_of_developing_laminar_flow():
    """Shah's (1978) fit is good to 2 %; the throat's x+ here are those of the computed table."""
    for scaled, drop in DEVELOPING_FLOW_TABLE.items():
        reynolds = 5 / 3.66 / scaled
        made = bore(entry_radius=(1 * MM, 1 * MM))
        assert throat_friction(made, reynolds).low == pytest.approx(drop, rel=0.02)


def test_turbulent_friction_after_a_square_edge_falls_as_blasius_says():
    """0.3164 Re^-1/4 times a factor that has no Reynolds number in it."""
    slow, fast = (throat_friction(bore(), reynolds) for reynolds in (4e3, 6.4e4))
    assert slow.low / fast.low == pytest.approx(2.0)
    assert slow.high / fast.high == pytest.approx(2.0)


def test_friction_after_a_square_edge_holds_what_was_measured_there():
    """p(10 mm) - p(40 mm) of the open nozzle benchmark at 5000, 7.5 diameters (Hariharan 2011)."""
    measured = 0.414 * (5 / 3.66) / 7.5
    span = throat_friction(bore(), 5000.0)
    assert span.low <= measured * 1.001
    assert span.high >= measured / 1.001
    assert span.high / span.low < 1.15


def test_diffuser_factor_is_what_the_nozzles_cone_loses_over_rennels():
    """Open nozzle benchmark at 5000, 4 to 12 mm over 22.685 mm: 1 − β⁴ less the measured rise.

    The pipe after the cone, 2.3 of its diameters long, costs less than 0.002 q.
    """
    angle = 2 * degrees(atan(4 / 22.685))
    book = rennels(3.0, angle, 0.0374)
    measured, least, greatest = (1 - 3.0**-4 - rise for rise in (0.557, 0.60, 0.50))
    assert least / book < DIFFUSER_FACTOR < greatest / book
    assert pytest.approx(measured / book, abs=0.05) == DIFFUSER_FACTOR
