"""What stands in the way of a wish, and what it leaves open, from its linear problem."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.linalg import qr

from borestudy.optimisation.aims import Aim, Limits, Point, Proposal, is_met
from borestudy.optimisation.least_squares import Real

#: A limit stands in the way if a tenth of a unit (half a tolerance of what is kept) more would take
#: this part of the misfit away.
TENTH, HALF, WORTH = 0.1, 0.5, 0.02
#: Cosine of the angle between what two figures ask of the dimensions, below which they pull against
#: one another.
AGAINST = -0.3
#: A dimension has no part in a combination if it moves by less than this part of the largest
#: movement, and would change every figure by less than this part of its tolerance.
PART = 0.05
#: How near to a limit a dimension stands at it.
AT_LIMIT = 1e-6


@dataclass(frozen=True)
class Hindrance:
    """What stands in the way.

    Attributes
    ----------
    kind : str
        ``low`` or ``high`` limit of a dimension, a figure that must be ``kept``, the ``wall`` of a
        bore that exists, or two figures that pull ``against`` one another.
    numbers : tuple of int
        Of the dimension, figure, place or both figures.
    worth : float
        Part of the misfit that it accounts for, as far as is told from derivatives.
    """

    kind: Literal["low", "high", "kept", "wall", "against"]
    numbers: tuple[int, ...]
    worth: float


@dataclass(frozen=True)
class Leeway:
    """What the wish leaves open.

    Attributes
    ----------
    combinations : tuple of arrays, each (n,)
        Movements that change no figure by more than its tolerance as far as the limits go, the
        largest of each being 1.
    within : array, shape (n,)
        How far each dimension may be off while no figure leaves its tolerance by the others; NaN
        where the wish does not determine it.
    """

    combinations: tuple[Real, ...]
    within: Real


def hindrances(
    aims: Sequence[Aim],
    point: Point,
    limits: Limits,
    proposal: Proposal,
    expected: float,
    fixed: Mapping[int, float] | None = None,
) -> list[Hindrance]:
    """What keeps a bore from the wish, the most important first; nothing where it is met.

    Parameters
    ----------
    aims, point, limits
        See `borestudy.optimisation.aims`.
    proposal : Proposal
        The best step from the point, with what each active inequality costs.
    expected : float
        The misfit at the point.
    fixed : mapping of int to float, optional
        Dimensions that stand on a tool size.
    """
    if all(is_met(aim, value) for aim, value in zip(aims, point.values, strict=True)):
        return []
    found: list[Hindrance] = []
    for (kind, number), cost in proposal.costs.items():
        room = HALF if kind == "kept" else TENTH
        worth = 2 * cost * room / max(expected, 1e-300)
        if worth > WORTH:
            found.append(Hindrance(kind, (number,), min(worth, 1.0)))
    walls = [one for one in found if one.kind == "wall"]
    if walls:  # neighbouring places say the same
        strongest = max(walls, key=lambda one: one.worth)
        found = [one for one in found if one.kind != "wall" or one is strongest]
    held = {one.numbers[0] for one in found if one.kind in ("low", "high")} | set(fixed or {})
    free = [place for place in range(len(point.x)) if place not in held]
    found += _against(aims, point, free)
    return sorted(found, key=lambda one: -one.worth)


def _against(aims: Sequence[Aim], point: Point, free: Sequence[int]) -> list[Hindrance]:
    """The two figures that pull hardest against one another, where two do."""
    pulls = {}
    for number, (aim, value) in enumerate(zip(aims, point.values, strict=True)):
        away = (aim.target - value) / aim.within
        if not aim.kept and abs(away) > PART:
            pulls[number] = away * np.nan_to_num(point.slopes[number][free]) / aim.within
    total = sum(float(pull @ pull) for pull in pulls.values())
    best: Hindrance | None = None
    for one, pull in pulls.items():
        for other, pulled in pulls.items():
            lengths = float(np.linalg.norm(pull) * np.linalg.norm(pulled))
            if one >= other or lengths == 0 or float(pull @ pulled) / lengths > AGAINST:
                continue
            worth = min(-2 * float(pull @ pulled) / total, 1.0)
            if worth > WORTH and (best is None or worth > best.worth):
                best = Hindrance("against", (one, other), worth)
    return [] if best is None else [best]


def leeway(aims: Sequence[Aim], point: Point, limits: Limits, scale: Real) -> Leeway:
    """What a wish leaves open at a point, to first order.

    A combination of dimensions is not determined where no figure leaves its tolerance as far as
    the limits go along it.  Dimensions that stand at a limit are determined by it.

    Parameters
    ----------
    aims, point, limits
        See `borestudy.optimisation.aims`.
    scale : array, shape (n,)
        What counts as one of each dimension, so that combinations of unlike ones have a size.
    """
    count = len(point.x)
    at = (point.x - limits.low < AT_LIMIT) | (limits.high - point.x < AT_LIMIT)
    free = np.flatnonzero(~at)
    within = np.full(count, 0.0)
    if not len(free):
        return Leeway((), within)
    rows = np.nan_to_num(point.slopes[:, free]) * scale[free]
    rows = rows / np.array([aim.within for aim in aims])[:, None]
    _, values, turned = np.linalg.svd(rows)
    values = np.append(values, np.zeros(len(free) - len(values)))
    low, high = ((ends[free] - point.x[free]) / scale[free] for ends in (limits.low, limits.high))
    open_ = np.array(
        [
            value * _travel(vector, low, high) < 1
            for value, vector in zip(values, turned, strict=True)
        ]
    )
    null = turned[open_]
    certain, known = turned[~open_], values[~open_]
    off = np.sqrt(((certain / known[:, None]) ** 2).sum(axis=0)) if len(known) else 0.0 * free
    off = np.where(np.sqrt((null**2).sum(axis=0)) > PART, np.nan, off) if len(null) else off
    within[free] = off * scale[free]
    combinations = []
    for row in _simple(null):
        whole = np.zeros(count)
        seen = np.abs(rows * row).max(axis=0) >= PART
        whole[free] = np.where(seen | (np.abs(row) >= PART), row, 0.0) * scale[free]
        combinations.append(whole)
    return Leeway(tuple(combinations), within)


def _travel(vector: Real, low: Real, high: Real) -> float:
    """How far one can go along a vector, either way, before a limit is reached."""
    ways = []
    for way in (vector, -vector):
        moving = np.abs(way) > 1e-12
        room = np.where(way > 0, high, low)[moving] / way[moving]
        ways.append(float(room.min()))
    return max(ways)


def _simple(null: Real) -> Real:
    """Combinations that span the same, each with as few dimensions as can be, the largest of 1."""
    if not len(null):
        return null
    _, _, order = qr(null, pivoting=True)
    simple = np.linalg.solve(null[:, order[: len(null)]], null)
    simple[np.abs(simple) < 1e-9] = 0.0
    return np.asarray(simple / np.abs(simple).max(axis=1)[:, None])
