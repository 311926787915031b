"""Flow that widens: at once, as a sudden expansion, and slowly, in a cone."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from fluids import fittings

from borestudy.bore import Bore
from borestudy.bore.segment import polyline
from borestudy.closed_form.handbook import DIFFUSER_METHODS
from borestudy.quantity import Quantity
from borestudy.results.check import Check
from borestudy.validation.ladder import Curve, FlowOnMesh, Solved, quantity_of, solve_ladder

EXPANSION_REYNOLDS, DIFFUSER_REYNOLDS = 2e4, 5e4
#: Where the expansion's edge is, and the cone's beginning [throat diameters].
EDGE, CONE_START = 15.0, 20.0
#: Included angle of the cone [degrees], and its length to twice the diameter [throat diameters].
ANGLE = 7.0
CONE_LENGTH = float(0.5 / np.tan(np.radians(ANGLE / 2)))
#: Recovery without any loss for twice the diameter, and after a sudden expansion's loss, in q.
IDEAL, BORDA_CARNOT = 1 - 1 / 16, (1 - 1 / 4) ** 2
#: Permitted deviation of the sudden expansion's loss: 2 % that the closed form leaves to the
#: profile (momentum factors up to 1.02, of a one-seventh power law), 3 % to the face's pressure.
EXPANSION_PERCENT = 5.0
#: Permitted deviation of the cone's recovery: four of six handbooks agree within 2 %, the other two
#: are 14 % and 27 % lower; a bore's answer can bear 5 %, which is 0.04 q.
RECOVERY_PERCENT = 5.0


@dataclass(frozen=True)
class Widening:
    """Loss coefficient, and the pressure [q] along the wall from where the bore widens."""

    loss: Quantity
    wall: Curve


@dataclass(frozen=True)
class Widenings(Solved):
    """The two ways to twice the diameter."""

    expansion: Widening
    diffuser: Widening


def solve_widenings(directory: Path) -> Widenings:
    """Solve the turbulent flow through both."""
    legs = [(EDGE, 0.5, "throat"), (EDGE, 1.0, "backbore"), (EDGE + 40, 1.0, "backbore")]
    expansion = Bore(polyline((0.0, 0.5), *legs))
    begin, stop, end = CONE_START, CONE_START + CONE_LENGTH, CONE_START + CONE_LENGTH + 22
    legs = [(1.0, 0.5, "throat"), (begin, 0.5, "backbore"), (stop, 1.0, "backbore")]
    diffuser = Bore(polyline((0.0, 0.5), *legs, (end + 2, 1.0, "pipe")))
    (wide,) = solve_ladder(expansion, "turbulent", [EXPANSION_REYNOLDS], directory, "expansion")
    (cone,) = solve_ladder(
        diffuser, "turbulent", [DIFFUSER_REYNOLDS], directory, "diffuser", stretch=1.0
    )
    return Widenings(
        widening(wide, (EDGE, EDGE), (10.0, 14.0), (EDGE + 25, EDGE + 38), (EDGE - 5, EDGE + 40)),
        widening(cone, (begin, stop), (begin - 6, begin - 1), (stop + 12, end), (begin - 5, end)),
    )


def widening(
    solutions: list[FlowOnMesh],
    ends: tuple[float, float],
    before: tuple[float, float],
    after: tuple[float, float],
    shown: tuple[float, float],
) -> Widening:
    """Read the loss between two developed stretches, each extrapolated to an end of the widening.

    The pipes' own friction is taken along the stretches before and after it, and the stretch to be
    shown is kept for the figure [throat diameters]; the solutions are coarsest first.
    """
    ladder = []
    for solution in solutions:
        (slope, first), (slope_after, last) = solution.wall.fit(*before), solution.wall.fit(*after)
        start = first + slope * ends[0]
        ladder.append(IDEAL - (last + slope_after * ends[1] - start))
    wall = solutions[-1].wall.between(*shown).moved(ends[0], start)
    return Widening(quantity_of(ladder, "q"), wall)


def handbook_losses() -> list[float]:
    """Loss coefficient of each handbook for the cone."""
    return [
        float(
            fittings.diffuser_conical(1.0, 2.0, l=CONE_LENGTH, Re=DIFFUSER_REYNOLDS, method=method)
        )
        for method in DIFFUSER_METHODS
    ]


def widening_checks(found: Widenings) -> list[Check]:
    """Compare the expansion's loss with Borda and Carnot, the cone's recovery with handbooks."""
    loss, error = found.expansion.loss.value, found.expansion.loss.uncertainty
    name, law = (
        f"sudden expansion 1:2, Re {EXPANSION_REYNOLDS:.0f}",
        "Borda 1766, Carnot 1803: (1 - A1/A2)^2",
    )
    return [
        Check(name, "loss coefficient", "1", loss, BORDA_CARNOT, EXPANSION_PERCENT, law, error),
        recovery_check(found.diffuser.loss),
    ]


def recovery_check(loss: Quantity) -> Check:
    """The cone's pressure rise, which is what a bore's drop consists of."""
    name = f"conical diffuser 1:2, {ANGLE:g} degrees, Re {DIFFUSER_REYNOLDS:.0f}"
    known = IDEAL - float(np.median(handbook_losses()))
    source = f"median of {', '.join(DIFFUSER_METHODS)} in fluids.fittings"
    found, error = IDEAL - loss.value, loss.uncertainty
    return Check(name, "pressure recovery", "q", found, known, RECOVERY_PERCENT, source, error)
