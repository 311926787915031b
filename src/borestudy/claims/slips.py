r"""Slips of the pen: diameter for radius, another unit, air of another temperature.

What the case was computed to be is changed as the slip changes it.  With all widths doubled at one
flow rate velocities are a quarter, dynamic pressures and the drops that are so many of them a
sixteenth, volumes four times, Reynolds numbers half as large.  With air of another density and
viscosity a pressure drop :math:`\Delta p \propto Q^n`, where n is known from its computed slope, is

.. math:: \Delta p' = \Delta p\,\frac{\rho'}{\rho}\Big(\frac{\nu'}{\nu}\Big)^{2-n},

since :math:`\Delta p/\rho Q^2` is a function of :math:`Q/\nu` alone.  Frequencies go with the speed
of sound; the boundary layers that lower them by some per mil change by a few percent at most, which
is within 1e-4 of the frequency.
"""

import math
from collections.abc import Iterator

from borestudy.air import CELSIUS_ZERO, Air, humid_air
from borestudy.claim import Claim
from borestudy.claims.believed import Believed
from borestudy.claims.bench import Bench, split_peak
from borestudy.claims.flow import BACK, FRONT, RESISTANCE, SLOPE, WHOLE
from borestudy.claims.trial import (
    DIAMETER_FOR_RADIUS,
    RADIUS_FOR_DIAMETER,
    TEMPERATURE,
    WRONG_UNIT,
    Trial,
)
from borestudy.results.estimate import EstimatedRate

#: Powers of a width that figures go with.
WIDTHS = {
    "cup volume": 2, "throat volume": 2, "backbore volume": 2, "throat velocity": -2,
    "throat Reynolds number": -1, "dynamic pressure": -4, "friction in the throat": -4,
    **dict.fromkeys((WHOLE, FRONT, BACK, RESISTANCE, SLOPE), -4),
}  # fmt: skip
#: A velocity by the wrong width times the right diameter, over viscosity.
HALF_WRONG = {"throat Reynolds number": -2}
#: Temperatures [degC] at which tables have the speed of sound and the density of air, and breath.
USUAL = (0.0, 15.0, 20.0, 25.0, 30.0, 37.0)
#: Share of a frequency that wall losses of another air may change it by.
LOSSES = 1e-4
#: Factors between units that are mixed up, with their words, by the unit of results.
POWERS_OF_TEN = {10.0: "ten", 100.0: "a hundred", 1e3: "a thousand", 1e6: "a million"}
UNITS = {
    "Pa": {
        9.80665: "millimetres of water for pascals", 98.0665: "centimetres of water for pascals",
        133.322: "millimetres of mercury for pascals", 6894.757: "pounds a square inch for pascals",
    },
    "Hz": {2 * math.pi: "radians a second for hertz", 60.0: "minutes for seconds"},
    "cm3": {16.387064: "cubic inches for cubic centimetres"},
    "kPa_s_per_L": {60.0: "minutes for seconds", 0.0980665: "centimetres of water for kilopascals"},
    "Pa_s_per_m3": {1e5: "dyn s/cm⁵ for Pa·s/m³"},
    "m_per_s": {3.6: "kilometres an hour for metres a second", 3.28084: "feet for metres"},
    "percent": {}, "cents": {}, "": {},
}  # fmt: skip


def slip_trials(claim: Claim, bench: Bench, found: Believed) -> Iterator[Trial]:
    """Trials of slips by which the computed value becomes another one."""
    yield from _units(claim, found)
    if claim.is_change:
        return
    for powers in (WIDTHS, HALF_WRONG):
        if (power := powers.get(claim.figure)) is not None:
            for cause, factor in ((DIAMETER_FOR_RADIUS, 2.0), (RADIUS_FOR_DIAMETER, 0.5)):
                yield _times(cause, f"{factor**power:g} times as large", factor**power, found)
    yield from _temperatures(claim, bench, found)


def _times(cause: str, how: str, factor: float, found: Believed, error: float = 0.0) -> Trial:
    value = factor * found.value
    return Trial(cause, how, value, abs(factor) * found.numerical + error * abs(value))


def _units(claim: Claim, found: Believed) -> Iterator[Trial]:
    for factor, words in POWERS_OF_TEN.items():
        yield _times(WRONG_UNIT, f"{words} times as large", factor, found)
        yield _times(WRONG_UNIT, f"{words} times as small", 1 / factor, found)
    for factor, words in UNITS.get(claim.unit, {}).items():
        yield _times(WRONG_UNIT, f"{words}, a factor of {factor:.4g}", factor, found)
        yield _times(WRONG_UNIT, f"{words}, a factor of {1 / factor:.4g}", 1 / factor, found)


def _temperatures(claim: Claim, bench: Bench, found: Believed) -> Iterator[Trial]:
    rate = bench.rate(claim.rate_L_per_s)
    if factor_of_air(claim, rate, bench.air, bench.air) is None:
        return
    for celsius in USUAL:
        kelvin = celsius + CELSIUS_ZERO
        if math.isclose(kelvin, bench.temperature, abs_tol=0.01):
            continue
        air = humid_air(kelvin, bench.relative_humidity, bench.pressure)
        factor = factor_of_air(claim, rate, bench.air, air)
        assert factor is not None
        error = 0.0 if rate else LOSSES
        how = f"{celsius:g} °C and not {bench.temperature - CELSIUS_ZERO:g} °C"
        yield _times(TEMPERATURE, how, factor, found, error)


def factor_of_air(claim: Claim, rate: EstimatedRate | None, air: Air, other: Air) -> float | None:
    """By what a figure is larger in another air; None of what hardly depends on it."""
    density = other.density / air.density
    viscosity = other.kinematic_viscosity / air.kinematic_viscosity
    speed = other.sound_speed / air.sound_speed
    if (field := split_peak(claim.figure)[1]) is not None:
        return speed if field == "frequency" else None
    if claim.figure == "dynamic pressure":
        return density
    if claim.figure == "throat Reynolds number":
        return 1 / viscosity
    if claim.figure not in (WHOLE, RESISTANCE, SLOPE) or rate is None:
        return None
    drop, slope = rate.quantity("pressure_drop"), rate.quantity("differential_resistance")
    if drop is None or slope is None or drop.value == 0:
        return None
    power = 1e3 * slope.value * rate.flow_rate_L_per_s / drop.value
    return float(density * viscosity ** (2 - power))
