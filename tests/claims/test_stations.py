"""The errors of measured stations: a claim that they explain is not accused."""

import math
from dataclasses import replace

import pytest

from borestudy.acoustics.result import ResonanceSlope
from borestudy.bore.measured.record import MeasurementRecord, StationRecord
from borestudy.claims import DISAGREES, UNDECIDED, judge
from borestudy.claims.believed import believed
from borestudy.flow.result import DropSlope
from borestudy.quantity import Quantity

from ..results.conftest import altered
from ..results.invented import SOFT
from .conftest import bench_of, claim_of

#: Half-widths of the error of the one station's diameter, and of that of all [mm].
OWN, COMMON = 0.05, 0.03
EITHER = math.hypot(OWN, COMMON) / 2
#: Derivatives by the station's radius: of the frequency [cents per mm], of a drop [Pa per mm].
OF_FREQUENCY, OF_DROP = 400.0, -30.0


@pytest.fixture(scope="module")
def measured(cases):
    """The first case as one of a measured bore of a single station, 3.66 mm wide."""
    station = StationRecord(
        position_mm=10.0, diameter_mm=3.66, readings_mm=(3.66,), lines=(2,),
        diameter_mm_uncertainty=OWN,
    )  # fmt: skip
    record = MeasurementRecord(
        file="bore.csv", findings=(), stations=(station,), common_mm_uncertainty=COMMON
    )
    case = replace(cases[0], measurement=record)
    peak = replace(
        case.resonances[0],
        by_dimension={"station 1": ResonanceSlope(frequency=Quantity(OF_FREQUENCY, 0.0, "cents"))},
    )
    case = replace(case, acoustics=replace(case.acoustics, resonances=(peak,)))
    slope = Quantity(OF_DROP, 0.0, "Pa")
    each = DropSlope(pressure_drop=slope, pressure_drop_to_throat_end=slope)
    case = altered(case, 0, by_dimension={"station 1": each})
    return bench_of(case, case)


def half_widths(quantity, bench):
    found = believed(claim_of(quantity, 1.0, 1.0), bench)
    return found.value, found.value - found.low, found.high - found.value


def test_a_resonance_is_as_unsure_as_the_stations_make_it(measured):
    value, low, high = half_widths("resonance", measured)
    # EITHER mm of the radius, in cents of the frequency
    assert low == pytest.approx(value * (2 ** (OF_FREQUENCY * EITHER / 1200) - 1), rel=1e-3)
    assert high == pytest.approx(low)


@pytest.mark.parametrize(
    ("quantity", "drop", "part"),
    [("pressure drop", "pressure_drop", 1.0), ("flow resistance", "pressure_drop", 1.0),
     ("loss coefficient", "pressure_drop", 1.0),
     ("discharge coefficient", "pressure_drop_to_throat_end", 0.5)],
)  # fmt: skip
def test_what_goes_with_a_drop_is_as_unsure_in_proportion(measured, bench, quantity, drop, part):
    name = f"{quantity} at {SOFT} L/s"
    value, low, high = half_widths(name, measured)
    _, low_before, high_before = half_widths(name, bench)
    whole = measured.case.rate(0).quantity(drop).value
    error = part * abs(value * OF_DROP * EITHER / whole)
    assert low == pytest.approx(math.hypot(low_before, error), rel=1e-6)
    assert high == pytest.approx(math.hypot(high_before, error), rel=1e-6)


@pytest.mark.parametrize(
    ("quantity", "power"),
    [("throat velocity", 2), ("dynamic pressure", 4), ("throat Reynolds number", 1)],
)
def test_figures_of_the_mean_velocity_go_with_powers_of_the_width(measured, quantity, power):
    value, low, _ = half_widths(f"{quantity} at {SOFT} L/s", measured)
    assert low == pytest.approx(value * power * 2 * EITHER / 3.66)


def test_a_claim_that_the_measurement_explains_is_not_accused(measured, bench):
    for quantity, value, unit in (
        ("resonance", 823.0 * 2 ** (0.9 * OF_FREQUENCY * EITHER / 1200), "Hz"),
        (f"dynamic pressure at {SOFT} L/s", 1.04 * 13.327, "Pa"),
    ):
        claim = claim_of(quantity, value, 1e-4 * value, unit)
        assert judge(claim, bench).verdict == DISAGREES
        found = judge(claim, measured)
        assert found.verdict == UNDECIDED
        assert found.causes == ()
