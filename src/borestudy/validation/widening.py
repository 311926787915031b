"""Flow that widens: at once, as a sudden expansion, and slowly, in a cone."""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from fluids import fittings

from borestudy.bore import Bore
from borestudy.bore.segment import polyline
from borestudy.closed_form.handbook import DIFFUSER_METHODS
from borestudy.quantity import Quantity
from borestudy.results.check import Check
from borestudy.results.comparison_errors import ComparisonError
from borestudy.validation.comparing import compared
from borestudy.validation.ladder import Curve, FlowOnMesh, Solved, quantity_of, solve_ladder

EXPANSION_REYNOLDS = 2e4
#: Where the expansion's edge is, and a cone's beginning [throat diameters].
EDGE, CONE_START = 15.0, 20.0
#: Recovery without any loss for twice the diameter, and after a sudden expansion's loss, in q.
IDEAL, BORDA_CARNOT = 1 - 1 / 16, (1 - 1 / 4) ** 2
#: Permitted deviation of the sudden expansion's loss: 2 % that the closed form leaves to the
#: profile (momentum factors up to 1.02, of a one-seventh power law), 3 % to the face's pressure.
EXPANSION_PERCENT = 5.0
#: Permitted deviation of a cone's recovery: four of six handbooks agree within 2 %, the other two
#: are 14 % and 27 % lower; a bore's answer can bear 5 %, which is 0.04 q.  For a backbore's cone
#: they differ among themselves by more, and half of their spread is allowed beside it.
RECOVERY_PERCENT = 5.0
LAW = "Borda 1766, Carnot 1803: (1 - A1/A2)^2"


@dataclass(frozen=True)
class Cone:
    """A cone behind a developed pipe: included angle [degrees], diameters, Reynolds number.

    `spread` says whether half of the handbooks' spread is allowed as well.
    """

    angle: float
    diameter_ratio: float
    reynolds: float
    spread: bool = True

    @property
    def length(self) -> float:
        """Length of the cone [throat diameters]."""
        return float(0.5 * (self.diameter_ratio - 1) / np.tan(np.radians(self.angle / 2)))

    @property
    def ideal(self) -> float:
        """Recovery without any loss [q]."""
        return 1 - self.diameter_ratio**-4

    @property
    def name(self) -> str:
        """Words for a table."""
        return f"conical diffuser 1:{self.diameter_ratio:g}, {self.angle:g} degrees"

    @property
    def handbook_losses(self) -> list[float]:
        """Loss coefficient of each handbook."""
        given = {"l": self.length, "Re": self.reynolds}
        return [
            float(fittings.diffuser_conical(1.0, self.diameter_ratio, **given, method=method))
            for method in DIFFUSER_METHODS
        ]

    @property
    def half_spread(self) -> float:
        """Half of what the handbooks' losses differ by."""
        return 0.5 * (max(self.handbook_losses) - min(self.handbook_losses))

    @property
    def bore(self) -> Bore:
        """The pipe, the cone and the pipe behind it."""
        begin, wide = CONE_START, 0.5 * self.diameter_ratio
        stop, end = self.stop, self.end
        legs = [(1.0, 0.5, "throat"), (begin, 0.5, "backbore"), (stop, wide, "backbore")]
        return Bore(polyline((0.0, 0.5), *legs, (end + 2, wide, "pipe")))

    @property
    def stop(self) -> float:
        """Where the cone ends."""
        return CONE_START + self.length

    @property
    def end(self) -> float:
        """Where what is read of the pipe behind it ends: eleven of its diameters."""
        return self.stop + 11 * self.diameter_ratio


#: The first is drawn; the others are as a backbore is, at the least Reynolds number of any
#: measurement that handbooks rest on (McDonald & Fox 1966) and above.
CONES = (Cone(7.0, 2.0, 5e4, spread=False), Cone(4.3, 2.45, 7.5e3), Cone(4.3, 2.45, 2e4))


@dataclass(frozen=True)
class Widening:
    """Loss coefficient, and the pressure [q] along the wall from where the bore widens."""

    loss: Quantity
    wall: Curve


@dataclass(frozen=True)
class Widenings(Solved):
    """The sudden expansion to twice the diameter, and each of `CONES`."""

    expansion: Widening
    cones: tuple[Widening, ...]


def expansion_bore() -> Bore:
    """A long pipe and one of twice the diameter."""
    legs = [(EDGE, 0.5, "throat"), (EDGE, 1.0, "backbore"), (EDGE + 40, 1.0, "backbore")]
    return Bore(polyline((0.0, 0.5), *legs))


def solve_widenings(directory: Path) -> Widenings:
    """Solve the best estimate of each; the pipes before them are turbulent from their inlet on."""
    (wide,) = solve_ladder(
        expansion_bore(),
        "estimate",
        [EXPANSION_REYNOLDS],
        directory,
        "expansion",
        resolution="draft",
        levels=3,
    )
    shown = (EDGE - 5, EDGE + 40)
    step = widening(wide, IDEAL, (EDGE, EDGE), (10.0, 14.0), (EDGE + 25, EDGE + 38), shown)
    cones = []
    for number, cone in enumerate(CONES):
        (found,) = solve_ladder(
            cone.bore,
            "estimate",
            [cone.reynolds],
            directory,
            f"cone-{number}",
            resolution="draft",
            levels=3,
            stretch=1.0,
        )
        begin, stop, end = CONE_START, cone.stop, cone.end
        after = (stop + 0.55 * (end - stop), end)
        cones.append(
            widening(
                found, cone.ideal, (begin, stop), (begin - 6, begin - 1), after, (begin - 5, end)
            )
        )
    return Widenings(step, tuple(cones))


def widening(
    solutions: list[FlowOnMesh],
    ideal: float,
    ends: tuple[float, float],
    before: tuple[float, float],
    after: tuple[float, float],
    shown: tuple[float, float],
) -> Widening:
    """Read the loss between two developed stretches, each extrapolated to an end of the widening.

    The pipes' own friction is taken along the stretches before and after it, and the stretch to be
    shown is kept for the figure [throat diameters]; the solutions are coarsest first, `ideal` is
    the recovery without any loss.
    """
    ladder = []
    for solution in solutions:
        (slope, first), (slope_after, last) = solution.wall.fit(*before), solution.wall.fit(*after)
        start = first + slope * ends[0]
        ladder.append(ideal - (last + slope_after * ends[1] - start))
    wall = solutions[-1].wall.between(*shown).moved(ends[0], start)
    return Widening(quantity_of(ladder, "q"), wall)


def expansion_check(loss: Quantity) -> Check:
    """The sudden expansion's loss beside Borda's and Carnot's."""
    name = f"sudden expansion 1:2, Re {EXPANSION_REYNOLDS:.0f}"
    found, error = loss.value, loss.uncertainty
    return Check(name, "loss coefficient", "1", found, BORDA_CARNOT, EXPANSION_PERCENT, LAW, error)


def recovery_check(cone: Cone, loss: Quantity) -> Check:
    """A cone's pressure rise, which is what a bore's drop consists of."""
    known = cone.ideal - float(np.median(cone.handbook_losses))
    source = f"median of {', '.join(DIFFUSER_METHODS)} in fluids.fittings"
    found, error = cone.ideal - loss.value, loss.uncertainty
    name = f"{cone.name}, Re {cone.reynolds:.0f}"
    spread = 100 * cone.half_spread / known if cone.spread else 0.0
    percent = float(np.hypot(RECOVERY_PERCENT, spread))
    return Check(name, "pressure recovery", "q", found, known, percent, source, error)


def widening_checks(found: Widenings) -> list[Check]:
    """Compare the expansion's loss with Borda and Carnot, the cones' recovery with handbooks."""
    cones = zip(CONES, found.cones, strict=True)
    return [
        expansion_check(found.expansion.loss),
        *(recovery_check(cone, wide.loss) for cone, wide in cones),
    ]


def widening_errors(found: Widenings) -> list[ComparisonError]:
    """The drops over both as comparison errors, which are less than 0.

    Of the closed form 5 % of the loss is taken as its uncertainty, of handbooks half their spread.
    """
    rows = [
        compared(
            "sudden enlargement", "sudden expansion 1:2", "handbook", EXPANSION_REYNOLDS,
            expansion_bore(), drop(found.expansion.loss, IDEAL),
            (BORDA_CARNOT - IDEAL, 0.01 * EXPANSION_PERCENT * BORDA_CARNOT), LAW, share=1.0,
        )
    ]  # fmt: skip
    for cone, wide in zip(CONES, found.cones, strict=True):
        known = float(np.median(cone.handbook_losses)) - cone.ideal, cone.half_spread
        source = recovery_check(cone, wide.loss).source
        row = compared(
            "slow cone", cone.name, "handbook", cone.reynolds, cone.bore,
            drop(wide.loss, cone.ideal), known, source, share=1.0,
        )  # fmt: skip
        # the cone itself, and not with the pipe before it
        rows.append(replace(row, cone_angle_deg=cone.angle))
    # the pipes before them are long
    return [replace(row, sharpness=0.0, throat_length_D=0.0) for row in rows]


def drop(loss: Quantity, ideal: float) -> Quantity:
    """The pressure drop that goes with a loss."""
    return Quantity(loss.value - ideal, loss.uncertainty, "q")
