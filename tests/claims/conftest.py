"""A claim and a case to hold it against, invented."""

import math

import pytest

from borestudy.acoustics.result import Resonance
from borestudy.air import humid_air
from borestudy.claim import Claim
from borestudy.claims import Bench
from borestudy.closed_form.handbook import Dimensions
from borestudy.records import from_plain

from ..results.invented import END, RIM, THROAT, invented_cases

KELVIN, HUMIDITY, PRESSURE = 293.15, 0.5, 101325.0
AIR = humid_air(KELVIN, HUMIDITY, PRESSURE)
#: Without losses at the walls, and with a pressure node at the shank end.
LOSSLESS, NODE = (841.0, 23.1, 9.1e7), (829.0, 6.0, 2.4e7)


def resonances(frequency, quality, height):
    figures = {
        "frequency_Hz": frequency, "Q": quality, "impedance_peak_Pa_s_per_m3": height,
        "frequency_Hz_uncertainty": 0.01, "Q_uncertainty": 0.01,
        "impedance_peak_Pa_s_per_m3_uncertainty": 1e3,
    }  # fmt: skip
    return (from_plain(Resonance, figures),)


def bench_of(case, first, **changes):
    sizes = Dimensions(
        cup_diameter=RIM, throat_diameter=THROAT, outlet_diameter=END, throat_length=5.1e-3,
        backbore_length=72.5e-3,
    )  # fmt: skip
    given = {
        "case": case, "first": first, "air": AIR, "temperature": KELVIN,
        "relative_humidity": HUMIDITY, "pressure": PRESSURE, "handbook": sizes,
        "lossless": lambda: resonances(*LOSSLESS), "pressure_node": lambda: resonances(*NODE),
    }  # fmt: skip
    return Bench(**given | changes)


@pytest.fixture(scope="session")
def cases():
    return invented_cases()


@pytest.fixture
def bench(cases):
    return bench_of(cases[0], cases[0])


def claim_of(quantity, value, tolerance, unit="", **changes):
    """A claim in the unit of results; tolerance below 1 is a share of the value."""
    name = quantity.removeprefix("change of ")
    figure, _, rate = name.partition(" at ")
    given = {
        "line": 2, "where": "p. 1", "quantity": quantity, "figure": figure, "case": "first",
        "value": value, "tolerance": tolerance, "unit": unit, "written_unit": unit,
        "written": f"{value:.4g} {unit}".strip(),
        "rate_L_per_s": float(rate.removesuffix(" L/s")) if rate else None,
        "is_change": quantity.startswith("change of "),
    }  # fmt: skip
    assert math.isfinite(value)
    return Claim(**given | changes)
