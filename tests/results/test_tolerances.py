"""How quantities spread under a workshop's errors, from cases whose derivatives are invented."""

from dataclasses import replace

import numpy as np
import pytest

from borestudy.bore import Tolerance
from borestudy.quantity import Quantity
from borestudy.records import read_record, write_record
from borestudy.results import tolerances as module
from borestudy.results.case import CaseResults
from borestudy.results.nonlinear import second_order, worth_solving
from borestudy.results.reported import Reported, reported
from borestudy.results.toleranced import (
    ALL,
    FIRST,
    SAMPLED,
    SECOND,
    ToleranceResult,
    tolerance_table,
)
from borestudy.results.tolerances import distributions

from .conftest import altered
from .invented import LOUD, SOFT, invented_cases, relative_slope

THROAT, STATION, SHAPE = "throat.diameter", "station 2", "cup.shape"
MM = 1e-3
TOLERANCES = [
    Tolerance(THROAT, "throat diameter", "mm", 0.02 * MM, {THROAT: 1.0}),
    Tolerance(STATION, "radius at 7 mm", "mm", 0.005 * MM, {STATION: 1.0}),
    Tolerance(SHAPE, "cup shape", "", 0.013, {SHAPE: 1.0}),
]
LIMITS = {THROAT: 0.02, STATION: 0.005, SHAPE: 0.013}  # mm or 1
DROP = f"pressure drop at {SOFT:g} L/s"


@pytest.fixture(scope="module")
def case() -> CaseResults:
    return invented_cases()[0]


@pytest.fixture(scope="module")
def result(case) -> ToleranceResult:
    return distributions(case, TOLERANCES)


def quantity(result, name):
    (found,) = (one for one in result.quantities if one.quantity == name)
    return found


def effects(figure, rate=SOFT):
    return np.array([relative_slope("first", key, figure, rate) * LIMITS[key] for key in LIMITS])


@pytest.mark.parametrize(
    ("name", "figure", "rate"),
    [
        ("resonance", "frequency", SOFT),
        ("resonance Q", "Q", SOFT),
        ("resonance impedance", "impedance_peak", SOFT),
        (DROP, "pressure_drop", SOFT),
        (f"flow resistance at {LOUD:g} L/s", "pressure_drop", LOUD),
        (f"slope of pressure drop at {LOUD:g} L/s", "differential_resistance", LOUD),
        ("cup volume", "cup_volume_cm3", SOFT),
    ],
)
def test_the_variance_is_a_third_of_the_squares_of_the_effects(result, name, figure, rate):
    found, exact = quantity(result, name), effects(figure, rate)
    assert [one.effect for one in found.dimensions] == pytest.approx(exact, rel=1e-9)
    deviation = np.sqrt((exact**2).sum() / 3)
    assert found.first_order_deviation == pytest.approx(deviation, rel=1e-9)
    assert found.deviation == pytest.approx(deviation, rel=5e-3)  # of 1024 points
    assert found.method == FIRST
    shares = [one.share_percent for one in found.dimensions]
    assert sum(shares) == pytest.approx(100.0, rel=1e-12)
    assert shares == pytest.approx(100 * exact**2 / (exact**2).sum(), rel=1e-9)
    assert found.percentiles[0] < found.percentiles[1] < 0 < found.percentiles[3]


def test_half_of_the_tolerance_to_hold_tighter_first_narrows_the_span_most(result):
    for found in result.quantities:
        largest = max(found.dimensions, key=lambda one: abs(one.effect))
        assert found.hold_tighter_first == largest.key
        assert found.tighter.span_if_halved == min(one.span_if_halved for one in found.dimensions)
        assert all(one.span_if_halved < found.span for one in found.dimensions)


def test_of_two_alike_the_larger_effect_is_the_one_to_hold_tighter(monkeypatch):
    """Though sampling cannot tell which half narrows the span more: 2.000 and 2.002 %."""
    for more in (THROAT, SHAPE):
        effects = {THROAT: 2.0, SHAPE: 2.0} | {more: 2.002}
        slopes = {key: Quantity(effect / LIMITS[key], 0.01) for key, effect in effects.items()}
        one = replace(power_law(-4.0, 3.6), slopes=slopes)
        assert distribution_of(one, {}, monkeypatch).quantities[0].hold_tighter_first == more


def test_half_of_the_only_tolerance_is_half_of_the_span(case):
    (alone,) = (distributions(case, TOLERANCES[:1]),)
    found = quantity(alone, "resonance")
    assert found.dimensions[0].share_percent == 100.0
    assert found.dimensions[0].span_if_halved == pytest.approx(found.span / 2, rel=1e-12)
    # a uniform error's 95 %
    assert found.span == pytest.approx(1.9 * abs(effects("frequency")[0]), rel=2e-3)


def test_the_uncertainty_is_that_of_the_effects(case):
    """Relative errors that are alike in all effects are that of the deviation as well."""
    found = quantity(distributions(case, TOLERANCES), "resonance")
    shares = [one.effect_uncertainty / abs(one.effect) for one in found.dimensions]
    low, high = min(shares), max(shares)
    assert low <= found.deviation_uncertainty / found.first_order_deviation <= high * 1.001
    assert found.noise_floor == reported(case)["resonance"].noise_floor


def test_the_same_seed_gives_the_same_figures(case, result):
    again = distributions(case, TOLERANCES)
    assert again.quantities == result.quantities
    assert distributions(case, TOLERANCES, seed=2).quantities != result.quantities
    assert (result.samples, result.seed) == (1024, module.SEED)


def test_an_error_that_dimensions_share_moves_all_of_them(case):
    shared = Tolerance("diameters", "all", "mm", 0.01 * MM, {THROAT: 0.5, STATION: 0.25})
    found = quantity(distributions(case, [shared]), "resonance").dimensions[0].effect
    one, other = (relative_slope("first", key, "frequency") for key in (THROAT, STATION))
    assert found == pytest.approx(0.01 * (0.5 * one + 0.25 * other), rel=1e-9)


def test_a_dimension_without_a_derivative_is_left_out_and_said(case):
    unknown = Tolerance("length", "overall length", "mm", 0.02 * MM, {"length": 1.0})
    found = quantity(distributions(case, [*TOLERANCES, unknown]), "resonance")
    assert found.note == "without overall length: no derivative is known"
    assert found.dimensions[-1].effect is None
    assert found.dimensions[-1].share_percent is None
    assert found.first_order_deviation == pytest.approx(
        np.sqrt((effects("frequency") ** 2).sum() / 3), rel=1e-9
    )
    lost = quantity(distributions(case, [unknown]), "resonance")
    assert (lost.method, lost.percentiles) == ("", ())
    assert "no derivative" in lost.note


def test_an_effect_that_is_lost_in_its_uncertainty_is_not_the_one_to_hold_tighter(monkeypatch):
    noisy = {THROAT: Quantity(-100.0, 130.0), SHAPE: Quantity(-50.0, 1.0)}  # 2 and 0.65 %
    one = replace(power_law(-4.0, 3.6), slopes=noisy)
    found = distribution_of(one, {}, monkeypatch).quantities[0]
    assert found.hold_tighter_first == SHAPE
    assert found.note == "the effect of throat diameter is less than its numerical uncertainty"
    # the errors' sizes add up: 2 x 2.6 and 0.65 x 0.013, over three deviations
    assert found.deviation_uncertainty == pytest.approx(
        (2 * 2.6 + 0.65 * 0.013) / (3 * found.first_order_deviation), rel=1e-9
    )
    small = replace(one, slopes={THROAT: Quantity(-1.0, 1.3), SHAPE: Quantity(-50.0, 1.0)})
    assert distribution_of(small, {}, monkeypatch).quantities[0].note == ""
    lost = replace(one, slopes={THROAT: Quantity(-1.0, 1.3)})
    assert distribution_of(lost, {}, monkeypatch).quantities[0].hold_tighter_first is None


def test_a_rate_that_did_not_converge_is_a_row_that_says_so(case):
    lost = altered(case, 0, converged=False)
    table = tolerance_table(distributions(lost, TOLERANCES))
    (row,) = table[table["quantity"] == DROP].to_dict("records")
    assert row["dimension"] == ALL
    assert "did not converge" in row["note"]
    assert np.isnan(row["span"])
    assert np.isnan(row["samples"])


def power_law(exponent: float, diameter: float, name: str = DROP, sign: float = 1.0) -> Reported:
    """A drop that goes as a power of the diameter [mm], and as the square root of the shape."""
    value = sign * 100 * (diameter / 3.6) ** exponent
    slopes = {
        THROAT: Quantity(sign * 100 * exponent / diameter, 0.1),
        SHAPE: Quantity(sign * 50.0, 0.1),
    }
    return Reported(
        name=name, unit="Pa", value=Quantity(value, 0.5), relative_in="percent", slopes=slopes,
        flow_rate_L_per_s=SOFT,
    )  # fmt: skip


ERRORS = [TOLERANCES[0], TOLERANCES[2]]


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_second_derivatives_of_a_power_law_are_its_own(sign):
    """n (n - 1)/d² of the law; of the product with the shape n/d times its own."""
    step, limit, n = 2, LIMITS[THROAT], -4.0
    drawn, *sides = (
        {DROP: power_law(n, 3.6 + shift, sign=sign)} for shift in (0, -step * limit, step * limit)
    )
    found = second_order(drawn, {THROAT: tuple(sides)}, ERRORS, step)[DROP][THROAT]
    own = sign * 100 * n * (n - 1) / 3.6**2 * limit**2
    # the difference's own error is of the order of the step's square
    assert found[0] == pytest.approx(own, rel=(step * limit / 3.6) ** 2)
    mixed = sign * 100 * n / 3.6 * 0.5 * limit * LIMITS[SHAPE]
    assert found[1] == pytest.approx(mixed, rel=1e-12)


def test_swapped_sides_bend_the_other_way():
    low, high = ({DROP: power_law(-4.0, 3.6 + shift)} for shift in (-0.04, 0.04))
    drawn = {DROP: power_law(-4.0, 3.6)}
    right = second_order(drawn, {THROAT: (low, high)}, ERRORS, 2)[DROP][THROAT][0]
    wrong = second_order(drawn, {THROAT: (high, low)}, ERRORS, 2)[DROP][THROAT][0]
    assert abs(right - wrong) > 0.3 * right


def test_a_quantity_that_changes_its_sign_has_no_second_order():
    drawn, low = {DROP: power_law(-4.0, 3.6)}, {DROP: power_law(-4.0, 3.5, sign=-1.0)}
    assert second_order(drawn, {THROAT: (low, drawn)}, ERRORS, 2) == {}
    assert second_order(drawn, {THROAT: ({}, drawn)}, ERRORS, 2) == {}


def distribution_of(one, second, monkeypatch):
    monkeypatch.setattr(module, "reported", lambda case: {one.name: one})
    monkeypatch.setattr(module, "unreported", lambda case: {})
    return distributions(CaseResults("x"), ERRORS, second={one.name: second})


@pytest.mark.parametrize(("bend", "method"), [(1.0, SECOND), (0.01, FIRST)])
def test_second_order_is_used_where_it_moves_the_percentiles(monkeypatch, bend, method):
    """q = a u + b u²/2 with a share of a as b, of which the ends move by 0.45 b of 1.9 a."""
    one = power_law(-4.0, 3.6)
    first = one.slopes[THROAT].value * LIMITS[THROAT]
    still = replace(one, slopes={THROAT: one.slopes[THROAT], SHAPE: Quantity(0.0, 0.0)})
    column = np.array([bend * first, 0.0])
    found = distribution_of(still, {THROAT: column}, monkeypatch).quantities[0]
    assert found.method == method
    at = 1 - 2 * np.array([2.5, 16, 50, 84, 97.5]) / 100  # a is below zero
    exact = first * at + (bend * first * at**2 / 2 if method == SECOND else 0)
    scale = abs(first)
    np.testing.assert_allclose(found.percentiles, exact, atol=4 * scale / 1024)
    assert found.first_order_deviation == pytest.approx(scale / np.sqrt(3), rel=1e-9)


def test_the_flow_is_solved_again_only_where_a_tolerance_is_worth_it():
    large = replace(TOLERANCES[0], limit=0.05 * MM)  # 5.6 % of the fourth power
    drawn = {DROP: power_law(-4.0, 3.6)}
    assert worth_solving(drawn, [large, ERRORS[1]]) == [large]
    assert worth_solving(drawn, ERRORS) == []
    # what is large on another quantity, or has a small share, is not worth it either
    other = {"backbore pressure drop at 0.05 L/s": power_law(-40.0, 3.6)}
    assert worth_solving(other, [large]) == []
    huge = replace(TOLERANCES[0], limit=1 * MM)
    shape = replace(ERRORS[1], limit=0.1)  # 5 %, beside more than 100
    assert worth_solving(drawn, [huge, shape]) == [huge]


def test_what_was_sampled_is_told_by_its_own_percentiles(monkeypatch, case):
    def twice(case, tolerances, shares, two_port, termination):
        return {"resonance": 2 * shares @ effects("frequency") + 0.5}

    monkeypatch.setattr(module, "sampled_resonances", twice)
    plain = distributions(case, TOLERANCES)
    sampled = distributions(case, TOLERANCES, two_port="any", termination="any")
    one, other = (quantity(each, "resonance") for each in (plain, sampled))
    assert other.method == SAMPLED
    np.testing.assert_allclose(other.percentiles, 2 * np.array(one.percentiles) + 0.5, rtol=1e-12)
    assert other.deviation == pytest.approx(2 * one.deviation, rel=1e-12)
    assert other.first_order_deviation == one.first_order_deviation
    halved = [[each.span_if_halved for each in found.dimensions] for found in (one, other)]
    assert halved[1] == pytest.approx([2 * span for span in halved[0]], rel=1e-12)
    assert quantity(sampled, "resonance Q").method == FIRST


def test_the_record_and_the_table_have_each_figure_in_its_place(result, tmp_path):
    write_record(tmp_path / "tolerances.json", result)
    again = read_record(tmp_path / "tolerances.json", ToleranceResult)
    assert again.quantities == result.quantities
    table = tolerance_table(again)
    assert len(table) == len(result.quantities) * (1 + len(TOLERANCES))
    rows = table[table["quantity"] == DROP].to_dict("records")
    found = quantity(result, DROP)
    whole, throat, _, shape = rows
    assert whole["dimension"] == ALL
    assert [whole[f"percentile_{name}"] for name in ("2.5", "16", "50", "84", "97.5")] == list(
        found.percentiles
    )
    assert whole["span"] == found.percentiles[4] - found.percentiles[0]
    assert whole["standard_deviation"] == found.deviation
    assert whole["standard_deviation_first_order"] == found.first_order_deviation
    assert whole["standard_deviation_uncertainty"] == found.deviation_uncertainty
    assert whole["hold_tighter_first"] == found.hold_tighter_first
    assert whole["span_if_halved"] == found.tighter.span_if_halved
    assert (whole["value"], whole["unit"]) == (found.value, "Pa")
    assert (whole["samples"], whole["seed"]) == (1024, module.SEED)
    assert (throat["tolerance"], throat["tolerance_unit"]) == (pytest.approx(0.02), "mm")
    assert (shape["tolerance"], shape["tolerance_unit"]) == (0.013, "")
    assert throat["first_order_effect"] == found.dimensions[0].effect
    assert throat["first_order_effect_uncertainty"] == found.dimensions[0].effect_uncertainty
    assert throat["share_of_variance_percent"] == found.dimensions[0].share_percent
    assert throat["span_if_halved"] == found.dimensions[0].span_if_halved
    assert np.isnan(throat["span"])
    assert throat["flow_rate_L_per_s"] == SOFT
