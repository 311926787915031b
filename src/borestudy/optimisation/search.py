"""The way from a bore to those that come nearest to a wish, with few solves.

Every solve gives values and derivatives, and so a linear problem whose solution is the next bore
(Gauss and Newton), within a region in which the last step was as good as promised.  Where a
derivative is missing it is found from the values of the solves themselves (Broyden 1965).  With the
best values known, dimensions on tool sizes are put on the neighbouring sizes, the rest is chosen
anew, and the most promising of these bores are solved.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from borestudy.optimisation.aims import Aim, Limits, Point, Walls, strictness
from borestudy.optimisation.least_squares import Real
from borestudy.optimisation.sizes import on_sizes
from borestudy.optimisation.way import LEAST_STEP, MOST_SOLVES, Search, Solve, Step, WallsAt

#: Bores that a search returns.
MOST_RETURNED = 3
#: Less misfit to be gained ends a search.
LEAST_GAIN = 1e-4
#: A misfit so small is near enough: a tenth of every tolerance.
NEAR = 1e-2
#: Steps in a row that come no nearer and end a search: the figures' noise is then larger.
MOST_VAIN = 2
#: Largest first step of a dimension as a share of its limits' distance.
FIRST_REACH = 0.5
#: Why a search ends.
NO_STEP, NEAR_ENOUGH = "no step promises more", "every figure is within a tenth of its tolerance"
USED_UP = "the solves for it are used up"


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
        point = replace(point, slopes=under_way.by_values(point))
    under_way.path.append(Step(point, under_way.misfit(point), {}, True))
    reserve = 2 * returned if limits.sizes else 1
    stopped = _free_steps(under_way, reserve)
    inside = [n for n, step in enumerate(under_way.path) if _inside(step.point.x, limits)]
    nearest = min(inside or [0], key=lambda number: under_way.path[number].misfit)
    if limits.sizes:
        chosen = on_sizes(under_way, nearest, returned)
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
