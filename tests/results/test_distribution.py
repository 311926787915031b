"""Distributions of sums and quadratics of uniform errors against their closed forms."""

import numpy as np
import pytest

from borestudy.results.distribution import (
    PERCENTILES,
    effects,
    first_order_deviation,
    shares_of_limits,
    spread_of,
    symmetric,
    variance_shares,
    with_half,
)

FIRST = np.array([3.0, -1.0, 0.25])


def test_the_points_fill_the_cube_evenly_and_are_the_same_for_a_seed():
    shares = shares_of_limits(3, 10, seed=5)
    assert shares.shape == (1024, 3)
    for column in shares.T:  # one point in each of 1024 slices: Sobol's first property
        assert sorted(np.floor((column + 1) / 2 * 1024)) == list(range(1024))
    np.testing.assert_array_equal(shares, shares_of_limits(3, 10, seed=5))
    assert (shares != shares_of_limits(3, 10, seed=6)).any()


def test_the_variance_of_a_sum_is_a_third_of_the_squares():
    exact = np.sqrt((9 + 1 + 0.0625) / 3)
    assert first_order_deviation(FIRST) == pytest.approx(exact, rel=1e-14)
    # each error's mean square is right to the square of 1/1024, products of two to about 1/1024
    found = spread_of(effects(shares_of_limits(3), FIRST))
    assert found.standard_deviation == pytest.approx(exact, rel=2e-3)
    assert found.percentiles[2] == pytest.approx(0.0, abs=0.02)


def test_percentiles_of_one_uniform_error_are_its_limits_shares():
    found = spread_of(effects(shares_of_limits(1), [2.0]))
    exact = [2 * (2 * p / 100 - 1) for p in PERCENTILES]
    np.testing.assert_allclose(found.percentiles, exact, atol=2 * 2 / 1024)
    assert found.span == pytest.approx(4 * 0.95, abs=8 / 1024)


def test_percentiles_of_two_equal_errors_are_the_triangles():
    """u1 + u2 between -2 and 2: below -2 + s lies s²/8, so 2.5 % at s = sqrt(0.2)."""
    found = spread_of(effects(shares_of_limits(2), [1.0, 1.0]))
    assert found.percentiles[0] == pytest.approx(-2 + np.sqrt(0.2), abs=0.02)
    assert found.percentiles[4] == pytest.approx(2 - np.sqrt(0.2), abs=0.02)


def test_a_quadratics_mean_and_percentiles_are_those_in_closed_form():
    """q = a u + b u²/2 rises where |b| < a: its percentiles are q at those of u."""
    a, b = 2.0, 1.5
    values = effects(shares_of_limits(1), [a], np.array([[b]]))
    assert values.mean() == pytest.approx(b / 6, abs=1e-5)  # the mean of u² is a third
    at = 2 * np.array(PERCENTILES) / 100 - 1
    exact = a * at + b * at**2 / 2
    np.testing.assert_allclose(spread_of(values).percentiles, exact, atol=(a + b) * 2 / 1024)
    assert abs(exact[0] + exact[-1]) > 1  # which first order alone would miss by far


def test_products_of_two_errors_count_by_both():
    """q = c u1 u2: its mean is zero and its variance c²/9."""
    second = symmetric({0: np.array([0.0, 0.7])}, 2)
    np.testing.assert_array_equal(second, [[0, 0.7], [0.7, 0]])
    values = effects(shares_of_limits(2), [0.0, 0.0], second)
    assert values.mean() == pytest.approx(0.0, abs=2e-3)
    assert values.std() == pytest.approx(0.7 / 3, rel=5e-3)


def test_two_columns_that_say_one_derivative_are_averaged():
    second = symmetric({0: np.array([1.0, 0.6, 0.1]), 2: np.array([0.3, 0.4, 2.0])}, 3)
    np.testing.assert_allclose(second, [[1.0, 0.6, 0.2], [0.6, 0.0, 0.4], [0.2, 0.4, 2.0]])


def test_shares_of_the_variance_add_up_and_go_by_the_squares():
    shares = variance_shares(FIRST)
    assert shares.sum() == pytest.approx(1.0, rel=1e-14)
    assert shares[0] / shares[1] == pytest.approx(9.0)
    assert variance_shares([0.0, 0.0]).tolist() == [0.0, 0.0]


def test_half_a_tolerance_takes_a_quarter_of_the_variance():
    shares = shares_of_limits(2)
    halved = spread_of(effects(with_half(shares, 1), [0.0, 4.0]))
    assert halved.span == pytest.approx(spread_of(effects(shares, [0.0, 2.0])).span, rel=1e-12)
    assert shares[:, 1].max() > 0.9  # the errors themselves are left alone
