"""Handbook coefficients: published entry losses, and limits that any pressure drop must keep."""

from dataclasses import replace

import pytest
from fluids.fittings import entrance_rounded

from borestudy.closed_form.handbook import (
    ENTRY_METHODS,
    Dimensions,
    backbore_coefficient,
    backbore_pressure_drop,
    entry_coefficient,
    pipe_friction,
    pressure_drop_to_throat_end,
    throat_friction,
)

MM = 1e-3
SQUARE = Dimensions(
    cup_diameter=16.2 * MM,
    throat_diameter=3.66 * MM,
    outlet_diameter=9.0 * MM,
    throat_length=5 * MM,
    backbore_length=72.2 * MM,
)
BETA_SQUARED = (3.66 / 16.2) ** 2
#: Loss from a reservoir by edge radius over diameter: Rennels, Crane, Miller, Idelchik, Harris,
#: Swamee, as the library names its sources.
ENTRY_TABLE = {
    0.0: (0.570, 0.500, 0.509, 0.500, 0.440, 0.500),
    0.02: (0.397, 0.280, 0.357, 0.370, 0.280, 0.376),
    0.06: (0.273, 0.150, 0.170, 0.200, 0.100, 0.224),
    0.10: (0.203, 0.090, 0.082, 0.113, 0.049, 0.153),
    0.20: (0.115, 0.040, 0.059, 0.030, 0.0, 0.080),
}


def rounded(share):
    return replace(SQUARE, entry_radius=(share * 3.66 * MM, share * 3.66 * MM))


@pytest.mark.parametrize(("share", "expected"), ENTRY_TABLE.items())
def test_entry_loss_spans_the_tabulated_handbooks(share, expected):
    span = entry_coefficient(rounded(share), reynolds=5000.0)
    finite_cup = 1 - BETA_SQUARED
    assert span.low == pytest.approx(finite_cup * min(expected), abs=6e-4)
    assert span.high == pytest.approx(finite_cup * max(expected), abs=6e-4)


@pytest.mark.parametrize("method", ENTRY_METHODS)
def test_each_handbook_gives_its_tabulated_square_edge(method):
    expected = dict(zip(ENTRY_METHODS, ENTRY_TABLE[0.0], strict=True))[method]
    assert entrance_rounded(1.0, 1e-9, method=method) == pytest.approx(expected, abs=6e-4)


def test_a_funnel_lowers_only_the_low_end_of_the_entry_loss():
    plain = entry_coefficient(SQUARE, 5000.0)
    funnel = entry_coefficient(replace(SQUARE, funnel_angle=60.0), 5000.0)
    assert funnel.low < plain.low
    assert funnel.high == plain.high


def test_rounding_the_edge_never_raises_the_entry_loss():
    highs = [entry_coefficient(rounded(share), 5000.0).high for share in (0, 0.05, 0.1, 0.2, 0.4)]
    assert highs == sorted(highs, reverse=True)


@pytest.mark.parametrize("reynolds", [2500.0, 5000.0, 12000.0])
@pytest.mark.parametrize("share", [0.0, 0.1, 0.3])
def test_pressure_to_the_throat_falls_at_least_by_what_acceleration_takes(share, reynolds):
    assert pressure_drop_to_throat_end(rounded(share), reynolds).low >= 1 - BETA_SQUARED**2


def test_square_edge_doubles_no_laminar_friction_after_a_smooth_entry():
    smooth = throat_friction(rounded(0.2), 5000.0)
    square = throat_friction(SQUARE, 5000.0)
    assert smooth.low == smooth.high
    assert square.low < square.high


def test_friction_after_a_slightly_rounded_edge_spans_both_ends():
    between = throat_friction(rounded(0.05), 5000.0)
    ends = [throat_friction(rounded(0.2), 5000.0), throat_friction(SQUARE, 5000.0)]
    assert between.low == min(span.low for span in ends)
    assert between.high == max(span.high for span in ends)


def test_backbore_recovers_nothing_at_a_reynolds_number_of_2000():
    area_ratio = (3.66 / 9.0) ** 2
    span = backbore_coefficient(SQUARE, 2000.0)
    assert span.low == span.high == pytest.approx(1 - area_ratio**2)
    drop = backbore_pressure_drop(SQUARE, 2000.0)
    assert drop.high == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize("reynolds", [2500.0, 4000.0, 5000.0, 10000.0])
def test_backbore_never_loses_more_than_all_recovery(reynolds):
    span = backbore_coefficient(SQUARE, reynolds)
    assert 0 < span.low < span.high < 1 - (3.66 / 9.0) ** 4


def test_a_cylindrical_backbore_is_a_pipe_with_friction():
    straight = replace(SQUARE, outlet_diameter=3.66 * MM)
    assert backbore_pressure_drop(straight, 8000.0).low > 0


def test_a_small_chamfer_lies_between_square_and_half_its_loss():
    chamfered = replace(SQUARE, chamfer=(0.2 * MM, 90.0))
    span = entry_coefficient(chamfered, 5000.0)
    square = entry_coefficient(SQUARE, 5000.0)
    assert 0.5 * square.low < span.low <= span.high <= 1.001 * square.high


def test_a_pipe_behind_adds_developed_friction_to_the_backbore_alone():
    """At 2000 in a pipe of 9 mm behind a throat of 3.66 mm, laminar: 64/Re of its own length."""
    piped = replace(SQUARE, pipe_length=90 * MM)
    reynolds = 2000 * 9.0 / 3.66
    in_throat_units = (3.66 / 9.0) ** 4
    span = pipe_friction(piped, reynolds)
    assert span.low == pytest.approx(64 / 2000 * 10 * in_throat_units)
    assert span.high == pytest.approx(0.3164 / 2000**0.25 * 10 * in_throat_units, rel=0.01)
    longer, shorter = (backbore_pressure_drop(each, reynolds) for each in (piped, SQUARE))
    assert longer.low - shorter.low == pytest.approx(span.low)
    assert pressure_drop_to_throat_end(piped, reynolds) == pressure_drop_to_throat_end(
        SQUARE, reynolds
    )
