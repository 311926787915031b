"""What is told of a search: its path, the bores that it returns, and what stands in the way."""

from collections.abc import Callable, Sequence

import numpy as np

from borestudy.optimisation.aims import Aim, Walls, propose
from borestudy.optimisation.asked import Granting
from borestudy.optimisation.figures import Compared
from borestudy.optimisation.findings import Hindrance, hindrances, leeway
from borestudy.optimisation.least_squares import NothingSatisfies, Real
from borestudy.optimisation.search import Found
from borestudy.optimisation.way import Step
from borestudy.results.case import CaseResults
from borestudy.results.reported import reported
from borestudy.results.wishes import (
    Combination,
    FreeRange,
    InTheWay,
    NewDimension,
    NewQuantity,
    ReturnedBore,
    SolvedBore,
    WishedFor,
    WishResult,
    verdict,
)


def result_of(
    asked: Granting,
    found: Found,
    cases: Sequence[CaseResults | None],
    aims: Sequence[Aim],
    walls_at: Callable[[Real], Walls],
) -> WishResult:
    """The record of a search with everything that is to be told of it.

    Parameters
    ----------
    asked : Granting
        The wish.
    found : Found
        What the search found.
    cases : sequence of CaseResults
        Results of each solve of the search; None without a mesh.
    aims : sequence of Aim
        What is wanted of each figure.
    walls_at : callable
        How far the wall lies outside one that exists.
    """
    start, limits = cases[0], asked.limits()
    assert start is not None
    path = found.path
    nearest = path[found.nearest].point
    opened = leeway(aims, nearest, limits, np.ones(len(asked.free)))
    within = [None if np.isnan(one) else float(one) for one in opened.within * asked.scale]
    solved = [_solved(asked, step, case, start) for step, case in zip(path, cases, strict=True)]
    returned = []
    for number, place in enumerate(found.returned, start=1):
        step, case = path[place], cases[place]
        if case is None:
            continue
        proposal_walls = walls_at(step.point.x)
        try:
            proposal = propose(
                aims, step.point, path[0].point.x, limits, proposal_walls, fixed=step.fixed
            )
            way = hindrances(aims, step.point, limits, proposal, step.misfit, step.fixed)
        except NothingSatisfies:
            way = []
        returned.append(
            ReturnedBore(
                name=f"bore {number}",
                solve=place + 1,
                met=all(
                    verdict_of(Compared.of(case, start), wish).startswith("met")
                    for wish in asked.wished
                ),
                misfit=step.misfit,
                dimensions=tuple(_dimensions(asked, step)),
                quantities=tuple(_quantities(asked, case, start)),
                in_the_way=tuple(_told(asked, one, proposal_walls) for one in way),
            )
        )
    return WishResult(
        wished=tuple(asked.wished),
        free=tuple(
            FreeRange(**{**one.__dict__, "determined_within": off})
            for one, off in zip(asked.free, within, strict=True)
        ),
        existing=asked.existing,
        path=tuple(solved),
        returned=tuple(returned),
        undetermined=tuple(
            Combination(changes={key: value for key, value in asked.named(one).items() if value})
            for one in opened.combinations
        ),
        targets={
            wish.quantity: _change(aim.target, wish.scale)
            for wish, aim in zip(asked.wished, aims, strict=True)
        },
        stopped=found.stopped,
    )


def verdict_of(compared: Compared, wish: WishedFor) -> str:
    """Whether a wish is met by a bore."""
    return verdict(*compared.miss(wish), wish.within)


def _change(value: float, scale: str) -> float:
    """A figure of the search as a change in cents or percent."""
    return value if scale == "cents" else 100 * (float(np.exp(value / 100)) - 1)


def _solved(
    asked: Granting, step: Step, case: CaseResults | None, start: CaseResults
) -> SolvedBore:
    figures: dict[str, float | None] = {}
    for wish, value in zip(asked.wished, step.point.values, strict=True):
        known = case is not None and not np.isnan(value)
        figures[wish.quantity] = _change(float(value), wish.scale) if known else None
    return SolvedBore(
        dimensions=asked.named(step.point.x),
        figures=figures,
        misfit=step.misfit if np.isfinite(step.misfit) else None,
        tool_sizes=tuple(asked.keys[place] for place in step.fixed),
        all_rates=step.everything,
    )


def _dimensions(asked: Granting, step: Step) -> list[NewDimension]:
    values = asked.named(step.point.x)
    found = []
    for place, one in enumerate(asked.free):
        value, tool = values[one.key], None
        if place in step.fixed:
            words = asked.sizes[one.key]
            tool, value = min(words, key=lambda size: abs(size[1] - values[one.key]))
        found.append(
            NewDimension(
                key=one.key,
                label=one.label,
                unit=one.unit,
                value=value,
                change=value - one.start,
                tool=tool,
            )
        )
    return found


def _quantities(asked: Granting, case: CaseResults, start: CaseResults) -> list[NewQuantity]:
    """Every quantity of a returned bore against the start's, what is wished of it first."""
    compared = Compared.of(case, start)
    wishes = {wish.quantity: wish for wish in asked.wished}
    found = []
    for name in [*wishes, *(name for name in reported(start) if name not in wishes)]:
        before, after = compared.theirs.get(name), compared.ours.get(name)
        change, wish = compared.change(name), wishes.get(name)
        known = after or before
        value = None if after is None else after.value
        miss, error = compared.miss(wish) if wish else (None, None)
        found.append(
            NewQuantity(
                quantity=name,
                before=None if before is None else before.value.value,
                after=None if value is None else value.value,
                after_uncertainty=None if value is None else value.uncertainty,
                change=change.value,
                numerical=change.numerical,
                model=change.model,
                unit=known.unit if known else "",
                scale=known.relative_in if known else "percent",
                wish=wish.written if wish else "",
                miss=miss,
                miss_uncertainty=error,
                within=wish.within if wish else None,
                verdict=verdict(miss, error, wish.within) if wish else "",
            )
        )
    return found


def _told(asked: Granting, one: Hindrance, walls: Walls) -> InTheWay:
    """A hindrance with its names."""
    if one.kind in ("low", "high"):
        dimension = asked.free[one.numbers[0]]
        limit = dimension.low if one.kind == "low" else dimension.high
        return InTheWay(kind=one.kind, names=(dimension.key,), worth=one.worth, at=limit)
    if one.kind == "wall":
        at = float(walls.positions[one.numbers[0]]) if len(walls.positions) else None
        return InTheWay(kind="wall", names=(), worth=one.worth, at=at)
    names = tuple(asked.wished[number].quantity for number in one.numbers)
    return InTheWay(kind=one.kind, names=names, worth=one.worth)
