"""The entry from a reservoir into a tube, its edge square or rounded."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from fluids import fittings

from borestudy.bore import Bore
from borestudy.bore.segment import conic, line
from borestudy.closed_form.handbook import ENTRY_METHODS
from borestudy.closure.measures import closure_sections
from borestudy.results.check import Check
from borestudy.validation.walls import Wall, row, solve_walls, uncertainty

#: One coarser than a study's: fifteen solutions on walls of 44 diameters take long on those.
LEVELS = (-1, 0)
REYNOLDS = (1e4, 3e4, 1e5)
RADII = (0.0, 0.02, 0.06, 0.10, 0.20)
RESERVOIR_RADIUS = DEPTH = 5.0
#: Straight throat with triangles of its own sizes, and the whole tube behind the edge.
THROAT, TUBE = 2.0, 40.0
#: Where the tube's own friction is taken, from the edge on.
DEVELOPED = (25.0, 38.0)
#: Permitted deviation of the pressure drop into the tube, 1 + K: about what six handbooks differ by
#: for a square edge, 1.44 to 1.57, whose data are the surest; the same for every radius.
DROP_PERCENT = 5.0


def entry_bore(radius: float) -> Bore:
    """A reservoir and a tube of diameter 1, its edge rounded."""
    face = 0.5 + radius
    segments = [
        line((0.0, RESERVOIR_RADIUS), (DEPTH, RESERVOIR_RADIUS), "cup"),
        line((DEPTH, RESERVOIR_RADIUS), (DEPTH, face), "cup"),
    ]
    start = DEPTH + radius
    if radius > 0:
        segments.append(conic((DEPTH, face), (DEPTH, 0.5), (start, 0.5), np.sqrt(0.5), "entry"))
    segments.append(line((start, 0.5), (start + THROAT, 0.5), "throat"))
    segments.append(line((start + THROAT, 0.5), (start + TUBE, 0.5), "backbore"))
    return Bore(segments)


def loss_coefficient(wall: Wall, index: int, radius: float) -> float:
    """Head of the reservoir less that of the developed tube, carried back to the edge."""
    level = wall.level
    rim = closure_sections(level.task, level.states[index], level.sections)["rim_plane"]
    slope, intercept = wall.pressures[index].line(DEPTH + DEVELOPED[0], DEPTH + DEVELOPED[1])
    return 2 * rim.head - (intercept + slope * (DEPTH + radius)) - 1


def entry_losses(directory: Path, radii: Sequence[float] = RADII) -> dict[str, Any]:
    """Loss coefficient, the tube's own friction subtracted, and that it falls with the radius."""
    rows, curve = [], []
    ladders: dict[float, list[list[float]]] = {reynolds: [] for reynolds in REYNOLDS}
    for radius in radii:
        name = f"entry-{radius:.2f}"
        walls = solve_walls(entry_bore(radius), REYNOLDS, directory, name, levels=LEVELS)
        books = handbook_losses(radius)
        for index, reynolds in enumerate(REYNOLDS):
            ladder = [loss_coefficient(wall, index, radius) for wall in walls]
            ladders[reynolds].append(ladder)
            error = uncertainty(ladder)
            rows.append(row(drop_check(ladder[-1], radius, reynolds), error))
            curve.append(
                {"radius": radius, "reynolds": reynolds, "loss": ladder[-1], "uncertainty": error,
                 "levels": ladder, "handbook_low": min(books), "handbook_high": max(books)}
            )  # fmt: skip
    return {"checks": rows + falling(ladders), "curve": curve}


def handbook_losses(radius: float) -> list[float]:
    """Loss coefficient of each handbook for an edge of this radius over the tube's diameter."""
    return [
        float(fittings.entrance_rounded(1.0, max(radius, 1e-9), method=method))
        for method in ENTRY_METHODS
    ]


def drop_check(loss: float, radius: float, reynolds: float) -> Check:
    """Static pressure drop from the reservoir into the tube, friction subtracted.

    It is what a bore's drop to the throat's end consists of; a loss that is next to nothing, as of
    a well rounded edge, has no share of its own that a handbook knows.
    """
    return Check(
        check=f"entry from a reservoir, r/D {radius:g}, Re {reynolds:.0f}",
        quantity="pressure drop into the tube, 1 + loss coefficient",
        unit="q",
        computed=1 + loss,
        reference=1 + float(np.median(handbook_losses(radius))),
        tolerance_percent=DROP_PERCENT,
        source=f"median of {', '.join(ENTRY_METHODS)} in fluids.fittings",
    )


def falling(ladders: dict[float, list[list[float]]]) -> list[dict[str, Any]]:
    """One check a Reynolds number: from radius to radius the loss falls on every mesh."""
    rows = []
    for reynolds, of_radii in ladders.items():
        steps = np.diff(np.array(of_radii), axis=0)
        check = Check(
            check=f"entry from a reservoir, Re {reynolds:.0f}",
            quantity="share of steps to a greater radius on which the loss falls, both meshes",
            unit="1",
            computed=float(np.mean(steps < 0)),
            reference=1.0,
            tolerance_percent=0.0,
            source="every handbook method in fluids.fittings",
        )
        rows.append(row(check))
    return rows
