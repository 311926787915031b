"""Where the flow leaves the wall and comes back, and how narrow the jet in the throat is."""

from dataclasses import dataclass

import numpy as np

from borestudy.fem import Floats
from borestudy.flow.discretisation import Discretisation
from borestudy.flow.interpolation import velocity_at
from borestudy.flow.problem import State

from .lines import Wall

#: A run of backward wall shear shorter than this many edges is not called a separation.
SHORTEST_BUBBLE = 2


@dataclass(frozen=True)
class Bubble:
    """Backward flow along the wall, axial positions scaled; `reattachment` None if it stays."""

    separation: float
    reattachment: float | None


def bubbles(wall: Wall, shear: Floats) -> list[Bubble]:
    """Runs of backward wall shear, with their ends interpolated between edge middles."""
    middle = wall.middle
    changes = np.diff((shear < 0).astype(int), prepend=0, append=0)
    starts, stops = (np.flatnonzero(changes == way).tolist() for way in (1, -1))

    def crossing(edge: int) -> float:
        if edge == 0:
            return float(middle[0])
        before, after = shear[edge - 1], shear[edge]
        length = middle[edge] - middle[edge - 1]
        return float(middle[edge - 1] + length * before / (before - after))

    return [
        Bubble(crossing(start), crossing(stop) if stop < len(shear) else None)
        for start, stop in zip(starts, stops, strict=True)
        if stop - start >= SHORTEST_BUBBLE
    ]


def jet_contraction(
    space: Discretisation,
    state: State,
    throat: tuple[float, float],
    sections: int = 60,
    points: int = 200,
) -> tuple[float, float]:
    """Least share of the throat's area that the through-flow fills, and where.

    The through-flow is bounded by the streamline that carries the whole flow rate, outside of
    which a separation bubble circulates; without one the share is 1.

    Parameters
    ----------
    space, state : Discretisation, State
        Where the unknowns live, and the solution.
    throat : (float, float)
        Scaled axial positions of the straight throat's ends.
    sections, points : int
        Sections along the throat and points across each.

    Returns
    -------
    ratio, position : float
        Area ratio, and its scaled axial position.
    """
    edge = np.linspace(0, 0.5, points + 1)
    middle = 0.5 * (edge[1:] + edge[:-1])
    stations = np.linspace(*throat, sections + 2)[1:-1]
    grid = np.stack([np.repeat(stations, points), np.tile(middle, sections)])
    axial = velocity_at(space, state.unknowns, grid)[0].reshape(sections, points)
    ring = np.diff(edge**2) / 2
    carried = np.concatenate([np.zeros((sections, 1)), np.cumsum(axial * ring, axis=1)], axis=1)
    # the bubble carries nothing in all: outside the dividing streamline the sum passes the whole
    carried /= carried[:, -1:]
    ratios = np.ones(sections)
    for index, share in enumerate(carried):
        beyond = np.flatnonzero(share > 1 + 1e-9)
        if len(beyond):
            first = int(beyond[0])
            before, after = share[first - 1], share[first]
            share_beyond = (1 - before) / (after - before)
            radius = edge[first - 1] + (edge[first] - edge[first - 1]) * share_beyond
            ratios[index] = (radius / 0.5) ** 2
    best = int(np.argmin(ratios))
    return float(ratios[best]), float(stations[best])
