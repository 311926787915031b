"""Handbook coefficients: published entry losses, and limits that any pressure drop must keep."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from fluids.fittings import entrance_beveled, entrance_rounded

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


def test_friction_after_half_a_smooth_edge_is_anything_between_square_and_smooth():
    between = throat_friction(rounded(0.075), 5000.0)
    ends = [throat_friction(rounded(0.2), 5000.0), throat_friction(SQUARE, 5000.0)]
    assert between.low == pytest.approx(min(span.low for span in ends))
    assert between.high == pytest.approx(max(span.high for span in ends))


def test_friction_after_a_square_edge_is_what_taps_in_a_throat_were_measured_to_have():
    """0.395 to 0.44 q over 30 mm of 4 mm, at 5000 (Hariharan et al. 2011)."""
    slenderness = SQUARE.throat_length / SQUARE.throat_diameter
    found = throat_friction(SQUARE, 5000.0)
    assert found.low == pytest.approx(0.395 * 4 / 30 * slenderness, rel=1e-6)
    assert found.high == pytest.approx(0.44 * 4 / 30 * slenderness, rel=1e-6)
    factors = [span / (0.3164 / 5000**0.25 * slenderness) for span in (found.low, found.high)]
    assert factors == pytest.approx([1.40, 1.56], abs=5e-3)


def test_friction_over_a_range_of_radii_holds_every_radius_in_it():
    measured = replace(SQUARE, entry_radius=(0.0, 0.15 * 3.66 * MM))
    found = throat_friction(measured, 5000.0)
    for share in np.linspace(0, 0.15, 31):
        inside = throat_friction(rounded(share), 5000.0)
        assert found.low - 1e-12 <= inside.low <= inside.high <= found.high + 1e-12


#: A step of radius over diameter, and the most that a drop may move over it [q].  The steepest
#: published loss is Rennels' near a square edge, as the root of the radius: 0.57 less 0.0043 over
#: the first 1e-5.  A line that went from one friction to the other at once moves by 0.15.
STEP, MOST = 1e-5, 0.006


@pytest.mark.parametrize("reynolds", [2200.0, 3400.0, 5000.0, 7400.0])
def test_no_drop_jumps_over_a_fine_sweep_of_the_edges_radius(reynolds):
    near = (0.0, 0.075, 0.15, 0.16, 0.2)
    sweeps = [[share + n * STEP for n in range(-20, 21) if share + n * STEP >= 0] for share in near]
    for sweep in sweeps:
        spans = [pressure_drop_to_throat_end(rounded(share), reynolds) for share in sweep]
        for one, other in pairwise(spans):
            assert abs(one.low - other.low) < MOST
            assert abs(one.high - other.high) < MOST


@pytest.mark.parametrize("radius", [0.25, 0.5, 0.6])
def test_no_drop_jumps_over_a_fine_sweep_of_the_throat_through_the_drill_sizes(radius):
    """Drills 40 to 10, 2.49 to 4.91 mm: of a drop at one flow rate, as D to the power of -4."""
    diameters = np.linspace(2.4892, 4.9149, 4001)
    step = diameters[1] / diameters[0] - 1
    ends = []
    for diameter in diameters:
        bore = replace(
            SQUARE, throat_diameter=diameter * MM, entry_radius=(radius * MM, radius * MM)
        )
        span = pressure_drop_to_throat_end(bore, 9000.0 / diameter)
        ends.append((span.low / diameter**4, span.high / diameter**4))
    changes = np.abs(np.diff(np.log(ends), axis=0))
    # a drop that falls as the fifth power of the diameter, and a little for the edge's part of it
    assert changes.max() < 8 * step


def test_a_small_chamfers_friction_is_nearly_that_of_a_square_edge():
    chamfered = throat_friction(replace(SQUARE, chamfer=(1e-6 * MM, 45.0)), 5000.0)
    square = throat_friction(SQUARE, 5000.0)
    assert chamfered.low == pytest.approx(square.low, rel=1e-4)
    assert chamfered.high == pytest.approx(square.high, rel=1e-4)


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


def test_a_cylindrical_backbore_has_blasius_friction_smooth_or_as_after_a_square_edge():
    """0.3164 Re^-1/4 over 72.2 mm of 3.66 mm at 8000, times 1 and times 1.56."""
    straight = replace(SQUARE, outlet_diameter=3.66 * MM)
    found = backbore_coefficient(straight, 8000.0)
    smooth = 0.3164 / 8000**0.25 * 72.2 / 3.66
    assert (found.low, found.high) == pytest.approx((smooth, 1.56 * smooth), rel=3e-3)


def test_no_steep_cone_loses_more_than_a_sudden_expansion():
    """At 60 degrees handbooks go up to 1.2 times Borda and Carnot's (1 - A_t/A_o)²."""
    steep = replace(SQUARE, backbore_length=(9.0 - 3.66) / 2 / np.tan(np.pi / 6) * MM)
    sudden = (1 - (3.66 / 9.0) ** 2) ** 2
    assert backbore_coefficient(steep, 1e4).high == pytest.approx(sudden)


def test_a_chamfer_has_the_loss_that_two_handbooks_give_for_its_angle_to_the_axis():
    """Rennels & Hudson 2012 as `fluids` prints it, and Idelchik 1966 by the angle to the axis."""
    length = 0.5 / 3.66
    angle = 45 / 90
    bevel = (1 - angle) * angle ** (1 / (1 + length))
    jet = 1 + 0.622 * (1 - 1.5 * bevel * length ** ((1 - length**0.25) / 2))
    rennels = 0.0696 * (1 - bevel * length) * jet**2 + (jet - 1) ** 2
    idelchik = entrance_beveled(3.66, 0.5, 45.0, method="Idelchik")
    span = entry_coefficient(replace(SQUARE, chamfer=(0.5 * MM, 45.0)), 5000.0)
    assert span.high == pytest.approx((1 - BETA_SQUARED) * rennels, rel=1e-9)
    assert span.low == pytest.approx((1 - BETA_SQUARED) * idelchik, rel=1e-9)
    assert (span.low, span.high) == (pytest.approx(0.219, abs=1e-3), pytest.approx(0.326, abs=1e-3))


@pytest.mark.parametrize("length", [0.01, 0.1, 0.5, 1.0, 3.0])
@pytest.mark.parametrize("angle", [1.0, 15.0, 30.0, 45.0, 60.0, 75.0, 90.0])
def test_a_chamfer_never_loses_more_than_a_square_edge(angle, length):
    span = entry_coefficient(replace(SQUARE, chamfer=(length * MM, angle)), 5000.0)
    square = entry_coefficient(SQUARE, 5000.0)
    assert 0 < span.low <= square.low
    assert span.low <= span.high <= square.high


def test_a_chamfer_across_the_axis_is_a_square_edge_and_a_longer_one_loses_less():
    across = entry_coefficient(replace(SQUARE, chamfer=(1 * MM, 90.0)), 5000.0)
    assert across.high == pytest.approx(entry_coefficient(SQUARE, 5000.0).high, rel=1e-3)
    highs = [
        entry_coefficient(replace(SQUARE, chamfer=(length * MM, 45.0)), 5000.0).high
        for length in (0.05, 0.1, 0.2, 0.5, 1.0)
    ]
    assert highs == sorted(highs, reverse=True)


def test_a_pipe_after_the_shank_adds_developed_friction_to_the_backbore_alone():
    """At 2000 in a pipe of 9 mm after a throat of 3.66 mm, laminar: 64/Re of its own length."""
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
