"""The entry from a reservoir into a tube, its edge square or rounded.

It is turbulent from the rim plane on, the other choice of place: handbooks' losses are those of
pipes whose boundary layer is turbulent from the edge on, and do not depend on the Reynolds number.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from fluids import fittings

from borestudy.bore import Bore
from borestudy.bore.segment import conic, polyline
from borestudy.closed_form.handbook import ENTRY_METHODS
from borestudy.quantity import Quantity
from borestudy.results.check import Check
from borestudy.validation.ladder import FlowOnMesh, Solved, quantity_of, solve_ladder

#: Coarser meshes than a study's, since solutions on 43 diameters take long; in half of that the
#: tube's flow is not developed, which is 0.05 in the loss.
RESOLUTION, LEVELS = "coarse", 2
#: The least that handbooks hold for, whose losses do not depend on it; from 30 000 on a square edge
#: has no steady solution on these meshes.
REYNOLDS = (1e4,)
RADII = (0.0, 0.02, 0.06, 0.10, 0.20)
RESERVOIR_RADIUS = DEPTH = 3.0
#: Length of the straight throat, which has triangles of its own sizes, and of the whole tube.
THROAT, TUBE = 2.0, 40.0
#: Where the tube's own friction is taken, from the edge on.
DEVELOPED = (25.0, 38.0)
#: Permitted deviation of the pressure drop into the tube, 1 + K: about what six handbooks differ by
#: for a square edge, 1.44 to 1.57, whose data are the surest; the same for every radius.
DROP_PERCENT = 5.0


@dataclass(frozen=True)
class EntryLoss:
    """Loss coefficient of one entry: radius over the tube's diameter, Reynolds number."""

    radius: float
    reynolds: float
    loss: Quantity


@dataclass(frozen=True)
class EntryLosses(Solved):
    """Every entry that was solved, radius by radius."""

    entries: tuple[EntryLoss, ...]


def entry_bore(radius: float) -> Bore:
    """A reservoir and a tube of diameter 1, its edge rounded."""
    face = 0.5 + radius
    wide, start = RESERVOIR_RADIUS, DEPTH + radius
    segments = polyline((0.0, wide), (DEPTH, wide, "cup"), (DEPTH, face, "cup"))
    if radius > 0:
        segments.append(conic((DEPTH, face), (DEPTH, 0.5), (start, 0.5), np.sqrt(0.5), "entry"))
    legs = [(start + THROAT, 0.5, "throat"), (start + TUBE, 0.5, "backbore")]
    return Bore([*segments, *polyline((start, 0.5), *legs)])


def solve_entries(directory: Path, radii: Sequence[float] = RADII) -> EntryLosses:
    """Solve the turbulent flow into each tube at each Reynolds number."""
    entries = []
    for radius in radii:
        ladders = solve_ladder(
            entry_bore(radius), "turbulent", REYNOLDS, directory, f"entry-{radius:.2f}",
            resolution=RESOLUTION, levels=LEVELS,
        )  # fmt: skip
        for reynolds, solutions in zip(REYNOLDS, ladders, strict=True):
            ladder = [loss_coefficient(solution, radius) for solution in solutions]
            entries.append(EntryLoss(radius, reynolds, quantity_of(ladder)))
    return EntryLosses(tuple(entries))


def loss_coefficient(solution: FlowOnMesh, radius: float) -> float:
    """Head of the reservoir less that of the developed tube, extrapolated to the edge."""
    slope, intercept = solution.wall.fit(DEPTH + DEVELOPED[0], DEPTH + DEVELOPED[1])
    return solution.rim_head - (intercept + slope * (DEPTH + radius)) - 1


def handbook_losses(radius: float) -> list[float]:
    """Loss coefficient of each handbook for an edge of this radius over the tube's diameter."""
    return [
        float(fittings.entrance_rounded(1.0, max(radius, 1e-9), method=method))
        for method in ENTRY_METHODS
    ]


def entry_checks(found: EntryLosses) -> list[Check]:
    """Compare each drop with the handbooks' median, and that the loss falls with the radius."""
    drops = [drop_check(entry) for entry in found.entries]
    numbers = dict.fromkeys(entry.reynolds for entry in found.entries)
    return drops + [falling(found, reynolds) for reynolds in numbers]


def drop_check(entry: EntryLoss) -> Check:
    """Static pressure drop from the reservoir into the tube, friction subtracted.

    It is what a bore's drop to the throat's end consists of; a loss that is next to nothing, as of
    a well rounded edge, has no share of its own that a handbook knows.
    """
    name = f"entry from a reservoir, r/D {entry.radius:g}, Re {entry.reynolds:.0f}"
    quantity, loss = "pressure drop into the tube, 1 + loss coefficient", entry.loss
    known = 1 + float(np.median(handbook_losses(entry.radius)))
    source = f"median of {', '.join(ENTRY_METHODS)} in fluids.fittings"
    return Check(name, quantity, "q", 1 + loss.value, known, DROP_PERCENT, source, loss.uncertainty)


def falling(found: EntryLosses, reynolds: float) -> Check:
    """Check that the loss falls from radius to radius on every mesh."""
    ladders = [e.loss.levels for e in found.entries if e.reynolds == reynolds]
    share = float(np.mean(np.diff(np.array(ladders, dtype=float), axis=0) < 0))
    name = f"entry from a reservoir, Re {reynolds:.0f}"
    quantity = "share of steps to a greater radius on which the loss falls, both meshes"
    source = "every handbook method in fluids.fittings"
    return Check(name, quantity, "1", share, 1.0, 0.0, source)
