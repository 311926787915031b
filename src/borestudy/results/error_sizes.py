"""How large the estimate's errors were found to be, part by part, from the shipped comparisons.

A part's error is as large as the greatest comparison error of its class on that side, less what the
numerical uncertainty explains of it, which is stated beside (and more by that of a simulation,
which is no measurement and to be held on any mesh); of what is compared with a handbook, that
counts which the handbook's own uncertainty does not explain; both by squares. It is never smaller
than the uncertainty with which the mean of what was measured is known, the root of 1 / sum(1/u²);
nor than a third of the other side, of which few comparisons say little. A whole bore's error counts
as the backbore's, less what its entry and throat have in it; an orifice's as the enlargement's,
less what laminar flow has. The truth is the estimate less the comparison error E, so that rows with
E < 0 say how far above the estimate it may lie.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from math import hypot

import numpy as np
from numpy.typing import NDArray

from borestudy.results.comparison_errors import ComparisonError, shipped_comparisons

MEASUREMENT, HANDBOOK, SIMULATION = "measurement", "handbook", "simulation"
#: A square edge's drop is compared to a place behind the vena contracta, and to one in it
#: [throat diameters from the edge].
REATTACHED, CONTRACTED = 2.5, 0.5
#: Up to this angle [degrees] handbooks have the flow of a cone stay on the wall.
ATTACHED = 10.0
ENLARGEMENT = 180.0
#: Up to where laminar solutions were found right, and from where on errors are those of flow that
#: breaks up inside the bore, as a jet was seen to do from 1500 on; throat Reynolds numbers.
STEADY, BROKEN = 1100.0, 1600.0
#: Factor of the greatest error of a class.
ROUNDED_UP = 1.001
#: Least share of the other side; in slow cones that is 0.025 q, about the standard error of what
#: six handbooks say on average.
LEAST_SIDE = 1 / 3
#: Error of laminar flow as a share of the drop: geometry and steadiness, the equations being exact.
#: The simulation at 1116 is 1 % off.
LAMINAR_SHARE = 0.025
#: Errors in the backbore are scaled to this Reynolds number, and fall from the other on.
SCALED_TO, FALLING_FROM = 5000.0, 2000.0
#: A bore is outside what was compared where it is by more than this share.
NEAR = 0.02
#: Above this throat Reynolds number nothing is compared with.
HIGHEST = 2e4
#: Least error of a well rounded entry, by which handbooks differ at least, and of the friction in
#: a throat diameter, 4 % of the drop into a throat of 10 behind a cone at 6500 [q].
ROUND_ENTRY, THROAT_FRICTION = 0.01, 0.004


@dataclass(frozen=True)
class Sides:
    """How far below and above the estimate the truth may lie, both at least 0, at about 95 %."""

    low: float
    high: float

    def __mul__(self, factor: float) -> "Sides":
        return Sides(self.low * factor, self.high * factor)

    def __add__(self, other: "Sides") -> "Sides":
        return Sides(self.low + other.low, self.high + other.high)

    @property
    def mean(self) -> float:
        """Half of the width."""
        return 0.5 * (self.low + self.high)


def share(part: float) -> float:
    """Rise smoothly from 0 to 1 where the part does."""
    bounded = min(max(part, 0.0), 1.0)
    return bounded * bounded * (3 - 2 * bounded)


def joined(sides: Iterable[Sides]) -> Sides:
    """Root of the squares of independent errors, each side by itself."""
    found = list(sides)
    return Sides(hypot(*(one.low for one in found)), hypot(*(one.high for one in found)))


def blend(pair: tuple[Sides, Sides], edge: float) -> Sides:
    """Of a rounded and a square edge, in proportion to how sharp it is."""
    return pair[0] * (1 - edge) + pair[1] * edge


@dataclass(frozen=True)
class Range:
    """Least and greatest value that was compared."""

    least: float
    greatest: float

    def growth(self, value: float) -> float:
        """Factor of an error outside: 1 + ln of how many times the value is beyond an end."""
        below = self.least / value if value > 0 else 1.0
        return 1 + float(np.log(max(value / self.greatest, below, 1.0)))

    def holds(self, value: float) -> bool:
        """Whether a value lies inside, or next to it."""
        return self.least * (1 - NEAR) <= value <= self.greatest * (1 + NEAR)


@dataclass(frozen=True)
class Sizes:
    """Errors by part in dynamic pressures of the throat [q], and the ranges that were compared.

    Attributes
    ----------
    entry : (Sides, Sides)
        Of a rounded and of a square edge, as far as the throat's flow is back on the wall.
    contraction : Sides
        Up to the vena contracta behind a square edge.
    friction, friction_after_edge : Sides
        For each throat diameter; and for each behind `REATTACHED`, more after a square edge.
    cones : two of (float, Sides)
        Mean angle [degrees] and error of cones that handbooks have the flow follow, and of wider
        ones, in the ideal recovery at `SCALED_TO`.
    enlargement : Sides
        Of a sudden enlargement, likewise.
    angles, throats, areas : Range
        Angles of cones [degrees], lengths of throats [diameters], area ratios behind them.
    reynolds : mapping of str to float
        Greatest throat Reynolds number of the throat, the cone and the enlargement.
    """

    entry: tuple[Sides, Sides]
    contraction: Sides
    friction: Sides
    friction_after_edge: Sides
    cones: tuple[tuple[float, Sides], tuple[float, Sides]]
    enlargement: Sides
    angles: Range
    throats: Range
    areas: Range
    reynolds: dict[str, float]

    def cone(self, angle: float) -> Sides:
        """Error of the recovery in a cone, between the two classes in proportion to the angle."""
        (slow, first), (wide, last) = self.cones
        share = float(np.clip((angle - slow) / (wide - slow), 0, 1))
        return first * (1 - share) + last * share


def falling(reynolds: float) -> float:
    """Factor of the errors behind the throat, Re to the power -1/3.

    In the nozzle's cone the error fell faster, from 0.18 q at 3500 to 0.07 at 5000.
    """
    return float((SCALED_TO / max(reynolds, FALLING_FROM)) ** (1 / 3))


def ideal_recovery(area_ratio: float) -> float:
    """Pressure that a lossless widening regains [q]."""
    return max(1 - area_ratio**-2, 0.0)


def size_of(
    rows: Sequence[ComparisonError],
    units: Sequence[float] | None = None,
    rest: Sequence[Sides] | None = None,
    least: float = 0.0,
) -> Sides:
    """Error of one class from its rows, each less the rest and scaled by its unit."""
    if not rows:
        return Sides(least, least)
    scales = np.array(units if units is not None else np.ones(len(rows)))
    errors = np.array([row.error for row in rows])
    numerical = np.array([row.estimate_uncertainty for row in rows])
    unsure = np.array([row.measured_uncertainty for row in rows])
    measured = np.array([row.kind == MEASUREMENT for row in rows])
    exact = np.array([row.kind == SIMULATION for row in rows])
    book = np.array([row.kind == HANDBOOK for row in rows])
    floor = least
    if measured.any():
        floor = max(float(np.sum((unsure / scales)[measured] ** -2.0) ** -0.5), least)
    beyond = np.sqrt(np.maximum(errors**2 - (book * unsure) ** 2, 0))
    left = np.sqrt(np.maximum(beyond**2 - numerical**2, 0))
    seen = np.sign(errors) * np.where(exact, beyond + numerical, left)
    others = rest or [Sides(0.0, 0.0)] * len(rows)
    low = _greatest(seen, [one.low for one in others], scales, floor)
    high = _greatest(-seen, [one.high for one in others], scales, floor)
    return Sides(max(low, high * LEAST_SIDE), max(high, low * LEAST_SIDE))


def _greatest(errors: NDArray, rest: Sequence[float], scales: NDArray, floor: float) -> float:
    """Greatest error on one side, of which the rest explains a part, rounded up."""
    left = np.maximum(errors, 0) ** 2 - np.array(rest) ** 2
    return max(ROUNDED_UP * float((np.sqrt(np.maximum(left, 0)) / scales).max()), floor)


def sizes_from(comparisons: Iterable[ComparisonError]) -> Sizes:
    """Errors by part from a table's rows."""
    rows = [row for row in comparisons if row.throat_reynolds <= HIGHEST]
    sudden = [row for row in rows if row.cone_angle_deg == ENLARGEMENT]
    entries = [row for row in rows if row.part == "entry" and row not in sudden]
    turbulent = [row for row in entries if row.turbulent_share > 0.5]
    square = [row for row in turbulent if row.sharpness > 0.5]
    narrowest = [row for row in entries if 0 < row.throat_length_D < 1 and row.sharpness > 0.5
                 and row.throat_reynolds >= BROKEN]  # fmt: skip
    smooth = [row for row in turbulent if row.sharpness <= 0.5]
    frictions = [row for row in rows if row.part == "throat friction"]
    rough = [row for row in frictions if row.sharpness > 0.5 and row.throat_length_D > REATTACHED]
    straight = [row for row in frictions if row not in rough]
    wholes = [row for row in rows if row.part == "whole"]
    cones = [row for row in rows if 0 < row.cone_angle_deg < ENLARGEMENT
             and row.part in ("slow cone", "whole")]  # fmt: skip
    entry = (
        size_of(smooth, least=ROUND_ENTRY),
        size_of(
            [row for row in square if row.throat_length_D == REATTACHED or row.kind == HANDBOOK]
        ),
    )
    friction = size_of(straight, [row.throat_length_D for row in straight], least=THROAT_FRICTION)
    after_edge = size_of(rough, [row.throat_length_D - REATTACHED for row in rough])

    def before(row: ComparisonError) -> Sides:
        length, edge = row.throat_length_D, row.sharpness
        if row.cone_angle_deg == ENLARGEMENT:
            size = LAMINAR_SHARE * abs(row.estimate) * (1 - share(row.turbulent_share))
            return Sides(size, size)
        if row.part != "whole":
            return Sides(0.0, 0.0)
        longer = max(length - REATTACHED, 0.0)
        return joined([blend(entry, edge), friction * length, after_edge * (edge * longer)])

    def recovery(of: Sequence[ComparisonError]) -> tuple[float, Sides]:
        units = [falling(row.throat_reynolds) * ideal_recovery(row.area_ratio) for row in of]
        angle = float(np.mean([row.cone_angle_deg for row in of]))
        return angle, size_of(of, units, [before(row) for row in of])

    broken = [row for row in cones if row.throat_reynolds >= BROKEN]
    return Sizes(
        entry=entry,
        contraction=size_of(narrowest),
        friction=friction,
        friction_after_edge=after_edge,
        cones=(
            recovery([row for row in broken if row.cone_angle_deg <= ATTACHED]),
            recovery([row for row in broken if row.cone_angle_deg > ATTACHED]),
        ),
        enlargement=recovery(sudden)[1],
        angles=_range(row.cone_angle_deg for row in cones),
        throats=_range(row.throat_length_D for row in wholes),
        areas=_range(row.area_ratio for row in [*cones, *sudden]),
        reynolds={
            "throat": max(row.throat_reynolds for row in rows if row.part == "entry"),
            "cone": max(row.throat_reynolds for row in cones),
            "enlargement": max(row.throat_reynolds for row in sudden),
        },
    )


def _range(values: Iterable[float]) -> Range:
    found = list(values)
    return Range(min(found), max(found))


@cache
def shipped_sizes() -> Sizes:
    """Errors by part from the comparisons that ship with the program."""
    return sizes_from(shipped_comparisons())
