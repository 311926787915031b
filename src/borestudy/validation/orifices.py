"""Long square-edged orifices in a wide pipe against the measurements of Lichtarowicz et al. 1965.

The drop is that between the pipe before and the plane of the sudden enlargement behind, of which
the pressure is read on the wide pipe's wall next to the step: nothing is recovered there yet.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from borestudy.bore import Bore
from borestudy.bore.segment import polyline
from borestudy.closed_form.long_orifice import SOURCE, pressure_drop
from borestudy.quantity import Quantity
from borestudy.results.check import Check
from borestudy.results.comparison_errors import ComparisonError
from borestudy.validation.comparing import ORIFICE_SHARE, check_of, compared
from borestudy.validation.ladder import FlowOnMesh, Solved, quantity_of, solve_ladder

LENGTHS = (2.0, 4.0, 10.0)
REYNOLDS = (500.0, 1e3, 2e3, 3.5e3, 5e3, 7e3, 1e4, 1.5e4)
#: Meshes of each length, two each: those on which steady solutions are found up to 15 000.
RESOLUTION = {2.0: "coarse", 4.0: "draft", 10.0: "coarse"}
#: Radius of the pipe, its length before and behind, and its area ratio.
PIPE_RADIUS, BEFORE, BEHIND = 2.0, 4.0, 10.0
AREA_RATIO = (0.5 / PIPE_RADIUS) ** 2
#: Taps: from the rim plane, and behind the step.
UPSTREAM_TAP, STEP_TAP = 1.5, 0.3


@dataclass(frozen=True)
class OrificeDrop:
    """Pressure drop [q] over an orifice of a length [its diameters] at a Reynolds number.

    It is None where there is no steady solution.
    """

    length: float
    reynolds: float
    drop: Quantity | None


@dataclass(frozen=True)
class OrificeDrops(Solved):
    """Every orifice at every Reynolds number."""

    orifices: tuple[OrificeDrop, ...]


def orifice_bore(length: float) -> Bore:
    """A square-edged hole of diameter 1 between two wide pipes."""
    end = BEFORE + length
    cup = polyline((0.0, PIPE_RADIUS), (BEFORE, PIPE_RADIUS, "cup"), (BEFORE, 0.5, "cup"))
    legs = [(end, 0.5, "throat"), (end, PIPE_RADIUS, "backbore")]
    return Bore([*cup, *polyline((BEFORE, 0.5), *legs, (end + BEHIND, PIPE_RADIUS, "backbore"))])


def solve_orifices(
    directory: Path,
    lengths: Sequence[float] = LENGTHS,
    reynolds: Sequence[float] = REYNOLDS,
) -> OrificeDrops:
    """Solve the estimate of each orifice at each Reynolds number."""
    found = []
    for length in lengths:
        bore, name = orifice_bore(length), f"orifice-{length:g}"
        ladders = solve_ladder(
            bore,
            "estimate",
            reynolds,
            directory,
            name,
            resolution=RESOLUTION[length],
            refuse=False,
        )
        for number, solutions in zip(reynolds, ladders, strict=True):
            drops = [drop(solution, length) for solution in solutions]
            found.append(OrificeDrop(length, number, quantity_of(drops, "q") if drops else None))
    return OrificeDrops(tuple(found))


def drop(solution: FlowOnMesh, length: float) -> float:
    """Pressure at the upstream tap less that next to the step."""
    return solution.wall.at(UPSTREAM_TAP) - solution.wall.at(BEFORE + length + STEP_TAP)


def orifice_errors(found: OrificeDrops) -> list[ComparisonError]:
    """The comparison with the correlation."""
    rows = []
    for one in found.orifices:
        known, least, greatest = pressure_drop(one.reynolds, one.length, AREA_RATIO)
        measured = known, max(known - least, greatest - known)
        rows.append(
            compared(
                "entry", f"long orifice, L/D {one.length:g}", "measurement", one.reynolds,
                orifice_bore(one.length), one.drop or Quantity(float("nan"), None, "q"), measured,
                SOURCE,
            )
        )  # fmt: skip
    return rows


def orifice_checks(found: OrificeDrops) -> list[Check]:
    """The verdict on every drop."""
    words = "pressure drop to the plane of the enlargement"
    return [check_of(row, words, ORIFICE_SHARE * row.measured) for row in orifice_errors(found)]
