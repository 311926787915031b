"""Verdicts from two intervals, and which causes are named."""

import pytest

from borestudy.claims import AGREES, DISAGREES, UNDECIDED, judge
from borestudy.claims.believed import Believed, believed
from borestudy.claims.judge import causes, verdict_of
from borestudy.claims.trial import LOSSLESS, LUMPED, Trial

from ..results.conftest import make_case
from ..results.invented import GEOMETRY, LOUD, SOFT, drops
from .conftest import bench_of, claim_of


@pytest.mark.parametrize(
    ("low", "high", "verdict"),
    [
        (99.0, 101.0, AGREES),
        (98.0, 102.0, AGREES),  # the ends belong to it
        (97.9, 101.0, UNDECIDED),
        (99.0, 102.1, UNDECIDED),
        (90.0, 110.0, UNDECIDED),
        (97.0, 98.0, UNDECIDED),
        (97.0, 97.9, DISAGREES),
        (102.1, 103.0, DISAGREES),
    ],
)
def test_a_claim_of_100_within_2_is_judged_by_all_that_may_be_true(low, high, verdict):
    claim = claim_of("resonance", 100.0, 2.0)
    assert verdict_of(claim, Believed((low + high) / 2, low, high)) == verdict


def test_what_was_not_computed_cannot_be_decided_and_says_why(cases):
    case = make_case("one", {}, frequencies=())
    found = judge(claim_of("resonance", 800.0, 1.0), bench_of(case, case))
    assert found.verdict == UNDECIDED
    assert "no resonance" in found.found
    assert found.distance is None
    assert found.causes == ()


def test_a_cause_is_named_only_where_the_claimed_value_comes_out():
    claim = claim_of("resonance", 100.0, 2.0)
    tried = [
        Trial(LUMPED, "far", 97.0),
        Trial(LOSSLESS, "near enough with its error", 97.0, 1.1),
        Trial(LUMPED, "within", 101.5),
        Trial(LUMPED, "nearer", 99.0),
        Trial(LOSSLESS, "not a number", float("inf")),
    ]
    assert [one.how for one in causes(claim, tried)] == ["nearer", "near enough with its error"]


def test_no_cause_is_sought_of_a_claim_that_does_not_disagree(bench):
    def refuse():
        raise AssertionError("solved for a claim that agrees")

    right = claim_of("resonance", 823.0, 1.0, "Hz")
    case = bench.case
    assert judge(right, bench_of(case, case, lossless=refuse)).verdict == AGREES


def test_pressure_drops_are_believed_with_their_model_error(bench):
    rate = bench.case.rates[0]
    front, back = drops("first", "estimate", SOFT)
    interval = rate.interval()
    found = believed(claim_of(f"pressure drop at {SOFT} L/s", 1.0, 1.0, "Pa"), bench)
    assert found.value == pytest.approx(front + back)
    assert (found.low, found.high) == (interval.low, interval.high)
    assert found.high - found.low > 4 * found.numerical > 0
    resistance = believed(
        claim_of(f"flow resistance at {SOFT} L/s", 1.0, 1.0, "kPa_s_per_L"), bench
    )
    per_rate = 1e-3 / SOFT
    assert resistance.value == pytest.approx(per_rate * found.value)
    assert resistance.low == pytest.approx(per_rate * found.low)
    assert resistance.high == pytest.approx(per_rate * found.high)


def test_figures_that_are_made_of_a_drop_have_its_model_error(bench):
    rate = bench.case.rates[0]
    whole = rate.model_error.drops["pressure_drop"]
    front = rate.model_error.drops["pressure_drop_to_throat_end"]

    def sides(figure):
        found = believed(claim_of(f"{figure} at {SOFT} L/s", 1.0, 1.0), bench)
        return found.value, found.value - found.low, found.high - found.value

    # The invented numerical uncertainties are 1e-5 or so, far below these.
    value, low, high = sides("loss coefficient")
    assert (low, high) == pytest.approx(
        (whole.low / rate.dynamic_pressure_Pa, whole.high / rate.dynamic_pressure_Pa), rel=1e-3
    )
    value, low, high = sides("slope of pressure drop")
    drop = rate.quantity("pressure_drop").value
    assert (low / value, high / value) == pytest.approx(
        (whole.low / drop, whole.high / drop), rel=1e-3
    )
    value, low, high = sides("friction in the throat")
    assert (low, high) == pytest.approx((front.low, front.high), rel=1e-3)


def test_a_greater_drop_is_a_smaller_discharge_coefficient(bench):
    rate = bench.rate(LOUD)
    front = rate.model_error.drops["pressure_drop_to_throat_end"]
    # The drop may be farther off on one side than on the other.
    assert abs(front.low - front.high) > 0.01 * front.low
    found = believed(claim_of(f"discharge coefficient at {LOUD} L/s", 1.0, 1.0), bench)
    drop = rate.quantity("pressure_drop_to_throat_end").value
    # C falls as the root of the drop grows.
    shares = (found.value - found.low) / found.value, (found.high - found.value) / found.value
    assert shares == pytest.approx((0.5 * front.high / drop, 0.5 * front.low / drop), rel=1e-3)


def test_changes_are_those_against_the_first_case(cases):
    first, other = cases
    bench = bench_of(other, first)
    cup = believed(claim_of("change of cup volume", 1.0, 1.0, "percent"), bench)
    ratio = GEOMETRY["other"]["cup_volume_cm3"] / GEOMETRY["first"]["cup_volume_cm3"]
    assert cup.value == pytest.approx(100 * (ratio - 1))
    before, after = (sum(drops(name, "estimate", SOFT)) for name in ("first", "other"))
    name = f"change of flow resistance at {SOFT} L/s"
    found = believed(claim_of(name, 1.0, 1.0, "percent"), bench)
    assert found.value == pytest.approx(100 * (after / before - 1), rel=1e-6)
    assert found.low < found.value < found.high
