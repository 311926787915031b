"""Flow that widens: at once, as a sudden expansion, and slowly, in a cone."""

from pathlib import Path
from typing import Any

import numpy as np
from fluids import fittings

from borestudy.bore import Bore
from borestudy.bore.segment import line
from borestudy.closed_form.handbook import DIFFUSER_METHODS
from borestudy.results.check import Check
from borestudy.validation.walls import row, solve_walls, uncertainty

EXPANSION_REYNOLDS, DIFFUSER_REYNOLDS = 2e4, 5e4
#: Included angle of the cone [degrees].
ANGLE = 7.0
#: Recovery without any loss for twice the diameter, in units of q.
IDEAL = 1 - 1 / 16
#: Permitted deviation of the sudden expansion's loss: 2 % that the closed form leaves to the
#: profile (momentum factors up to 1.02, of a one-seventh power law), 3 % to the face's pressure.
EXPANSION_PERCENT = 5.0
#: Of the cone's recovery: four of six handbooks agree within 2 %, the other two are 14 % and 27 %
#: lower; a bore's answer can bear 5 %, which is 0.04 q.
RECOVERY_PERCENT = 5.0


def widening_flows(directory: Path) -> dict[str, Any]:
    """Both, with the pressure along the wall."""
    first, second = sudden_expansion(directory), conical_diffuser(directory)
    return {
        "checks": [first.pop("check"), second.pop("check")],
        "expansion": first,
        "diffuser": second,
    }


def sudden_expansion(directory: Path) -> dict[str, Any]:
    """Loss of a sudden expansion to twice the diameter, friction subtracted."""
    edge, end = 15.0, 55.0
    bore = Bore(
        [
            line((0.0, 0.5), (edge, 0.5), "throat"),
            line((edge, 0.5), (edge, 1.0), "backbore"),
            line((edge, 1.0), (end, 1.0), "backbore"),
        ]
    )
    walls = solve_walls(bore, [EXPANSION_REYNOLDS], directory, "expansion")
    ladder = []
    for wall in walls:
        before = wall.pressures[0].line(10.0, 14.0)
        after = wall.pressures[0].line(edge + 25, edge + 38)
        rise = (after[1] + after[0] * edge) - (before[1] + before[0] * edge)
        ladder.append(IDEAL - rise)
    check = Check(
        check=f"sudden expansion 1:2, Re {EXPANSION_REYNOLDS:.0f}",
        quantity="loss coefficient",
        unit="1",
        computed=ladder[-1],
        reference=(1 - 1 / 4) ** 2,
        tolerance_percent=EXPANSION_PERCENT,
        source="Borda 1766, Carnot 1803: (1 - A1/A2)^2",
    )
    pressure = walls[-1].pressures[0]
    start = before[1] + before[0] * edge
    return {
        "check": row(check, uncertainty(ladder)),
        "edge": edge,
        "line": shifted(pressure.between(edge - 5, end), edge, start),
        "closed_form_rise": IDEAL - (1 - 1 / 4) ** 2,
    }


def conical_diffuser(directory: Path) -> dict[str, Any]:
    """Loss of a cone that widens to twice the diameter, developed flow before and a pipe behind."""
    start = 20.0
    length = 0.5 / np.tan(np.radians(ANGLE / 2))
    stop = start + length
    bore = Bore(
        [
            line((0.0, 0.5), (1.0, 0.5), "throat"),
            line((1.0, 0.5), (start, 0.5), "backbore"),
            line((start, 0.5), (stop, 1.0), "backbore"),
            line((stop, 1.0), (stop + 24, 1.0), "pipe"),
        ]
    )
    walls = solve_walls(bore, [DIFFUSER_REYNOLDS], directory, "diffuser", stretch=1.0)
    ladder = []
    for wall in walls:
        before = wall.pressures[0].line(start - 6, start - 1)
        after = wall.pressures[0].line(stop + 12, stop + 22)
        rise = (after[1] + after[0] * stop) - (before[1] + before[0] * start)
        ladder.append(IDEAL - rise)
    pressure = walls[-1].pressures[0]
    return {
        "check": row(recovery_check(ladder[-1], length), uncertainty(ladder)),
        "length": length,
        "line": shifted(
            pressure.between(start - 5, stop + 22), start, before[1] + before[0] * start
        ),
        "handbook_losses": handbook_losses(length),
    }


def handbook_losses(length: float) -> dict[str, float]:
    """Loss coefficient of each handbook for a cone of this length to twice the diameter."""
    return {
        method: float(
            fittings.diffuser_conical(1.0, 2.0, l=length, Re=DIFFUSER_REYNOLDS, method=method)
        )
        for method in DIFFUSER_METHODS
    }


def recovery_check(loss: float, length: float) -> Check:
    """The cone's pressure rise, which is what a bore's drop consists of."""
    middle = float(np.median(list(handbook_losses(length).values())))
    return Check(
        check=f"conical diffuser 1:2, {ANGLE:g} degrees, Re {DIFFUSER_REYNOLDS:.0f}",
        quantity="pressure recovery",
        unit="q",
        computed=IDEAL - loss,
        reference=IDEAL - middle,
        tolerance_percent=RECOVERY_PERCENT,
        source=f"median of {', '.join(DIFFUSER_METHODS)} in fluids.fittings",
    )


def shifted(line_: dict[str, list[float]], place: float, pressure: float) -> dict[str, list[float]]:
    """The line with its place and its pressure there taken as zero."""
    return {
        "position": [x - place for x in line_["position"]],
        "pressure": [p - pressure for p in line_["pressure"]],
    }
