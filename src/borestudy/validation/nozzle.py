"""The open nozzle benchmark: the computed flow against what laboratories measured in it.

A pipe of 12 mm, a square edge (z = 0), a throat of 4 mm by 40 mm, a cone of 20° and the pipe.
Pressures are those of taps in the wall, in units of the throat's dynamic pressure q, each segment
between two taps by itself: over the whole nozzle errors partly cancel.  The best estimate and the
two extreme models, which stand beside it, are compared by the same rule: a segment passes within
the laboratories' own range and the allowed error of its part together.  Neither depends on what was
computed.  Friction between two taps in the throat may be off by as much as the drop to the throat's
end, of which it is a part, and the cone by as much as the whole.  From 3500 on the laminar solution
is beyond its range, which stands beside its verdict and does not replace it.  The handbooks' span
up to the throat's end is judged at 3500; at 5000 the friction in it is from these very taps.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import hypot
from pathlib import Path

from borestudy.bore import Bore
from borestudy.bore.segment import polyline
from borestudy.closed_form.handbook import Dimensions, pressure_drop_to_throat_end
from borestudy.closed_form.nozzle_taps import FRICTION_REYNOLDS, SOURCE, TAP_DROPS
from borestudy.flow.regime import LAMINAR_PIPE_BELOW
from borestudy.quantity import Quantity
from borestudy.results.check import Check
from borestudy.results.comparison_errors import ComparisonError
from borestudy.validation.comparing import ENTRY_SHARE, WHOLE_SHARE, compared
from borestudy.validation.ladder import Curve, Solved, quantity_of, solve_ladder

#: Throat Reynolds numbers that each model is solved at.
REYNOLDS: dict[str, tuple[float, ...]] = {
    "estimate": (500.0, 2000.0, 3500.0, 5000.0),
    "laminar": (500.0, 2000.0, 3500.0, 5000.0),
    "turbulent": (5000.0,),
}
#: Meshes of each model: three show the order that the estimate's drops converge with, the finest a
#: study's own finest one; two coarser ones do for what stands beside it.
MESHES = {"estimate": ("coarse", 3), "laminar": ("draft", 2), "turbulent": ("draft", 2)}
#: Velocity on the axis over the throat's mean at z [mm]; the pressures there are good to 1 q only.
CENTRE_VELOCITY = {
    500.0: {0.0: 0.95, 4.0: 1.36, 32.0: 1.83, 40.0: 1.87, 72.0: 1.49, 100.0: 1.29},
}
#: Permitted deviation of a velocity on the axis, measured by particle image velocimetry: what
#: laboratories differ by, from memory.
VELOCITY_SHARE = 0.08
#: Throat diameter and cone's length [mm], and the square edge's place [throat diameters].
DIAMETER_MM, CONE_MM, EDGE = 4.0, 22.685, 10.0
#: The nozzle as the handbooks see it.
SQUARE_EDGED = Dimensions(
    cup_diameter=12e-3,
    throat_diameter=4e-3,
    outlet_diameter=12e-3,
    throat_length=40e-3,
    backbore_length=22.685e-3,
)
#: The taps between which the handbooks' span is stated.
TO_THROAT_END = (-32.0, 40.0)
#: The whole nozzle's taps, and each segment's part with the drop's place behind the edge [throat
#: diameters] where it is not the throat's end.
WHOLE = (-32.0, 90.0)
PART_OF = {
    (-32.0, 2.03): ("entry", 2.03 / DIAMETER_MM),
    (-32.0, 10.0): ("entry", 10 / DIAMETER_MM),
    TO_THROAT_END: ("entry", None),
    (10.0, 40.0): ("throat friction", None),
    (40.0, 90.0): ("slow cone", None),
    WHOLE: ("whole", None),
}
#: What is kept of the lines along the nozzle, z [mm].
SHOWN_MM = (-40.0, 105.0)
#: Mean, least and greatest of the laboratories.
Triple = tuple[float, float, float]
SPAN_HOLDS, SPAN_FAILS = "holds", "does not hold"
SPAN_NOT_TESTED = "not a test: its friction is from these taps"


@dataclass(frozen=True)
class NozzleAtRate:
    """One Reynolds number: wall pressure [q] on each mesh and velocity on the axis [U], by z [mm].

    Both are empty where there is no steady solution.
    """

    reynolds: float
    wall: tuple[Curve, ...]
    axis: tuple[Curve, ...]


@dataclass(frozen=True)
class NozzleFlow(Solved):
    """The benchmark's flow by one model."""

    model: str
    rates: tuple[NozzleAtRate, ...]


@dataclass(frozen=True)
class Comparison:
    """A segment or a place by one model beside its measurement; `check` holds the verdict.

    `measured` is the laboratories' mean, least and greatest, `taps` the two of a segment; the span
    is the handbooks', where one is stated.
    """

    model: str
    reynolds: float
    z_mm: float
    check: Check
    measured: Triple
    taps: tuple[float, float] | None = None
    span: tuple[float, float] | None = None
    span_verdict: str | None = None

    @property
    def row(self) -> dict[str, str | float | None]:
        """The comparison as a row of the table."""
        mean, low, high = self.measured
        beyond = self.model == "laminar" and self.reynolds > LAMINAR_PIPE_BELOW
        return {
            "model": self.model,
            "throat_reynolds": self.reynolds,
            "quantity": self.check.quantity,
            "unit": self.check.unit,
            "z_mm": self.z_mm,
            "computed": self.check.computed,
            "uncertainty": self.check.uncertainty,
            "measured": mean,
            "measured_low": low,
            "measured_high": high,
            "deviation": self.check.computed - mean,
            "verdict": self.check.verdict,
            "validity": "laminar solution beyond its range" if beyond else "within its range",
            "span_low": self.span[0] if self.span else None,
            "span_high": self.span[1] if self.span else None,
            "span_verdict": self.span_verdict,
            "source": SOURCE,
        }


def nozzle_bore() -> Bore:
    """The nozzle in throat diameters; its pipes end where what lies beyond no longer acts."""
    cone, pipe = EDGE + 10, EDGE + 10 + CONE_MM / DIAMETER_MM
    cup = polyline((0.0, 1.5), (EDGE, 1.5, "cup"), (EDGE, 0.5, "cup"))
    legs = [(cone, 0.5, "throat"), (pipe, 1.5, "backbore"), (pipe + 25, 1.5, "pipe")]
    return Bore([*cup, *polyline((EDGE, 0.5), *legs)])


def solve_nozzle(
    model: str,
    directory: Path,
    resolution: str | None = None,
    levels: int | None = None,
    reynolds: Sequence[float] | None = None,
) -> NozzleFlow:
    """Solve the nozzle with one model, by default on its `MESHES` and at its measured rates."""
    usual, count = MESHES[model]
    resolution, levels = resolution or usual, levels or count
    numbers = REYNOLDS[model] if reynolds is None else reynolds
    ladders = solve_ladder(
        nozzle_bore(), model, numbers, directory, "nozzle", "developed", resolution, levels,
        refuse=False,
    )  # fmt: skip

    def kept(lines: Iterable[Curve]) -> tuple[Curve, ...]:
        return tuple(line.moved(EDGE, 0.0, DIAMETER_MM).between(*SHOWN_MM) for line in lines)

    rates = []
    for number, solutions in zip(numbers, ladders, strict=True):
        wall, axis = (one.wall for one in solutions), (one.axis for one in solutions)
        rates.append(NozzleAtRate(number, kept(wall), kept(axis)))
    return NozzleFlow(model, tuple(rates))


def compare_nozzle(flow: NozzleFlow) -> list[Comparison]:
    """Compare every measured segment and velocity with the model's, solved or not."""
    model, found = flow.model, []
    for rate in flow.rates:
        velocities = CENTRE_VELOCITY.get(rate.reynolds, {}).items()
        found += [compare_velocity(model, rate, place, speed) for place, speed in velocities]
        drops = TAP_DROPS.get(rate.reynolds, {}).items()
        found += [compare_segment(model, rate, taps, measured) for taps, measured in drops]
    return found


def compare_velocity(model: str, rate: NozzleAtRate, place: float, measured: float) -> Comparison:
    """Compare the velocity on the axis at a place z [mm]."""
    share = VELOCITY_SHARE
    computed = quantity_of([line.at(place) for line in rate.axis] or [float("nan")])
    name = f"open nozzle benchmark, {model}, Re {rate.reynolds:.0f}"
    quantity = f"axial velocity on the axis, z = {place:g} mm"
    found, error = computed.value, computed.uncertainty
    check = Check(name, quantity, "U", found, measured, 100 * share, SOURCE, error)
    span = (measured, measured * (1 - share), measured * (1 + share))
    return Comparison(model, rate.reynolds, place, check, span)


def allowed(taps: tuple[float, float], drops: Mapping[tuple[float, float], Triple]) -> float:
    """Allowed error of the drop between two taps [q], from what was measured alone."""
    first, last = taps
    if last > TO_THROAT_END[1]:
        return WHOLE_SHARE * drops[WHOLE][0]
    return ENTRY_SHARE * drops[taps if first == WHOLE[0] else TO_THROAT_END][0]


def compare_segment(
    model: str, rate: NozzleAtRate, taps: tuple[float, float], measured: Triple
) -> Comparison:
    """Compare the pressure difference between two taps at z [mm].

    The measured uncertainty is the farther end of the laboratories' range from their mean.
    """
    mean = measured[0]
    first, last = taps
    ladder = [line.at(first) - line.at(last) for line in rate.wall]
    computed = quantity_of(ladder or [float("nan")], "q")
    tolerance = hypot(uncertainty(measured), allowed(taps, TAP_DROPS[rate.reynolds]))
    name = f"open nozzle benchmark, {model}, Re {rate.reynolds:.0f}"
    quantity = f"p({first:g} mm) - p({last:g} mm)"
    found, error = computed.value, computed.uncertainty
    percent = 100 * tolerance / abs(mean)
    check = Check(name, quantity, "q", found, mean, percent, SOURCE, error)
    if taps != TO_THROAT_END or rate.reynolds <= LAMINAR_PIPE_BELOW:
        return Comparison(model, rate.reynolds, last, check, measured, taps)
    span = pressure_drop_to_throat_end(SQUARE_EDGED, rate.reynolds)
    verdict = SPAN_HOLDS if span.low <= mean <= span.high else SPAN_FAILS
    if rate.reynolds == FRICTION_REYNOLDS:
        verdict = SPAN_NOT_TESTED
    ends = span.low, span.high
    return Comparison(model, rate.reynolds, last, check, measured, taps, ends, verdict)


def uncertainty(measured: Triple) -> float:
    """The farther end of the laboratories' range from their mean."""
    mean, low, high = measured
    return max(mean - low, high - mean)


def nozzle_checks(flow: NozzleFlow) -> list[Check]:
    """The checks of the best estimate; the two extreme models are shown and not judged by it."""
    return [found.check for found in compare_nozzle(flow)] if flow.model == "estimate" else []


def nozzle_errors(flow: NozzleFlow) -> list[ComparisonError]:
    """The estimate's segments as comparison errors."""
    bore, rows = nozzle_bore(), []
    for found in compare_nozzle(flow) if flow.model == "estimate" else []:
        if found.taps is None:
            continue
        part, to = PART_OF[found.taps]
        words = f"open nozzle, square edge first, {found.check.quantity}"
        computed = Quantity(found.check.computed, found.check.uncertainty, "q")
        measured = found.measured[0], uncertainty(found.measured)
        rows.append(
            compared(
                part, words, "measurement", found.reynolds, bore, computed, measured, SOURCE, to
            )
        )
    return rows
