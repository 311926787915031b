"""From a wish to the bores that come nearest to it, each solved on its own mesh."""

from collections.abc import Callable

import numpy as np

from borestudy.optimisation.aims import Aim, Point, Walls
from borestudy.optimisation.asked import Granting
from borestudy.optimisation.existing import ROOM, wall_gaps
from borestudy.optimisation.figures import aim_of, point_of
from borestudy.optimisation.least_squares import NothingSatisfies, Real
from borestudy.optimisation.search import search
from borestudy.optimisation.told import result_of
from borestudy.results.case import CaseResults
from borestudy.results.dimensions import IN_SI
from borestudy.results.wishes import WishResult

NO_BORE = "no bore within the limits leaves the wall outside that of the bore that exists"


def grant(asked: Granting) -> WishResult:
    """Search for the bores that come nearest to a wish.

    Raises
    ------
    ValueError
        If the bore that the wish starts from has no number where something is wished.
    """
    cases: list[CaseResults | None] = []
    origin = np.array([one.start for one in asked.free]) / asked.scale
    limits = asked.limits()

    def solve(x: Real, everything: bool) -> Point:
        cases.append(asked.solve_at(asked.named(x), everything))
        start = cases[0]
        if start is None:
            raise ValueError("the bore that the wish starts from has no mesh")
        point = point_of(x, cases[-1], start, asked.wished, asked.keys)
        return Point(x, point.values, point.slopes * asked.scale)

    def aims(point: Point) -> list[Aim]:
        assert cases[0] is not None
        return [aim_of(wish, cases[0]) for wish in asked.wished]

    walls_at = _walls(asked, origin)
    try:
        found = search(solve, origin, aims, limits, walls_at, asked.most)
    except NothingSatisfies:
        return WishResult(
            wished=tuple(asked.wished),
            free=tuple(asked.free),
            existing=asked.existing,
            stopped=NO_BORE,
        )
    assert cases[0] is not None
    wanted = [aim_of(wish, cases[0]) for wish in asked.wished]
    return result_of(asked, found, cases, wanted, walls_at)


def _walls(asked: Granting, origin: Real) -> Callable[[Real], Walls]:
    """How far the wall lies outside that of the bore that exists."""
    if not asked.existing:
        return lambda x: Walls.none(len(x))
    old, _ = asked.bore_at(asked.named(origin))
    in_si = np.array([IN_SI[one.unit] for one in asked.free]) * asked.scale

    def walls_at(x: Real) -> Walls:
        new, dimensions = asked.bore_at(asked.named(x))
        known = {one.key: one for one in dimensions}
        gaps, slopes, positions = wall_gaps(old, new, [known[key] for key in asked.keys])
        # In mm, as the dimensions; the outline of the old wall is good to less than that room.
        return Walls(1e3 * (gaps + ROOM / 2), 1e3 * slopes * in_si, 1e3 * positions)

    return walls_at
