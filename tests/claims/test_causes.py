"""Each cause is found in a value that was made by it, and right claims are not accused.

Wrong values are worked out here in plain arithmetic, from the invented bore: a throat of 3.66 mm
and 5.1 mm length in a bore of 88 mm, a rim of 16.2 mm, a cup of 1.137 cm³, an end of 9 mm.
"""

import math
from dataclasses import replace

import pytest

from borestudy.air import humid_air
from borestudy.claims import AGREES, DISAGREES, judge
from borestudy.claims.believed import believed
from borestudy.claims.judge import trials
from borestudy.claims.trial import (
    CAUSES,
    DEVELOPED,
    DIAMETER_FOR_RADIUS,
    HANDBOOK,
    LOSSLESS,
    LUMPED,
    NO_END_CORRECTION,
    PLAIN_TUBE,
    RADIUS_FOR_DIAMETER,
    TEMPERATURE,
    WRONG_UNIT,
)

from ..results.invented import DENSITY, LOUD, SOFT, VISCOSITY, drops
from .conftest import AIR, HUMIDITY, PRESSURE, bench_of, claim_of

R, LENGTH, VOLUME = 1.83e-3, 5.1e-3, 1.137e-6
AREA, REST = math.pi * R**2, 72.5e-3
SPEED = AIR.sound_speed
#: ½ρU² of 0.05 L/s, and its Reynolds number.
DYNAMIC = 0.5 * DENSITY * (5e-5 / AREA) ** 2
REYNOLDS = 2 * R * (5e-5 / AREA) / VISCOSITY
BEFORE, AFTER = (3.66 / 16.2) ** 4, (3.66 / 9.0) ** 4
SUM = sum(drops("first", "estimate", SOFT))
AT = f" at {SOFT} L/s"
#: Handbooks' loss of a square edge out of a reservoir (Crane 0.5; Rennels 0.57), by cup area.
CRANE, FINITE = 0.5, 1 - (3.66 / 16.2) ** 2
#: Crane's loss of a gradual enlargement at an included angle up to 45°, over the throat's q.
HALF_ANGLE = math.atan((4.5e-3 - R) / REST)
CRANES_CONE = 2.6 * math.sin(HALF_ANGLE) * (1 - (3.66 / 9.0) ** 2) ** 2
BLASIUS = 0.3164 * REYNOLDS**-0.25 * 5.1 / 3.66


def resonator(neck):
    """Frequency by a neck's length over area."""
    return SPEED / (2 * math.pi) / math.sqrt(VOLUME * neck)


BACKBORE = REST / (math.pi * R * 4.5e-3)
WARM = humid_air(303.15, HUMIDITY, PRESSURE)
#: n of a drop that goes with the flow rate to the power n, from the invented laws.
FRONT, BACK = drops("first", "estimate", SOFT)
POWER = (1.91 * FRONT + 1.83 * BACK) / SUM
NU = WARM.kinematic_viscosity / AIR.kinematic_viscosity

#: Quantity, wrong value, unit, cause, and a word of how it is explained.
WRONG = {
    "resonance without losses": ("resonance", 841.0, "Hz", LOSSLESS, "walls"),
    "Q without losses": ("resonance Q", 23.1, "", LOSSLESS, "walls"),
    "Bernoulli": (f"pressure drop{AT}", DYNAMIC * (AFTER - BEFORE), "Pa", LOSSLESS, "Bernoulli"),
    "Bernoulli to the throat": (
        f"pressure drop to throat end{AT}", DYNAMIC * (1 - BEFORE), "Pa", LOSSLESS, "Bernoulli"),
    "Bernoulli in the backbore": (
        f"backbore pressure drop{AT}", DYNAMIC * (AFTER - 1), "Pa", LOSSLESS, "Bernoulli"),
    "Bernoulli's resistance": (
        f"flow resistance{AT}", 1e-3 * DYNAMIC * (AFTER - BEFORE) / SOFT, "kPa_s_per_L", LOSSLESS,
        "Bernoulli"),
    "Bernoulli's slope": (
        f"slope of pressure drop{AT}", 2e-3 * DYNAMIC * (AFTER - BEFORE) / SOFT, "kPa_s_per_L",
        LOSSLESS, "Bernoulli"),
    "discharge of 1": (f"discharge coefficient{AT}", 1.0, "", LOSSLESS, "1"),
    "neck as long as the metal": (
        "resonance", resonator(LENGTH / AREA), "Hz", NO_END_CORRECTION, "cup and throat"),
    "neck with both ends": (
        "resonance", resonator((LENGTH + 16 * R / (3 * math.pi)) / AREA), "Hz", LUMPED, "both end"),
    "neck with one end": (
        "resonance", resonator((LENGTH + 8 * R / (3 * math.pi)) / AREA), "Hz", LUMPED, "one end"),
    "neck with the backbore": (
        "resonance", resonator(LENGTH / AREA + BACKBORE), "Hz", LUMPED, "backbore"),
    "quarter wave": ("resonance", SPEED / 0.352, "Hz", PLAIN_TUBE, "quarter"),
    "neck of twice the width": (
        "resonance", resonator(LENGTH / (4 * AREA)), "Hz", DIAMETER_FOR_RADIUS, "throat"),
    "friction by Poiseuille": (
        f"friction in the throat{AT}",
        8 * AIR.viscosity * LENGTH * 5e-5 / (math.pi * R**4), "Pa", DEVELOPED, "Poiseuille"),
    "friction by Blasius": (
        f"friction in the throat{AT}", BLASIUS * DYNAMIC, "Pa", HANDBOOK, "Blasius"),
    "Crane's throat": (
        f"pressure drop to throat end{AT}", DYNAMIC * (1 - BEFORE + CRANE * FINITE + BLASIUS), "Pa",
        HANDBOOK, "loss of the edge"),
    "Crane's whole drop": (
        f"pressure drop{AT}",
        DYNAMIC * (AFTER - BEFORE + CRANE * FINITE + BLASIUS + CRANES_CONE), "Pa", HANDBOOK,
        "Crane"),
    "Crane's loss": (
        f"loss coefficient{AT}", CRANE * FINITE + BLASIUS + CRANES_CONE, "", HANDBOOK, "Crane"),
    "Crane's backbore": (
        f"backbore pressure drop{AT}", DYNAMIC * (AFTER - 1 + CRANES_CONE), "Pa", HANDBOOK,
        "Crane"),
    "volume of π d² l": ("throat volume", 4 * 0.0537, "cm3", DIAMETER_FOR_RADIUS, "4 times"),
    "volume of π (r/2)² l": ("throat volume", 0.0537 / 4, "cm3", RADIUS_FOR_DIAMETER, "0.25"),
    "dynamic pressure of 2 r": (
        f"dynamic pressure{AT}", DYNAMIC / 16, "Pa", DIAMETER_FOR_RADIUS, "0.0625"),
    "velocity of r/2": (
        f"throat velocity{AT}", 4 * 5e-5 / AREA, "m_per_s", RADIUS_FOR_DIAMETER, "4 times"),
    "Reynolds number of r": (
        f"throat Reynolds number{AT}", 2 * REYNOLDS, "", RADIUS_FOR_DIAMETER, "2 times"),
    "radians": ("resonance", 2 * math.pi * 823.0, "Hz", WRONG_UNIT, "radians"),
    "kilopascals": (f"pressure drop{AT}", 1e-3 * SUM, "Pa", WRONG_UNIT, "as small"),
    "millimetres of water": (
        f"pressure drop{AT}", SUM / 9.80665, "Pa", WRONG_UNIT, "water"),
    "mm³": ("cup volume", 1137.0, "cm3", WRONG_UNIT, "a thousand times as large"),
    "warm air": (
        "resonance", 823.0 * WARM.sound_speed / SPEED, "Hz", TEMPERATURE, "30 °C and not 20 °C"),
    "warm breath": (
        f"pressure drop{AT}", SUM * WARM.density / AIR.density * NU ** (2 - POWER), "Pa",
        TEMPERATURE, "30 °C"),
    "warm dynamic pressure": (
        f"dynamic pressure{AT}", DYNAMIC * WARM.density / AIR.density, "Pa", TEMPERATURE, "30 °C"),
    "warm Reynolds number": (
        f"throat Reynolds number{AT}", REYNOLDS / NU, "", TEMPERATURE, "30 °C"),
}  # fmt: skip

#: Quantities of which a wrong value above is nearer to the right one than the model error.
NEAR = (f"pressure drop{AT}", f"pressure drop to throat end{AT}", f"loss coefficient{AT}")


@pytest.mark.parametrize(("quantity", "value", "unit", "cause", "word"), WRONG.values(), ids=WRONG)
def test_a_wrong_value_is_traced_to_what_made_it(bench, quantity, value, unit, cause, word):
    # To four digits of the value, as a table prints it.
    claim = claim_of(quantity, value, 5e-4 * abs(value), unit)
    tried = list(trials(claim, bench, believed(claim, bench)))
    fitting = [one for one in tried if abs(one.value - value) <= claim.tolerance + one.error]
    assert cause in {one.cause for one in fitting}
    found = judge(claim, bench)
    if found.verdict == DISAGREES:
        assert found.causes[0].cause == cause
        assert word in found.causes[0].how
        assert found.causes[0].value == pytest.approx(value, rel=5e-4)
    else:
        # It differs by less than the model error: then nobody may be accused.
        assert found.causes == ()
        assert quantity in NEAR


def test_every_cause_is_among_the_wrong_values():
    assert {cause for *_, cause, _ in WRONG.values()} == set(CAUSES)


def test_an_open_end_without_its_correction_is_told_where_the_end_is_open(bench):
    claim = claim_of("resonance", 829.0, 0.5, "Hz")
    assert judge(claim, bench).causes == ()
    sound = replace(bench.case.acoustics, termination="open unflanged")
    opened = replace(bench.case, acoustics=sound)
    (found,) = judge(claim, bench_of(opened, opened)).causes
    assert found.cause == NO_END_CORRECTION
    assert "open shank end" in found.how


def test_where_several_causes_fit_all_are_told_the_nearest_first(bench):
    claim = claim_of("resonance", 841.5, 1.0, "Hz")
    warm = 823.0 * WARM.sound_speed / SPEED
    assert warm == pytest.approx(838.1, abs=0.1)
    both = judge(replace(claim, value=839.0, tolerance=3.0), bench).causes
    assert [one.cause for one in both] == [TEMPERATURE, LOSSLESS]
    assert [one.cause for one in judge(claim, bench).causes] == [LOSSLESS]


def test_turbulent_handbooks_are_blamed_of_laminar_flow_alone(cases):
    bench = bench_of(cases[0], cases[0])
    claim = claim_of(f"pressure drop at {LOUD} L/s", 1.0, 1.0, "Pa")
    assert bench.rate(LOUD).regime != "laminar"
    tried = trials(claim, bench, believed(claim, bench))
    assert HANDBOOK not in {one.cause for one in tried}


RIGHT = [
    ("resonance", 823.0, "Hz"), ("resonance Q", 5.9, ""), ("resonance impedance", 2.31e7, ""),
    ("cup volume", 1.137, "cm3"), ("throat volume", 0.0537, "cm3"),
    (f"pressure drop{AT}", SUM, "Pa"), (f"flow resistance{AT}", 1e-3 * SUM / SOFT, "kPa_s_per_L"),
    (f"pressure drop to throat end{AT}", FRONT, "Pa"), (f"backbore pressure drop{AT}", BACK, "Pa"),
    (f"dynamic pressure{AT}", DYNAMIC, "Pa"), (f"throat velocity{AT}", 5e-5 / AREA, "m_per_s"),
    (f"throat Reynolds number{AT}", REYNOLDS, ""),
]  # fmt: skip


@pytest.mark.parametrize(("quantity", "value", "unit"), RIGHT)
@pytest.mark.parametrize("share", [1e-4, 0.01, 0.1, 0.5])
@pytest.mark.parametrize("off", [-0.99, 0.0, 0.99])
def test_a_right_claim_is_not_accused_whatever_its_tolerance(
    bench, quantity, value, unit, share, off
):
    tolerance = share * abs(value)
    found = judge(claim_of(quantity, value + off * tolerance, tolerance, unit), bench)
    assert found.verdict != DISAGREES
    assert found.causes == ()


def test_a_right_claim_that_is_wide_enough_agrees(bench):
    for quantity, value, unit in RIGHT:
        assert judge(claim_of(quantity, value, 0.3 * abs(value), unit), bench).verdict == AGREES


def test_a_change_in_the_wrong_unit_is_found(cases):
    bench = bench_of(cases[1], cases[0])
    name = f"change of flow resistance{AT}"
    right = believed(claim_of(name, 1.0, 1.0, "percent"), bench)
    claim = claim_of(name, right.value / 100, abs(right.value) / 2000, "percent")
    found = judge(claim, bench)
    assert found.verdict == DISAGREES
    assert found.causes[0].cause == WRONG_UNIT
