"""A search under way: its solves, the derivatives that are missing, and the next step."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from borestudy.optimisation.aims import Aim, Limits, Point, Proposal, Walls, misfit, propose
from borestudy.optimisation.least_squares import NothingSatisfies, Real

#: Solves of one search, unless it is told otherwise.
MOST_SOLVES = 12
#: Steps that are smaller end a search.
LEAST_STEP = 3e-4
#: How often a step is taken again for a wall that bends.
BENDS = 12
#: How far a wall may lie inside one that exists, in units of a dimension.
SLACK = 1e-6

#: Values and derivatives at dimensions; the flag says that everything is wanted of them.
Solve = Callable[[Real, bool], Point]
#: How far the wall lies outside one that exists; ValueError where there is no such bore.
WallsAt = Callable[[Real], Walls]


@dataclass(frozen=True)
class Step:
    """One solve of a search: where, what was found, and which dimensions had a tool size."""

    point: Point
    misfit: float
    fixed: Mapping[int, float] = field(default_factory=dict)
    everything: bool = False


@dataclass
class Search:
    """A search under way: see `search`."""

    solve: Solve
    aims: Sequence[Aim]
    limits: Limits
    walls_at: WallsAt
    most: int = MOST_SOLVES
    path: list[Step] = field(default_factory=list)
    strict: float = 0.0

    @property
    def left(self) -> int:
        """How many solves may follow."""
        return self.most - len(self.path)

    @property
    def origin(self) -> Real:
        """Where the search began."""
        return self.path[0].point.x

    def misfit(self, point: Point) -> float:
        """How far a point is from what is wanted; infinite where a figure has no number."""
        if np.isnan(point.values).any():
            return math.inf
        return float(misfit(self.aims, point.values, self.strict))

    def visit(
        self, x: Real, fixed: Mapping[int, float] | None = None, everything: bool = False
    ) -> Step:
        """Solve at a place and keep it."""
        point = self.solve(x, everything)
        if np.isnan(point.slopes).any():
            point = replace(point, slopes=self.by_values(point))
        step = Step(point, self.misfit(point), dict(fixed or {}), everything)
        self.path.append(step)
        return step

    def by_values(self, point: Point) -> Real:
        """Derivatives with those that are missing taken from earlier values, by Broyden's update.

        Before there is any, a figure is taken not to change.
        """
        slopes = point.slopes.copy()
        missing = np.isnan(slopes)
        known = self.path[-1].point if self.path else replace(point, slopes=0 * slopes)
        before = np.nan_to_num(known.slopes)
        moved = point.x - known.x
        length = float(moved @ moved)
        if length > 0 and not np.isnan(point.values).any():
            wrong = point.values - known.values - before @ moved
            before = before + np.outer(wrong, moved) / length
        slopes[missing] = before[missing]
        return slopes

    def proposed(
        self, point: Point, reach: Real | float, fixed: Mapping[int, float] | None = None
    ) -> Proposal:
        """The best step from a point after which the wall lies nowhere inside one that exists.

        Walls bend, so the step is taken again with the walls as they are at its end.
        """
        walls = self.walls_at(point.x)
        for _ in range(BENDS):
            found = propose(
                self.aims,
                point,
                self.origin,
                self.limits,
                walls,
                reach=reach,
                fixed=fixed,
                strict=self.strict,
            )
            there = self.walls_at(point.x + found.step)
            if not (there.gap < -SLACK).any():
                return found
            back = there.gap - there.slopes @ found.step
            walls = Walls(
                np.concatenate([walls.gap, back]), np.concatenate([walls.slopes, there.slopes])
            )
        raise NothingSatisfies("the wall could not be kept outside the one that exists")
