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
