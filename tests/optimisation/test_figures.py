"""Figures of a solved bore as a search knows them, and as they are told."""

from math import log, log2

import pytest

from borestudy.acoustics.result import AcousticResult, Resonance, ResonanceSlope
from borestudy.bore import cylinder, describe
from borestudy.flow.result import FlowAtRate
from borestudy.optimisation.figures import Compared, aim_of, logarithm, point_of, tolerance
from borestudy.quantity import Quantity
from borestudy.results.case import CaseResults
from borestudy.results.estimate import EstimatedFlow, EstimatedRate
from borestudy.results.wishes import WishedFor

SCALES = {"throat_reynolds": 3000.0, "throat_velocity_m_per_s": 9.0, "dynamic_pressure_Pa": 50.0,
          "mach_number": 0.03}  # fmt: skip


def rate(flow, backbore):
    drop = Quantity(backbore, 0.5, "Pa", (backbore, backbore))
    figures = FlowAtRate(flow_rate_L_per_s=flow, converged=True, backbore_pressure_drop=drop,
                         **SCALES)  # fmt: skip
    return EstimatedRate(flow_rate_L_per_s=flow, estimate=figures, **SCALES)


def case(frequency, slope, *rates):
    peak = Resonance(
        frequency=Quantity(frequency, 0.1, "Hz", (frequency - 1, frequency)),
        by_dimension={"cup.depth": ResonanceSlope(frequency=Quantity(slope, 0.1, "cents"))},
    )
    bore = describe(cylinder(2e-3, 0.05))
    return CaseResults("case", {}, bore, AcousticResult(resonances=(peak,)),
                       EstimatedFlow(rates=tuple(rates)))  # fmt: skip


START = case(800.0, -60.0, rate(0.1, -20.0), rate(0.2, -50.0))


def wish(kind, target, quantity="resonance", scale="cents", within=1.0):
    return WishedFor(quantity=quantity, kind=kind, written="", target=target, within=within,
                     scale=scale)  # fmt: skip


def test_a_change_in_percent_is_a_logarithm_whose_derivative_is_the_relative_one():
    assert logarithm(15.0, "cents") == 15.0
    assert logarithm(-10.0, "percent") == pytest.approx(100 * log(0.9))
    assert tolerance(wish("change", -10.0, scale="percent", within=0.9)) == pytest.approx(
        100 * log(1.01)
    )


def test_a_value_to_be_reached_is_a_change_from_the_start():
    aim = aim_of(wish("reach", 820.0), START)
    assert aim.target == pytest.approx(1200 * log2(820 / 800))
    assert not aim.kept
    assert aim_of(wish("keep", 0.0), START).kept


def test_a_bore_that_has_what_is_wished_misses_nothing_and_another_by_how_much():
    other = Compared.of(case(820.0, -60.0), START)
    assert other.miss(wish("reach", 820.0))[0] == pytest.approx(0.0)
    change = 1200 * log2(820 / 800)
    assert other.miss(wish("change", 40.0))[0] == pytest.approx(change - 40)
    assert other.miss(wish("reach", 810.0))[0] == pytest.approx(1200 * log2(820 / 810))


def test_values_and_derivatives_are_those_reported_and_missing_ones_are_nan():
    found = point_of([1.0, 2.0], case(820.0, -61.0), START, [wish("change", 40.0)],
                     ["cup.depth", "length"])  # fmt: skip
    assert found.values[0] == pytest.approx(1200 * log2(820 / 800))
    assert found.slopes[0, 0] == -61.0
    assert found.slopes[0, 1] != found.slopes[0, 1]
    unmeshed = point_of([1.0, 2.0], None, START, [wish("change", 40.0)], ["cup.depth"])
    assert unmeshed.values[0] != unmeshed.values[0]


def test_a_figure_below_zero_changes_by_its_magnitude_at_its_own_rate():
    """At 0.2 L/s alone, which the start has as its second rate."""
    other = Compared.of(case(820.0, -60.0, rate(0.2, -40.0)), START)
    change = other.change("backbore pressure drop at 0.2 L/s")
    assert change.value == pytest.approx(20.0)
    assert change.numerical == pytest.approx(100 * 0.5 * 2**0.5 / 50)
    assert other.change("backbore pressure drop at 0.1 L/s").value is None


def test_a_wish_for_what_the_start_does_not_have_is_refused():
    with pytest.raises(ValueError, match="peak 4: the bore that the wish starts from"):
        aim_of(wish("change", 10.0, "peak 4"), START)
