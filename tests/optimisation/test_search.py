"""The search on figures that are known in closed form."""

import numpy as np
import pytest
from scipy.optimize import minimize

from borestudy.drills import DRILL_SIZES, drill_diameter
from borestudy.optimisation.aims import Aim, Limits, Point, Walls, misfit
from borestudy.optimisation.least_squares import NothingSatisfies, constrained
from borestudy.optimisation.search import search

START = np.array([3.6, 5.0, 1.2])  # throat diameter [mm], its length [mm], cup volume [cm³]
LOW, HIGH = np.array([3.2, 3.0, 0.9]), np.array([4.2, 8.0, 1.6])
LIMITS = Limits(LOW, HIGH)


def helmholtz(x, everything=True):
    """Resonance [cents], resistance and volume [log percent] of a cavity with a neck."""
    diameter, length, volume = x / START
    values = np.array(
        [
            600 * np.log2(diameter**2 / (volume * length)),
            100 * np.log(length / diameter**4),
            100 * np.log(volume),
        ]
    )
    relative = np.array(
        [
            [2 * 600 / np.log(2), -600 / np.log(2), -600 / np.log(2)],
            [-400.0, 100.0, 0.0],
            [0, 0, 100.0],
        ]
    )
    return Point(x, values, relative / x)


def aims_of(x, within=(1.0, 0.5, 0.5), kept=()):
    names, values = ("resonance", "resistance", "volume"), helmholtz(x).values
    return [Aim(*one, one[0] in kept) for one in zip(names, values, within, strict=True)]


class Counted:
    """Figures that count how often they were asked for."""

    def __init__(self, solve=helmholtz):
        self.solve, self.asked = solve, []

    def __call__(self, x, everything):
        self.asked.append((x.copy(), everything))
        return self.solve(x, everything)


def test_the_minimum_with_inequalities_is_that_of_a_library_and_its_multipliers_are_the_slopes():
    random = np.random.default_rng(4)
    for _ in range(20):
        matrix, wanted = random.normal(size=(6, 3)), random.normal(size=6)
        gradients, least = random.normal(size=(4, 3)), random.normal(size=4) - 0.5
        found = constrained(matrix, wanted, gradients, least)
        cost = lambda x, a=matrix, b=wanted: float(((a @ x - b) ** 2).sum())  # noqa: E731
        other = minimize(
            cost,
            np.zeros(3),
            constraints={"type": "ineq", "fun": lambda x, g=gradients, h=least: g @ x - h},
            options={"ftol": 1e-14},
        )
        assert found.x == pytest.approx(other.x, abs=1e-5)
        step = 1e-5
        for place in range(4):
            lower = least.copy()
            lower[place] -= step
            less = cost(constrained(matrix, wanted, gradients, lower).x)
            fall = (cost(found.x) - less) / (2 * step)
            # The costs bend by some 20 per unit squared, and the step is 1e-5.
            assert found.multipliers[place] == pytest.approx(fall, rel=1e-4, abs=2e-4)


def test_inequalities_that_contradict_one_another_are_refused():
    with pytest.raises(NothingSatisfies):
        constrained(np.eye(2), np.zeros(2), np.array([[1.0, 0], [-1.0, 0]]), np.array([1.0, 0.5]))


def test_a_hidden_place_is_found_again_within_a_hundredth_of_a_thousandth_of_a_millimetre():
    hidden, solve = np.array([3.9, 4.2, 1.05]), Counted()
    found = search(solve, START, aims_of(hidden), LIMITS)
    (best,) = found.returned
    # Newton's error squares with each step; the last step was below 3e-4 and the one before 0.03.
    assert found.path[best].point.x == pytest.approx(hidden, abs=1e-3)
    assert len(found.path) == len(solve.asked) <= 12
    assert solve.asked[0][1]
    assert solve.asked[-1][1]
    assert not any(everything for _, everything in solve.asked[1:-1])


def test_every_bore_of_the_search_but_the_start_lies_within_the_limits():
    hidden = np.array([4.19, 3.05, 1.55])
    found = search(helmholtz, np.array([3.1, 8.5, 1.2]), aims_of(hidden), LIMITS)
    for step in found.path[1:]:
        assert (step.point.x >= LOW - 1e-9).all()
        assert (step.point.x <= HIGH + 1e-9).all()
    assert found.path[found.returned[0]].point.x == pytest.approx(hidden, abs=2e-3)


def test_a_wish_beyond_the_limits_ends_where_a_general_optimiser_ends():
    aims = [Aim("resonance", 400.0, 1.0), Aim("resistance", 60.0, 0.5), Aim("volume", 0.0, 0.5)]
    found = search(helmholtz, START, aims, LIMITS, most=30)
    other = minimize(
        lambda x: misfit(aims, helmholtz(x).values) / 1e4,
        START,
        bounds=list(zip(LOW, HIGH, strict=True)),
        method="L-BFGS-B",
        options={"ftol": 1e-15, "gtol": 1e-10},
    )
    best = found.path[found.returned[0]]
    assert best.misfit == pytest.approx(1e4 * other.fun, rel=1e-3)
    assert best.point.x == pytest.approx(other.x, abs=5e-3)


def test_of_equal_bores_the_one_nearest_to_the_start_is_taken():
    aims = [Aim("volume", 100 * np.log(1.1), 0.5)]
    found = search(
        lambda x, everything: Point(x, *[each[2:] for each in (helmholtz(x).values,
                                                               helmholtz(x).slopes)]),
        START, aims, LIMITS,
    )  # fmt: skip
    # The neck is without effect on the volume, and stays.
    best = found.path[found.returned[0]].point.x
    assert best == pytest.approx([3.6, 5.0, 1.32], abs=1e-3)


def test_what_is_kept_stays_within_its_bound_and_uses_it():
    aims = [Aim("resonance", 60.0, 1.0), Aim("resistance", 0.0, 1.0, True),
            Aim("volume", 0.0, 2.0, True)]  # fmt: skip
    tight = Limits(np.array([3.59, 4.99, 0.9]), np.array([3.61, 5.01, 1.6]))
    found = search(helmholtz, START, aims, tight)
    best = found.path[found.returned[0]].point
    # The search uses 0.98 of a bound, and ends at steps below a thousandth of a unit or two.
    assert best.values[2] == pytest.approx(-2.0, abs=0.1)
    assert abs(best.values[2]) <= 2.0
    assert abs(best.values[1]) <= 1.0
    assert best.values[0] < 59


DRILLS = sorted(1e3 * drill_diameter(name) for name in DRILL_SIZES)
ON_DRILLS = Limits(LOW, HIGH, {0: [size for size in DRILLS if LOW[0] <= size <= HIGH[0]]})


def test_a_bore_on_drills_has_the_best_of_the_neighbouring_ones_and_the_rest_chosen_anew():
    hidden = np.array([3.83, 4.2, 1.05])  # between drill 25, 3.7973 mm, and drill 24, 3.8608 mm
    found = search(helmholtz, START, aims_of(hidden), ON_DRILLS)
    sizes = [found.path[place].point.x[0] for place in found.returned]
    assert set(np.round(sizes, 4)) >= {3.7973, 3.8608}
    assert len(found.path) <= 12
    for place in found.returned:
        step = found.path[place]
        assert step.everything
        other = minimize(
            lambda rest, d=step.point.x[0]: misfit(
                aims_of(hidden), helmholtz(np.array([d, *rest])).values
            ),
            step.point.x[1:],
            bounds=list(zip(LOW[1:], HIGH[1:], strict=True)),
        )
        # No further solve is spent on less than a tenth of the misfit, or a hundredth of one.
        assert other.fun - 1e-6 <= step.misfit <= 1.1 * other.fun + 0.02
    misfits = [found.path[place].misfit for place in found.returned]
    assert misfits == sorted(misfits)


def test_a_bore_whose_every_dimension_is_on_sizes_is_one_of_the_grid():
    steps = Limits(LOW, HIGH, {0: ON_DRILLS.sizes[0], 1: list(np.arange(3.0, 8.01, 0.25)),
                               2: list(np.arange(0.9, 1.601, 0.05))})  # fmt: skip
    found = search(helmholtz, START, aims_of(np.array([3.83, 4.2, 1.08])), steps)
    assert 1 <= len(found.returned) <= 3
    for place in found.returned:
        for number, value in enumerate(found.path[place].point.x):
            assert min(abs(value - size) for size in steps.sizes[number]) < 1e-9


def test_a_derivative_that_is_missing_is_found_from_the_values_of_the_solves():
    hidden = np.array([3.9, 5.0, 1.05])

    def partly(x, everything):
        point = helmholtz(x)
        slopes = point.slopes.copy()
        slopes[1] = np.nan
        return Point(x, point.values, slopes)

    limits = Limits(np.array([3.2, 4.999, 0.9]), np.array([4.2, 5.001, 1.6]))
    found = search(partly, START, aims_of(hidden), limits)
    assert found.path[found.returned[0]].misfit < 0.01


def test_noise_of_the_figures_does_not_keep_the_search_from_ending():
    random = np.random.default_rng(1)

    def noisy(x, everything):
        point = helmholtz(x)
        return Point(x, point.values + 0.02 * random.normal(size=3), point.slopes)

    found = search(noisy, START, aims_of(np.array([3.9, 4.2, 1.05])), LIMITS)
    assert len(found.path) <= 12
    # Noise of 0.02 moves the least determined dimension by 0.02/J, J being 20 percent per mm.
    assert found.path[found.returned[0]].point.x == pytest.approx([3.9, 4.2, 1.05], abs=0.01)


def test_a_wall_that_exists_is_not_crossed_though_it_bends():
    """The neck may not be narrower than a curve of its length: 3.5 + (length - 5)² / 4."""

    def walls(x):
        gap = x[0] - 3.5 - (x[1] - 5) ** 2 / 4
        return Walls(np.array([gap]), np.array([[1.0, -(x[1] - 5) / 2, 0.0]]))

    hidden = np.array([3.6, 6.5, 1.2])
    assert walls(hidden).gap[0] < -0.4
    found = search(helmholtz, START, aims_of(hidden), LIMITS, walls)
    for step in found.path:
        assert walls(step.point.x).gap[0] > -1e-5
    best = found.path[found.returned[0]].point.x
    assert walls(best).gap[0] == pytest.approx(0.0, abs=1e-4)
