"""A branch of solutions: where each point starts from."""

import numpy as np
import pytest

from borestudy.fem.continuation import Branch, Path, Point


@pytest.mark.parametrize(
    ("reach", "own"), [(10.0, [1.0]), (1.5, [1.0, 4.0]), (0.5, [1.0, 2.0, 4.0])]
)
def test_a_point_starts_from_the_one_before_only_where_that_is_near(reach, own):
    """The branch is u = ln λ, which its own tangent foretells exactly."""
    starts = {}

    def solve(start, parameter, asked):
        starts[parameter] = start
        return Point(parameter, np.log([parameter]), np.array([1 / parameter]), 1, 1)

    branch = Branch(
        solve,
        lambda parameter: [parameter],
        Path(first_step=np.inf, longest_step=np.inf),
        lambda first, second: second - first < reach,
    )
    branch.follow([1.0, 2.0, 4.0], [None, None, None])
    assert [parameter for parameter, start in starts.items() if start is None] == own
    for parameter, start in starts.items():
        if start is not None:
            assert start == pytest.approx(np.log(parameter))
    assert [point.parameter for point in branch.points] == [1.0, 2.0, 4.0]
    assert branch.failed_steps == 0


def test_no_point_that_is_far_from_the_last_one_is_used_to_foretell_the_next():
    """Two straight pieces in ln λ that do not meet: the second is foretold by itself alone."""
    starts = {}

    def solve(start, parameter, asked):
        starts[parameter] = start
        jump = 10.0 if parameter > 1.5 else 0.0
        return Point(parameter, jump + np.log([parameter]), np.array([1 / parameter]), 1, 1)

    branch = Branch(
        solve,
        lambda parameter: [parameter],
        Path(first_step=np.inf, longest_step=np.inf),
        lambda first, second: (first > 1.5) == (second > 1.5),
    )
    branch.follow([1.0, 2.0, 4.0], [None, None, None])
    assert starts[2.0] is None
    assert starts[4.0] == pytest.approx(10 + np.log(4.0))
