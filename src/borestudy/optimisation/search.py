"""The way from a bore to those that come nearest to a wish, with few solves.

Every solve gives values and derivatives, and so a linear problem whose solution is the next bore
(Gauss and Newton), within a region in which the last step was as good as promised.  Where a
derivative is missing it is found from the values of the solves themselves (Broyden 1965).  With the
best values known, dimensions on tool sizes are put on the neighbouring sizes, the rest is chosen
anew, and the most promising of these bores are solved.
"""

import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from borestudy.optimisation.aims import (
    Aim,
    Limits,
    Point,
    Proposal,
    Walls,
    misfit,
    propose,
    strictness,
)
from borestudy.optimisation.least_squares import NothingSatisfies, Real

#: Solves of one search, and bores that it returns.
MOST_SOLVES, MOST_RETURNED = 12, 3
#: Steps that are smaller end a search, as does less misfit to be gained.
LEAST_STEP, LEAST_GAIN = 3e-4, 1e-4
#: A misfit so small is near enough: a tenth of every tolerance.
NEAR = 1e-2
#: Steps in a row that come no nearer and end a search: the figures' noise is then larger.
MOST_VAIN = 2
#: Bores on tool sizes are solved again for no less than this, and this part of their misfit.
LEAST_GAIN_ON_SIZES, LEAST_PART_ON_SIZES = 1e-2, 0.1
#: Tool sizes on either side that are considered, and how much farther from the wish than the best
#: a bore on others may be foreseen to be, so that it is solved: five tolerances of each figure.
SIZES_ASIDE, FARTHER = 2, 25.0
#: Largest first step of a dimension as a share of its limits' distance.
FIRST_REACH = 0.5
#: How often a step is taken again for a wall that bends.
BENDS = 12
#: How far a wall may lie inside one that exists, in units of a dimension.
SLACK = 1e-6

#: Why a search ends.
NO_STEP, NEAR_ENOUGH = "no step promises more", "every figure is within a tenth of its tolerance"
USED_UP = "the number of solves is used up"

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


@dataclass(frozen=True)
class Found:
    """What a search found.

    Attributes
    ----------
    path : tuple of Step
        Every solve, in order; the first is the start.
    nearest : int
        The solve that came nearest without regard to tool sizes.
    returned : tuple of int
        The solves that are returned, best first.
    stopped : str
        Why no further bore was solved.
    """

    path: tuple[Step, ...]
    nearest: int
    returned: tuple[int, ...]
    stopped: str


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
            point = replace(point, slopes=self._by_values(point))
        step = Step(point, self.misfit(point), dict(fixed or {}), everything)
        self.path.append(step)
        return step

    def _by_values(self, point: Point) -> Real:
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


def search(
    solve: Solve,
    start: Real,
    aims: Sequence[Aim] | Callable[[Point], Sequence[Aim]],
    limits: Limits,
    walls_at: WallsAt | None = None,
    most: int = MOST_SOLVES,
    returned: int = MOST_RETURNED,
) -> Found:
    """Search for the dimensions that come nearest to what is wanted of the figures.

    Parameters
    ----------
    solve : callable
        Figures and derivatives at dimensions (n,).
    start : array, shape (n,)
        Where to begin.
    aims : sequence of Aim, or callable
        What is wanted of each figure; or what gives that from the start's figures.
    limits : Limits
        Where the dimensions may be; the start may lie outside.
    walls_at : callable, optional
        How far the wall lies outside one that exists.
    most : int
        Number of solves, the start's included.
    returned : int
        Number of bores that are returned, where tool sizes leave a choice.

    Raises
    ------
    NothingSatisfies
        If no dimensions within the limits leave the wall outside one that exists.
    """
    count = len(start)
    under_way = Search(solve, [], limits, walls_at or (lambda x: Walls.none(count)), most)
    point = solve(start, True)
    under_way.aims = list(aims(point) if callable(aims) else aims)
    under_way.strict = strictness(under_way.aims, point.values)
    if np.isnan(point.slopes).any():
        point = replace(point, slopes=under_way._by_values(point))
    under_way.path.append(Step(point, under_way.misfit(point), {}, True))
    reserve = 2 * returned if limits.sizes else 1
    stopped = _free_steps(under_way, reserve)
    inside = [n for n, step in enumerate(under_way.path) if _inside(step.point.x, limits)]
    nearest = min(inside or [0], key=lambda number: under_way.path[number].misfit)
    if limits.sizes:
        chosen = _on_sizes(under_way, nearest, returned)
    elif under_way.path[nearest].everything:
        chosen = [nearest]
    else:
        under_way.visit(under_way.path[nearest].point.x, everything=True)
        chosen = [len(under_way.path) - 1]
    return Found(tuple(under_way.path), nearest, tuple(chosen), stopped)


def _inside(x: Real, limits: Limits) -> bool:
    return bool((x >= limits.low - 1e-9).all() and (x <= limits.high + 1e-9).all())


def _free_steps(search: Search, reserve: int) -> str:
    """Steps without regard to tool sizes, from the best so far; why they end."""
    limits = search.limits
    reach = FIRST_REACH * (limits.high - limits.low)
    best = search.path[0]
    # The first step enters the limits, however far that is.
    entering = np.maximum(np.maximum(limits.low - best.point.x, best.point.x - limits.high), 0.0)
    started_inside, vain = not entering.any(), 0
    while search.left > reserve:
        proposal = search.proposed(best.point, reach + entering)
        inside = started_inside or best is not search.path[0]
        gain = best.misfit - proposal.misfit
        if inside and (np.abs(proposal.step).max() < LEAST_STEP or abs(gain) < LEAST_GAIN):
            return NO_STEP
        if inside and best.misfit < NEAR * len(search.aims):
            return NEAR_ENOUGH
        step = search.visit(best.point.x + proposal.step)
        won = best.misfit - step.misfit
        if won > 0 or not inside:
            if inside and gain > 0 and won > 0.75 * gain:
                reach = 2 * reach
            best, entering, vain = step, np.zeros(len(reach)), 0
        else:
            reach, vain = 0.25 * np.abs(proposal.step), vain + 1
            if vain == MOST_VAIN or reach.max() < LEAST_STEP:
                return NO_STEP
    return USED_UP


def _on_sizes(search: Search, nearest: int, returned: int) -> list[int]:
    """Solve the most promising bores with neighbouring tool sizes; their places in the path."""
    point = search.path[nearest].point
    choices = []
    for place, sizes in search.limits.sizes.items():
        after = int(np.searchsorted(sizes, point.x[place] - 1e-9))
        aside = range(after - SIZES_ASIDE, after + SIZES_ASIDE)
        near = sorted({min(max(n, 0), len(sizes) - 1) for n in aside})
        choices.append([(place, sizes[n]) for n in near])
    candidates = []
    for combination in itertools.product(*choices):
        fixed = dict(combination)
        try:
            proposal = search.proposed(point, np.inf, fixed)
        except (NothingSatisfies, ValueError):
            continue
        candidates.append((proposal.misfit, point.x + proposal.step, fixed))
    candidates.sort(key=lambda one: one[0])
    if not candidates:
        raise NothingSatisfies("no tool sizes leave the wall outside the one that exists")
    farthest = candidates[0][0] + FARTHER * len(search.aims)
    candidates = [one for one in candidates[:returned] if one[0] <= farthest]
    found = []
    for number, (_, x, fixed) in enumerate(candidates):
        waiting = len(candidates) - number - 1
        search.visit(x, fixed, everything=True)
        best = len(search.path) - 1
        while search.left > waiting and len(fixed) < len(x):
            last = search.path[best]
            if math.isinf(last.misfit):
                break
            try:
                proposal = search.proposed(last.point, np.inf, fixed)
            except (NothingSatisfies, ValueError):
                break
            gain = last.misfit - proposal.misfit
            worth = max(LEAST_GAIN_ON_SIZES, LEAST_PART_ON_SIZES * last.misfit)
            if np.abs(proposal.step).max() < LEAST_STEP or gain < worth:
                break
            again = search.visit(last.point.x + proposal.step, fixed, everything=True)
            if again.misfit >= last.misfit:
                break
            best = len(search.path) - 1
        found.append(best)
    return sorted(found, key=lambda place: search.path[place].misfit)
