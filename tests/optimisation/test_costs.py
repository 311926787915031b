"""What the linear problem of a wish costs, and which of equal solutions it takes."""

import numpy as np
import pytest

from borestudy.optimisation.aims import Aim, Limits, Point, Walls, misfit, propose, strictness
from borestudy.optimisation.findings import TENTH, hindrances

#: Two figures of two dimensions, linear, at a place away from where the search began.
SLOPES = np.array([[10.0, 4.0], [-3.0, 6.0]])
HERE, ORIGIN = np.array([0.4, -0.1]), np.zeros(2)
AIMS = [Aim("first", 20.0, 0.5), Aim("second", 5.0, 1.0)]
POINT = Point(HERE, SLOPES @ HERE, SLOPES)
WIDE = 100.0


def limits(high: float) -> Limits:
    return Limits(np.full(2, -WIDE), np.array([high, WIDE]))


def proposed(high: float = WIDE, aims: list[Aim] = AIMS, point: Point = POINT):  # type: ignore[no-untyped-def]
    return propose(aims, point, ORIGIN, limits(high), Walls.none(2))


def test_a_limits_cost_is_half_the_misfit_that_goes_with_it() -> None:
    high, step = 1.0, 1e-4
    cost = proposed(high).costs["high", 0]
    less, more = (proposed(high + sign * step).misfit for sign in (-1, 1))
    # The small cost of movement, 1e-6 of a square, is in one and not in the other.
    assert cost == pytest.approx((less - more) / (2 * step) / 2, rel=1e-4)
    assert cost > 1


def test_a_hindrances_worth_is_the_part_of_the_misfit_that_a_tenth_more_takes_away() -> None:
    high = 1.0
    proposal = proposed(high)
    there = Point(HERE + proposal.step, SLOPES @ (HERE + proposal.step), SLOPES)
    expected = misfit(AIMS, there.values)
    again = propose(AIMS, there, ORIGIN, limits(high), Walls.none(2))
    (found,) = [
        one for one in hindrances(AIMS, there, limits(high), again, expected) if one.kind == "high"
    ]
    slope = (proposed(high - 1e-4).misfit - proposed(high + 1e-4).misfit) / 2e-4
    assert found.worth == pytest.approx(min(TENTH * slope / expected, 1.0), rel=1e-3)
    assert 0.01 < found.worth < 1


def test_a_kept_figures_cost_is_half_the_misfit_that_goes_with_its_bound() -> None:
    # A bound of one figure keeps the other from its target: what is gained a tolerance more.
    def with_bound(within: float):  # type: ignore[no-untyped-def]
        aims = [Aim("first", 20.0, 0.5), Aim("second", 0.0, within, kept=True)]
        narrow = Limits(np.array([-WIDE, -0.2]), np.array([WIDE, 0.2]))
        point = Point(ORIGIN, np.zeros(2), SLOPES)
        strict = strictness(aims, point.values)
        return propose(aims, point, ORIGIN, narrow, Walls.none(2), strict=strict)

    within, step = 2.0, 1e-5
    cost = with_bound(within).costs["kept", 1]
    less, more = (with_bound(within + sign * step).misfit for sign in (-1, 1))
    # One tolerance more of a bound of 0.98 tolerances.
    slope = within * (less - more) / (2 * step) / 0.98
    assert cost == pytest.approx(slope / 2, rel=1e-3)


def test_of_equal_solutions_the_nearest_to_where_the_search_began_is_taken() -> None:
    slopes = np.array([[10.0, 4.0]])
    point = Point(HERE, slopes @ HERE, slopes)
    found = HERE + proposed(aims=AIMS[:1], point=point).step
    # The foot of the perpendicular from the origin on the line of solutions.
    nearest = 20.0 * slopes[0] / (slopes[0] @ slopes[0])
    np.testing.assert_allclose(found, nearest, rtol=1e-5)
