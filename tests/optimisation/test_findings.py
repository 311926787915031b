"""What stands in the way of a wish, and what it leaves open."""

import numpy as np
import pytest

from borestudy.optimisation.aims import Aim, Limits, Point, Walls, misfit, propose
from borestudy.optimisation.findings import hindrances, leeway
from borestudy.optimisation.search import search

from .test_search import HIGH, LIMITS, LOW, START, aims_of, helmholtz

ONE = np.ones(3)


def stands_in_the_way(aims, limits=LIMITS):
    found = search(helmholtz, START, aims, limits)
    step = found.path[found.returned[0]]
    proposal = propose(aims, step.point, START, limits, Walls.none(3))
    return hindrances(aims, step.point, limits, proposal, misfit(aims, step.point.values))


def test_nothing_stands_in_the_way_of_a_wish_that_is_met():
    assert stands_in_the_way(aims_of(np.array([3.9, 4.2, 1.05]))) == []


def test_the_limit_that_a_wish_ends_at_is_named():
    """A volume of 1.9 cm³ is beyond the largest, whatever the neck."""
    found = stands_in_the_way(aims_of(np.array([3.6, 5.0, 1.9])))
    assert found[0].kind == "high"
    assert found[0].numbers == (2,)
    assert all(one.kind != "against" for one in found)


def test_a_figure_that_must_be_kept_is_named_where_it_is_in_the_way():
    aims = [Aim("resonance", 80.0, 1.0), Aim("volume", 0.0, 0.5, True)]
    point = helmholtz(START)
    at_bound = Point(START, np.array([4.0, -0.49]), point.slopes[[0, 2]])
    room = np.array([1e-3, 1e-3, 0.3])
    pinned = Limits(START - room, START + room)
    proposal = propose(aims, at_bound, START, pinned, Walls.none(3), strict=1e6)
    found = hindrances(aims, at_bound, pinned, proposal, misfit(aims, at_bound.values))
    assert ("kept", (1,)) in [(one.kind, one.numbers) for one in found]


def test_a_figure_that_must_be_kept_is_not_named_where_it_has_room():
    """The limits are so narrow that the volume stays far within its bound."""
    aims = [Aim("resonance", 500.0, 1.0), Aim("volume", 0.0, 1e4, True)]
    point = helmholtz(START)
    there = Point(START, point.values[[0, 2]], point.slopes[[0, 2]])
    room = np.array([1e-3, 1e-3, 1e-3])
    pinned = Limits(START - room, START + room)
    proposal = propose(aims, there, START, pinned, Walls.none(3), strict=1e6)
    found = hindrances(aims, there, pinned, proposal, misfit(aims, there.values))
    assert all(one.kind != "kept" for one in found)
    assert proposal.costs["kept", 1] == 0


def test_two_wishes_that_pull_against_one_another_are_named():
    """With one dimension alone a higher resonance is a smaller cup."""
    aims = [Aim("resonance", 50.0, 1.0), Aim("volume", 5.0, 0.5)]

    def solve(x, everything):
        whole = helmholtz(np.array([*START[:2], x[0]]))
        return Point(x, whole.values[[0, 2]], whole.slopes[[0, 2]][:, [2]])

    limits = Limits(LOW[2:], HIGH[2:])
    found = search(solve, START[2:], aims, limits)
    point = found.path[found.returned[0]].point
    proposal = propose(aims, point, START[2:], limits, Walls.none(1))
    first, *_ = hindrances(aims, point, limits, proposal, misfit(aims, point.values))
    assert (first.kind, first.numbers) == ("against", (0, 1))
    assert first.worth > 0.5


def test_a_wish_that_determines_every_dimension_leaves_no_combination_open():
    aims, point = aims_of(np.array([3.9, 4.2, 1.05])), helmholtz(np.array([3.9, 4.2, 1.05]))
    found = leeway(aims, point, LIMITS, ONE)
    assert found.combinations == ()
    slopes = point.slopes / np.array([1.0, 0.5, 0.5])[:, None]
    assert found.within == pytest.approx(np.sqrt(np.diag(np.linalg.inv(slopes.T @ slopes))))


def test_a_longer_neck_with_a_wider_one_that_does_the_same_is_found():
    """The resonance alone: d²/(V l) is the same along l ∝ d² and along V ∝ d²."""
    point = helmholtz(START)
    one = Point(START, point.values[:1], point.slopes[:1])
    found = leeway([Aim("resonance", 0.0, 1.0)], one, LIMITS, ONE)
    assert len(found.combinations) == 2
    for combination in found.combinations:
        assert np.abs(combination).max() == 1
        assert point.slopes[0] @ combination == pytest.approx(0, abs=1e-9)
    assert np.isnan(found.within).all()


def test_a_dimension_at_its_limit_is_determined_by_it():
    point = helmholtz(np.array([3.6, 5.0, HIGH[2]]))
    two = Point(point.x, point.values[:2], point.slopes[:2])
    aims = [Aim("resonance", 0.0, 1.0), Aim("resistance", 0.0, 0.5)]
    found = leeway(aims, two, LIMITS, ONE)
    assert found.combinations == ()
    assert found.within[2] == 0


def test_a_dimension_without_effect_is_open_alone():
    point = helmholtz(START)
    one = Point(START, point.values[2:], point.slopes[2:])
    found = leeway([Aim("volume", 0.0, 0.5)], one, LIMITS, ONE)
    assert sorted(tuple(np.abs(each)) for each in found.combinations) == [(0, 1, 0), (1, 0, 0)]
    assert found.within[2] == pytest.approx(0.5 * START[2] / 100)


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_what_a_dimension_has_room_for_on_either_side_counts(side):
    """A figure that leaves its tolerance at the far limit alone determines the dimension."""
    ends = sorted([side * 1.0, side * -100.0])
    limits = Limits(np.array(ends[:1]), np.array(ends[1:]))
    point = Point(np.zeros(1), np.zeros(1), np.array([[0.02]]))
    found = leeway([Aim("figure", 0.0, 1.0)], point, limits, np.ones(1))
    assert found.combinations == ()
    assert found.within == pytest.approx([50.0])
