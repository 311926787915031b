"""The open nozzle benchmark the other way round: a cone of 20°, the throat, a sudden expansion.

The jet behind the throat is measured by particle image velocimetry on its axis, z = 0 at the
expansion.  From a throat of 10 diameters behind a cone, and in air or liquid as still as in a
laboratory, it breaks up late: what this compares is the place where it does.

A velocity passes within 10 %, which laboratories are stated to differ by at most places, or within
their range where that is wider.  The place where the jet is half broken up passes between the two
where it was seen whole and broken up, and as far outside as the place of transition is stated to be
known, a factor of 1.4, both together as the root of their squares.
"""

from dataclasses import dataclass
from math import hypot
from pathlib import Path

import numpy as np

from borestudy.bore import Bore
from borestudy.bore.segment import polyline
from borestudy.closed_form.nozzle_taps import JET_SOURCE, JET_VELOCITY, Triple
from borestudy.results.check import Check
from borestudy.results.error_parts import PLACE_FACTOR
from borestudy.validation.ladder import Curve, Solved, quantity_of, solve_ladder
from borestudy.validation.nozzle import CONE_MM, DIAMETER_MM

#: Throat Reynolds numbers, all measured ones.
REYNOLDS = (500.0, 2000.0, 3500.0)
#: The throat, and the pipe behind the expansion [throat diameters]; the developed flow of the pipe
#: before the cone comes in where the cone begins.
THROAT, BEHIND = 10.0, 40.0
EXPANSION = CONE_MM / DIAMETER_MM + THROAT
VELOCITY_SHARE = 0.10
#: The jet at 3500 is whole at the first place and broken up at the second [throat diameters].
BREAKS_UP = {3500.0: (8.0, 15.0)}


@dataclass(frozen=True)
class JetAtRate:
    """Velocity on the axis [U] on each mesh against z [throat diameters]; empty if not steady."""

    reynolds: float
    axis: tuple[Curve, ...]


@dataclass(frozen=True)
class JetFlow(Solved):
    """The best estimate at every Reynolds number."""

    rates: tuple[JetAtRate, ...]


def reversed_bore() -> Bore:
    """The nozzle in throat diameters, cone first."""
    cup = polyline((0.0, 1.5), (EXPANSION - THROAT, 0.5, "cup"))
    legs = [(EXPANSION, 0.5, "throat"), (EXPANSION, 1.5, "backbore")]
    end = (EXPANSION + BEHIND, 1.5, "backbore")
    return Bore([*cup, *polyline((EXPANSION - THROAT, 0.5), *legs, end)])


def solve_reversed(directory: Path) -> JetFlow:
    """Solve the best estimate at each Reynolds number."""
    ladders = solve_ladder(
        reversed_bore(),
        "estimate",
        REYNOLDS,
        directory,
        "reversed",
        "developed",
        resolution="coarse",
        refuse=False,
    )
    return JetFlow(
        tuple(
            JetAtRate(number, tuple(one.axis.moved(EXPANSION, 0.0) for one in solutions))
            for number, solutions in zip(REYNOLDS, ladders, strict=True)
        )
    )


def half_way(axis: Curve) -> float:
    """Where the velocity has fallen half-way from the expansion's to that of the filled pipe."""
    half = 0.5 * (axis.at(0.0) + (DIAMETER_MM / 12.0) ** 2)
    behind = axis.between(0.0, np.inf)
    below = np.flatnonzero(np.array(behind.value) < half)
    if not len(below):
        return behind.position[-1]
    after = int(below[0])
    places, speeds = (np.array(of[after - 1 : after + 1]) for of in (behind.position, behind.value))
    return float(np.interp(half, speeds[::-1], places[::-1]))


def reversed_checks(found: JetFlow) -> list[Check]:
    """The verdict on each measured velocity, and on the place where the jet breaks up."""
    checks = []
    for rate in found.rates:
        name = f"open nozzle benchmark, cone first, Re {rate.reynolds:.0f}"
        for place, measured in JET_VELOCITY[rate.reynolds].items():
            computed = quantity_of([line.at(place) for line in rate.axis] or [float("nan")])
            words = f"axial velocity on the axis, {place:g} throat diameters from the expansion"
            checks.append(
                Check(
                    name, words, "U", computed.value, measured[0], tolerance(measured), JET_SOURCE,
                    computed.uncertainty,
                )
            )  # fmt: skip
        if rate.reynolds in BREAKS_UP:
            whole, broken = BREAKS_UP[rate.reynolds]
            middle = 0.5 * (whole + broken)
            computed = quantity_of([half_way(line) for line in rate.axis] or [float("nan")])
            words = "where the jet is half broken up, throat diameters from the expansion"
            share = 100 * hypot((broken - middle) / middle, PLACE_FACTOR - 1)
            checks.append(
                Check(
                    name, words, "D", computed.value, middle, share, JET_SOURCE,
                    computed.uncertainty,
                )
            )  # fmt: skip
    return checks


def tolerance(measured: Triple) -> float:
    """Permitted deviation of a velocity [percent]."""
    mean, least, greatest = measured
    return 100 * max(VELOCITY_SHARE, (greatest - mean) / mean, (mean - least) / mean)
