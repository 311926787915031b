"""Bores on tool sizes: the neighbouring ones of the best place, with the rest chosen anew."""

import itertools
import math

import numpy as np

from borestudy.optimisation.least_squares import NothingSatisfies
from borestudy.optimisation.way import LEAST_STEP, Search

#: Bores on tool sizes are solved again for no less than this, and this part of their misfit.
LEAST_GAIN_ON_SIZES, LEAST_PART_ON_SIZES = 1e-2, 0.1
#: Tool sizes on either side that are considered, and how much farther from the wish than the best
#: a bore on others may be foreseen to be, so that it is solved: five tolerances of each figure.
SIZES_ASIDE, FARTHER = 2, 25.0


def on_sizes(search: Search, nearest: int, returned: int) -> list[int]:
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
