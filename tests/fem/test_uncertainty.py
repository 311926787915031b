"""The stated uncertainty holds the error of ladders whose limit is known."""

import numpy as np
import pytest

from borestudy.fem.uncertainty import EDGE_ORDER, grid_uncertainty
from borestudy.flow.uncertainty import ladder_uncertainty
from borestudy.results.changes import change_of_levels

#: The studies' own ratio of mesh sizes.
RATIO = 1.5
SAMPLES = 20_000
#: Stated at about 95 %.  Over 20,000 ladders a share of 0.95 is found to ± 0.003 (two sigma of the
#: binomial law).
STATED, FOUND_TO = 0.95, 0.003


def series(order, error, levels, limit=1.0, ratio=RATIO):
    """f_h = f (1 + C h^p): `error` is relative, signed and that of the finest level."""
    sizes = ratio ** np.arange(levels - 1, -1, -1.0)
    return limit * (1 + error * sizes**order)


def random_ladders(levels, lowest_order, noise=0.05):
    """Ladders about 1 with a random order, a smoother error beside it, and meshes that scatter.

    The leading order is between `lowest_order` and 3, its constant from 1e-4 to 0.1 with either
    sign.  The next term is one to two orders smoother and up to 0.3 of the leading one.  Each mesh
    is off by its own `noise`, a share of the last step, since no two meshes of a mesher are alike.
    """
    random = np.random.default_rng(20_000)
    order = random.uniform(lowest_order, 3.0, SAMPLES)
    constant = random.choice([-1.0, 1.0], SAMPLES) * 10 ** random.uniform(-4, -1, SAMPLES)
    smoother = constant * random.uniform(-0.3, 0.3, SAMPLES)
    sizes = RATIO ** np.arange(levels - 1, -1, -1.0)[:, None]
    values = 1 + constant * sizes**order
    values += smoother * sizes ** (order + random.uniform(1, 2, SAMPLES))
    step = np.abs(values[-1] - values[-2])
    return values + noise * step * random.standard_normal(values.shape)


def coverage(ladders, uncertainty):
    return float(np.mean(np.abs(ladders[-1] - 1) <= uncertainty))


@pytest.mark.parametrize("levels", [2, 3, 4])
def test_about_95_percent_of_random_ladders_have_their_limit_within_it(levels):
    """Leading orders from that of a re-entrant edge up, which is the lowest a study meets."""
    ladders = random_ladders(levels, EDGE_ORDER)
    uncertainty = grid_uncertainty(ladders, RATIO)
    assert coverage(ladders, uncertainty) >= STATED - FOUND_TO
    # and it is no blank cheque: half of the time within a factor of six of the error
    assert np.median(uncertainty / np.abs(ladders[-1] - 1)) < 6


@pytest.mark.parametrize("levels", [2, 3])
def test_about_95_percent_of_random_ladders_of_a_flow_have_their_limit_within_it(levels):
    ladders = random_ladders(levels, EDGE_ORDER)
    uncertainty = [ladder_uncertainty(ladder, RATIO) for ladder in ladders.T[:4000]]
    assert coverage(ladders[:, :4000], uncertainty) >= STATED - 0.007  # of 4000
    assert np.median(uncertainty / np.abs(ladders[-1, :4000] - 1)) < 6


@pytest.mark.parametrize("ratio", [1.3, 1.5, 2.0])
@pytest.mark.parametrize("order", [1.01, 1.2, EDGE_ORDER])
@pytest.mark.parametrize("error", [1e-3, -1e-3])
def test_three_grids_that_show_their_order_state_the_error_times_roaches_1_25(order, error, ratio):
    """Richardson's extrapolation is exact for one power, so that only the safety factor is left."""
    ladder = series(order, error, 3, 7.0, ratio)
    assert grid_uncertainty(ladder, ratio) == pytest.approx(1.25 * 7.0 * 1e-3, rel=1e-6)


@pytest.mark.parametrize("ratio", [1.3, 1.5, 2.0])
@pytest.mark.parametrize("order", [EDGE_ORDER, 2.0])
def test_two_grids_state_the_error_of_the_assumed_order_times_roaches_3(order, ratio):
    ladder = series(order, -1e-3, 2, 7.0, ratio)
    found = grid_uncertainty(ladder, ratio, order=order)
    assert found == pytest.approx(3 * 7.0 * 1e-3, rel=1e-6)


@pytest.mark.parametrize("order", [2.0, 3.0, 6.0])
def test_an_order_above_that_of_an_edge_is_not_extrapolated_with(order):
    """Cells of third order seen on coarse meshes: the edge's 4/3 is what finer ones are left with.

    The last step then stands for what is lacked at 4/3, whatever the order that was seen.
    """
    ladder = series(order, 1e-3, 3)
    step = abs(ladder[-1] - ladder[-2])
    expected = 1.25 * step / (RATIO ** (4 / 3) - 1)
    assert grid_uncertainty(ladder) == pytest.approx(expected, rel=1e-6)
    assert grid_uncertainty(ladder, highest_order=10.0) == pytest.approx(1.25e-3, rel=1e-6)


def edge_hidden_by_smooth_part(share=0.4):
    """Three levels whose steps suggest an order above 2, and the edge's error that remains."""
    sizes = RATIO ** np.arange(2, -1, -1.0)
    edge = 1e-3 * sizes ** (4 / 3)
    return 1 + edge + share * 1e-3 * sizes**5


def test_an_edge_that_the_smooth_error_hides_is_still_within_the_uncertainty():
    ladder = edge_hidden_by_smooth_part()
    steps = np.diff(ladder)
    assert np.log(steps[0] / steps[1]) / np.log(RATIO) > 3
    error = ladder[-1] - 1
    # what an extrapolation with the order that was seen would state
    assert grid_uncertainty(ladder, highest_order=4.0) < error
    for found in (grid_uncertainty(ladder), ladder_uncertainty(ladder, RATIO)):
        assert found >= error


def test_an_edge_that_the_smooth_error_hides_in_a_change_is_still_within_the_changes_uncertainty():
    """The reference has no error, so that the change has all of the case's."""
    ladder = edge_hidden_by_smooth_part()
    change = change_of_levels(list(ladder), [1.0, 1.0, 1.0])
    assert change.value == pytest.approx(100 * (ladder[-1] - 1))
    assert change.uncertainty >= change.value


@pytest.mark.parametrize("last", [1.0, 1.0 + 1e-6, 1.0 + 2e-3, 1.0 + 3e-2])
def test_three_grids_that_do_not_converge_by_a_law_state_the_cautious_three(last):
    """The last step is 0 or changes its sign: the larger of it and the step before it counts."""
    ladder = np.array([1.01, 1.0, last])
    shrink = 1.5 ** (4 / 3)
    by_last = 3 * (last - 1.0) / (shrink - 1)
    by_step_before = 3 * 0.01 / shrink / (shrink - 1)
    assert grid_uncertainty(ladder) == pytest.approx(max(by_last, by_step_before), rel=1e-6)


def test_steps_that_grow_state_the_cautious_three():
    ladder = np.array([1.0, 1.01, 1.05])
    expected = 3 * 0.04 / (1.5 ** (4 / 3) - 1)
    assert grid_uncertainty(ladder) == pytest.approx(expected, rel=1e-6)


def test_an_order_below_one_is_no_law():
    """Slower than the first order a series may end anywhere: three, not 1.25, and not its order."""
    ladder = series(0.8, 1e-3, 3)
    step = abs(ladder[-1] - ladder[-2])
    before = abs(ladder[-2] - ladder[-3])
    shrink = 1.5 ** (4 / 3)
    expected = 3 * max(step, before / shrink) / (shrink - 1)
    assert grid_uncertainty(ladder) == pytest.approx(expected, rel=1e-6)


def test_a_figure_that_no_mesh_moves_is_known_to_rounding_and_not_to_nought():
    assert 0 < grid_uncertainty([5.0, 5.0, 5.0]) <= 1e-11
    assert grid_uncertainty([5.0, 5.0]) == pytest.approx(5e-12)


def test_every_figure_of_an_array_is_judged_by_itself():
    one, other = series(1.2, 1e-3, 3), series(3.0, 1e-2, 3)
    together = grid_uncertainty(np.column_stack([one, other]))
    np.testing.assert_array_equal(together, [grid_uncertainty(one), grid_uncertainty(other)])


@pytest.mark.parametrize("order", [1.0, EDGE_ORDER, 2.0, 3.0])
@pytest.mark.parametrize("error", [1e-2, -1e-2])
def test_two_meshes_of_a_flow_cover_every_order_from_the_first(order, error):
    """A sharp edge leaves the first order in the worst case: what is lacked is twice the step."""
    ladder = series(order, error, 2)
    assert ladder_uncertainty(ladder, RATIO) >= abs(error)


def test_two_meshes_of_a_flow_state_three_times_a_second_order_error():
    assert ladder_uncertainty(series(2.0, 1e-2, 2), RATIO) == pytest.approx(3e-2, rel=1e-6)


def test_meshes_of_a_flow_that_agree_by_chance_are_believed_to_half_a_per_mil():
    """Four levels of two entries were seen to scatter by it: 0.05 % of the figure."""
    for count in (2, 3):
        assert ladder_uncertainty(np.full(count, -20.0), RATIO) == pytest.approx(0.01)


@pytest.mark.parametrize(
    ("values", "ratio", "message"),
    [([1.0], 1.5, "at least two grids"), (3.0, 1.5, "at least two grids"),
     ([1.0, 2.0], 1.0, "above 1, found 1"), ([1.0, 2.0], 0.5, "above 1, found 0.5")],
)  # fmt: skip
def test_a_ladder_that_says_nothing_is_refused(values, ratio, message):
    with pytest.raises(ValueError, match=message):
        grid_uncertainty(values, ratio)
