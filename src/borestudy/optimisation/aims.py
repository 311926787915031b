"""What is wanted of a vector of figures, and the linear problem that leads toward it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from borestudy.optimisation.least_squares import Real, constrained

#: What a tolerance costs by which a figure is beyond the bound that it must be kept within: more
#: than a wish can gain by it, which grows with how far the wish is (`strictness`).
STRICT = 1e3
#: Part of that bound that is used, since neither curvature nor noise of the meshes is foreseen.
USED = 0.98
#: Derivatives of an inequality below which no dimension changes it.
UNCHANGED = 1e-6
#: Cost of one unit of movement [tolerances]: among equal solutions the smallest change is taken.
SMALL = 1e-3


@dataclass(frozen=True)
class Aim:
    """What is wanted of a figure.

    Attributes
    ----------
    name : str
    target : float
        Where it shall go; what it shall stay at, if it is kept.
    within : float
        How near, in the figure's unit.
    kept : bool
        Whether every value within that is as good as another.
    """

    name: str
    target: float
    within: float
    kept: bool = False


@dataclass(frozen=True)
class Limits:
    """Where the free dimensions may be, in units in which 1 is a large change.

    Attributes
    ----------
    low, high : array, shape (n,)
    sizes : mapping of int to sequence of float
        Values of those dimensions that stand on tool sizes, rising.
    """

    low: Real
    high: Real
    sizes: Mapping[int, Sequence[float]] = field(default_factory=dict)


@dataclass(frozen=True)
class Walls:
    """How far the wall lies outside one that exists, at k places, and its derivative, (k, n).

    The places' positions along the axis may be left out.
    """

    gap: Real
    slopes: Real
    positions: Real = field(default_factory=lambda: np.zeros(0))

    @classmethod
    def none(cls, count: int) -> "Walls":
        """No place at which anything is forbidden, for a number of dimensions."""
        return cls(np.zeros(0), np.zeros((0, count)))


@dataclass(frozen=True)
class Point:
    """Values of the dimensions (n,), of the figures (m,), and derivatives of these, (m, n)."""

    x: Real
    values: Real
    slopes: Real


@dataclass(frozen=True)
class Proposal:
    """The step that the linear problem proposes.

    Attributes
    ----------
    step : array, shape (n,)
    misfit : float
        What is then expected.
    costs : mapping
        What each active inequality costs: half the misfit that goes if it is moved by one unit, by
        its kind (``low``, ``high``, ``kept``, ``wall``) and its number.
    """

    step: Real
    misfit: float
    costs: Mapping[tuple[Literal["low", "high", "kept", "wall"], int], float]


def misfit(aims: Sequence[Aim], values: Real, strict: float = STRICT) -> float:
    """Sum of squares of how far the figures are from what is wanted, in tolerances.

    A figure that must be kept costs nothing within its bound and `strict` a tolerance beyond.
    """
    total = 0.0
    for aim, value in zip(aims, values, strict=True):
        away = abs(value - aim.target) / aim.within
        beyond = max(away - USED, 0.0)
        total += beyond * (strict + beyond) if aim.kept else away**2
    return total


def strictness(aims: Sequence[Aim], start: Real) -> float:
    """What a tolerance beyond a bound costs, for wishes as far as they are from the start."""
    wishes = [(aim, value) for aim, value in zip(aims, start, strict=True) if not aim.kept]
    far = misfit(*zip(*wishes, strict=True)) if wishes else 0.0  # type: ignore[arg-type]
    return STRICT * max(1.0, float(np.sqrt(far)))


def is_met(aim: Aim, value: float) -> bool:
    """Whether a figure is where it is wanted."""
    return bool(abs(value - aim.target) <= aim.within * (1 + 1e-9))


def propose(
    aims: Sequence[Aim],
    point: Point,
    origin: Real,
    limits: Limits,
    walls: Walls,
    *,
    reach: Real | float = np.inf,
    fixed: Mapping[int, float] | None = None,
    strict: float = STRICT,
) -> Proposal:
    """The best step of the dimensions from a point, to first order.

    Parameters
    ----------
    aims : sequence of Aim
        One a figure.
    point : Point
        Where values and derivatives are known.
    origin : array, shape (n,)
        The smallest change from here is preferred among equals.
    limits : Limits
        Of the dimensions; their tool sizes are not regarded.
    walls : Walls
        At the point.
    reach : array or float
        Largest step of each dimension.
    fixed : mapping of int to float, optional
        Dimensions that have a value.
    strict : float
        See `misfit`.

    Raises
    ------
    NothingSatisfies
        If limits and walls contradict one another.
    """
    fixed = dict(fixed or {})
    count, x = len(point.x), point.x
    kept = [place for place, aim in enumerate(aims) if aim.kept]
    wished = [place for place, aim in enumerate(aims) if not aim.kept]
    width = count + len(kept)
    jump = np.zeros(count)
    for place, value in fixed.items():
        jump[place] = value - x[place]
    free = [place for place in range(width) if place not in fixed]
    within = np.array([aim.within for aim in aims])
    slopes = np.nan_to_num(point.slopes) / within[:, None]
    away = (point.values - [aim.target for aim in aims]) / within

    rows = np.zeros((len(wished) + len(kept) + count, width))
    wanted = np.zeros(len(rows))
    rows[: len(wished), :count], wanted[: len(wished)] = slopes[wished], -away[wished]
    for number in range(len(kept)):
        # (t + s/2)² is t (s + t) and a constant.
        rows[len(wished) + number, count + number] = 1.0
        wanted[len(wished) + number] = -strict / 2
    rows[-count:, :count] = SMALL * np.eye(count)
    wanted[-count:] = -SMALL * (x - origin)

    names: list[tuple[Literal["low", "high", "kept", "wall", "slack"], int]] = []
    gradients, least = [], []

    def need(
        kind: Literal["low", "high", "kept", "wall", "slack"],
        number: int,
        gradient: Real,
        bound: float,
    ) -> None:
        names.append((kind, number))
        gradients.append(gradient)
        least.append(bound)

    sides = np.eye(width)
    span = np.broadcast_to(np.asarray(reach, float), (count,))
    for place in set(range(count)) - set(fixed):
        need("low", place, sides[place], max(limits.low[place] - x[place], -span[place]))
        need("high", place, -sides[place], -min(limits.high[place] - x[place], span[place]))
    for number, place in enumerate(kept):
        row = np.append(slopes[place], np.zeros(len(kept)))
        slack = sides[count + number]
        need("kept", place, slack - row, away[place] - USED)
        need("kept", place, slack + row, -away[place] - USED)
        need("slack", place, slack, 0.0)
    for number, (gap, row) in enumerate(zip(walls.gap, walls.slopes, strict=True)):
        need("wall", number, np.append(row, np.zeros(len(kept))), -gap)

    whole = np.append(jump, np.zeros(len(kept)))
    matrix, bounds = np.array(gradients).reshape(-1, width), np.array(least)
    # An inequality that no free dimension changes asks nothing of them.
    asks = np.linalg.norm(matrix[:, free], axis=1) > UNCHANGED
    found = constrained(
        rows[:, free], wanted - rows @ whole, matrix[asks][:, free], (bounds - matrix @ whole)[asks]
    )
    whole[free] = found.x
    step = whole[:count]
    costs: dict[tuple[Literal["low", "high", "kept", "wall"], int], float] = {}
    for name, cost in zip(np.flatnonzero(asks), found.multipliers, strict=True):
        kind, number = names[name]
        if kind != "slack":  # which costs something wherever the figure is within its bound
            costs[kind, number] = costs.get((kind, number), 0.0) + float(cost)
    there = point.values + np.nan_to_num(point.slopes) @ step
    return Proposal(step, misfit(aims, there, strict), costs)
