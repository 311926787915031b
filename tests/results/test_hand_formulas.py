"""Hand formulas beside computed values: their numbers, and the reasons that are given."""

from dataclasses import replace

import pytest

from borestudy.air import humid_air
from borestudy.results.hand_formulas import hand_formula_table, hand_formulas

from .conftest import altered, make_case
from .invented import invented_cases

AIR = humid_air(298.15, 0.5)


def rows_of(case, quantity):
    return [one for one in hand_formulas(case, AIR) if one.quantity == quantity]


def test_every_row_has_its_computed_value_and_the_difference_between_the_two():
    table = hand_formula_table(invented_cases(), [AIR, AIR])
    first = table[table["case"] == "first"].set_index("quantity")
    assert (first.loc["resonance", "computed"] == 823.0).all()
    off = 100 * (table["hand_value"] - table["computed"]) / table["computed"].abs()
    assert table["difference_percent"].to_numpy() == pytest.approx(off.to_numpy())
    assert table["reason"].str.len().min() > 0
    drops = first.loc["pressure drop at 0.05 L/s"]
    assert drops["computed"] == pytest.approx(7200 * 0.05**1.91 - 3300 * 0.05**1.83)
    assert drops["uncertainty"] > 0
    assert drops["flow_rate_L_per_s"] == 0.05


def test_the_values_are_those_of_pencil_and_paper():
    (case, _) = invented_cases()
    # A cone 10.4 mm deep from 16.2 to 3.66 mm; sums of products of radii in cm.
    cone, bowl = rows_of(case, "cup volume")
    assert cone.hand_value == pytest.approx(
        3.14159 / 3 * 1.04 * (0.6561 + 0.14823 + 0.033489), rel=1e-4
    )
    of_bowl = 0.033489 + 0.180236 + 0.262086
    assert bowl.hand_value == pytest.approx(3.14159 * 1.04 * of_bowl, rel=1e-4)
    # 0.05 L/s through 10.521 mm² are 4.7525 m/s
    dynamic = rows_of(case, "pressure drop at 0.05 L/s")[0]
    assert dynamic.hand_value == pytest.approx(0.5 * AIR.density * 4.7525**2, rel=1e-4)
    quarter = rows_of(case, "resonance")[-1]
    assert quarter.hand_value == pytest.approx(AIR.sound_speed / 0.352)
    # The throat of 5.1 mm: 8 μ l Q / (π r⁴)
    rubbed = rows_of(case, "friction in the throat at 0.05 L/s")[0]
    assert rubbed.hand_value == pytest.approx(
        8 * AIR.viscosity * 5.1e-3 * 5e-5 / (3.14159 * 1.83e-3**4), rel=1e-5
    )
    assert rubbed.computed.value == pytest.approx(0.37 * 0.85 * sum_of_drops(case) / 1.0031)


def sum_of_drops(case):
    return case.rate(0).quantity("pressure_drop").value


@pytest.mark.parametrize(
    ("factor", "word"), [(1.0, "exact"), (1.001, "outside"), (0.999, "inside")]
)
def test_a_wall_beside_the_cone_is_said_to_lie_outside_or_inside(factor, word):
    (case, _) = invented_cases()
    exact = rows_of(case, "backbore volume")[0].hand_value
    geometry = replace(case.geometry, backbore_volume_cm3=factor * exact)
    assert word in rows_of(replace(case, geometry=geometry), "backbore volume")[0].reason


def test_the_backbore_makes_the_resonator_heavier_and_so_lower():
    (case, _) = invented_cases()
    bare, ended, whole, _ = rows_of(case, "resonance")
    assert bare.hand_value > ended.hand_value > whole.hand_value
    # 5.1 mm over the throat's area against 72.5 mm over that of a mean proportional radius
    times = 72.5 * 1.83 / (4.5 * 5.1)
    assert f"{times:.2g} times as heavy" in bare.reason
    assert "beyond its ends" in bare.reason
    assert "beyond its ends" not in ended.reason


@pytest.mark.parametrize(
    ("behind", "word"), [("closed", "closed here"), ("air column, closed", "whole instrument")]
)
def test_what_is_behind_the_shank_is_the_reason_where_no_formula_for_the_bore_holds(behind, word):
    case = make_case("one", {}, termination=behind)
    assert {word in one.reason for one in rows_of(case, "resonance")} == {True}


def test_the_backbore_gives_back_or_takes():
    (case, _) = invented_cases()
    front, back = 7200 * 0.05**1.91, 3300 * 0.05**1.83
    dynamic = rows_of(case, "pressure drop at 0.05 L/s")[0]
    told = f"takes {front / dynamic.hand_value:.2f} times that; the backbore gives back"
    assert told in dynamic.reason
    assert dynamic.reason.endswith(f"{back / dynamic.hand_value:.2f} times")
    worse = replace(case.rate(0).quantity("pressure_drop"), value=2 * front)
    case = altered(case, 0, pressure_drop=worse)
    assert "the backbore takes another" in rows_of(case, "pressure drop at 0.05 L/s")[0].reason


def test_friction_is_turbulent_where_the_transition_lies_before_the_throats_end():
    (case, _) = invented_cases()
    laminar = rows_of(case, "friction in the throat at 0.05 L/s")[0].reason
    # 0.056 Re D, of Re 1115: 0.05 L/s through 3.66 mm with ν = 1.56e-5
    assert "would need 229 mm" in laminar
    assert "turbulent" not in rows_of(altered(case, 1, transition_position_mm=23.1),
                                   "friction in the throat at 0.3 L/s")[0].reason  # fmt: skip
    inside = altered(case, 1, transition_position_mm=12.9)
    told = rows_of(inside, "friction in the throat at 0.3 L/s")[0].reason
    assert "turbulent from 2.5 mm into the throat" in told
    before = altered(case, 1, transition_position_mm=1.0)
    told = rows_of(before, "friction in the throat at 0.3 L/s")[0].reason
    assert "turbulent everywhere" in told


def test_what_was_not_computed_has_a_hand_value_and_says_why_there_is_no_other():
    case = make_case("one", {}, lost=(0.1,), frequencies=())
    found = hand_formulas(case, AIR)
    lost = [one for one in found if one.flow_rate_L_per_s == 0.1]
    assert all(one.computed is None and one.difference_percent is None for one in lost)
    assert all(one.hand_value > 0 for one in lost)
    assert {one.reason for one in lost} == {case.rate(1).note}
    none = [one for one in found if one.quantity == "resonance"]
    assert all(one.computed is None and "no resonance" in one.reason for one in none)


def test_a_bore_without_a_throat_has_no_hand_formulas():
    case = make_case("one", {})
    assert hand_formulas(replace(case, geometry=replace(case.geometry, parts={})), AIR) == []
