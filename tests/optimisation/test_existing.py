"""A bore that exists: where the new wall would need metal."""

import numpy as np
import pytest

from borestudy.bore import Entry, bore_from_dimensions, cylinder, variation
from borestudy.optimisation.existing import added_metal, wall_gaps

SIZES = {
    "length": 0.088, "cup_diameter": 0.0162, "cup_depth": 0.0108, "cup_shape": 0.6,
    "throat_diameter": 0.0037, "throat_length": 0.005, "entry": Entry("rounded", (0.5e-3,)),
    "backbore_end_diameter": 0.009,
}  # fmt: skip


def bore(**changes):
    return bore_from_dimensions(**SIZES | changes)


def dimension(name, at):
    return variation(lambda value: bore(**at | {name: value}), (SIZES | at)[name], key=name)


def test_a_wider_pipe_lies_outside_by_the_difference_of_the_radii_and_a_longer_one_inside():
    old, new = cylinder(2e-3, 0.05), cylinder(2.5e-3, 0.05)
    assert added_metal(old, new)[0] == pytest.approx(0.5e-3, rel=1e-9)
    assert added_metal(new, old)[0] == pytest.approx(-0.5e-3, rel=1e-9)
    gaps, _, _ = wall_gaps(old, cylinder(2.5e-3, 0.051), [])
    assert gaps[-1] == pytest.approx(-1e-3)


@pytest.mark.parametrize(
    ("changes", "allowed"),
    [
        ({"throat_diameter": 0.0039}, True),
        ({"throat_diameter": 0.0036}, False),
        ({"cup_depth": 0.0113, "throat_length": 0.0045}, True),
        ({"cup_depth": 0.0113}, False),  # the throat moves into the backbore
        ({"cup_depth": 0.0103}, False),
        ({"backbore_end_diameter": 0.0092}, True),
        ({"throat_length": 0.0055}, False),
        ({"length": 0.086}, True),  # shortened at the shank end, which is then as wide as before
        ({"length": 0.090}, False),
        ({"entry": Entry("rounded", (1.0e-3,))}, True),
        ({"entry": Entry("rounded", (0.3e-3,))}, False),
    ],
    ids=str,
)
def test_what_needs_metal_is_told_from_what_does_not(changes, allowed):
    old, new = bore(), bore(**changes)
    gaps, _, _ = wall_gaps(old, new, [])
    # Cutting needs no tolerance; the outline of the old wall is a polygon good to some 1e-8 m.
    assert (gaps.min() >= -1e-7) == allowed
    radii = np.linspace(0, min(old.length, new.length), 2001)
    by_radius = (new.radius(radii) - old.radius(radii)).min() >= -1e-7
    assert (by_radius and new.length <= old.length) == allowed


@pytest.mark.parametrize("name", ["throat_diameter", "cup_depth", "length", "throat_length"])
def test_the_derivative_of_the_gaps_is_that_of_bores_made_anew(name):
    at = {"throat_diameter": 0.0040, "cup_depth": 0.0115, "throat_length": 0.0042, "length": 0.085}
    step = 1e-6
    gaps = [
        wall_gaps(bore(), bore(**at | {name: at[name] + side * step}), [])[0] for side in (-1, 1)
    ]
    middle, slopes, _ = wall_gaps(bore(), bore(**at), [dimension(name, at)])
    found = (gaps[1] - gaps[0]) / (2 * step)
    # The outline of the old wall is a polygon, whose normals turn by up to some hundredths.
    assert slopes[:, 0] == pytest.approx(found, abs=0.03)
    assert middle.shape == (len(slopes),)


@pytest.mark.parametrize("name", ["throat_diameter", "cup_diameter", "backbore_end_diameter"])
def test_on_the_old_wall_itself_the_gaps_grow_along_its_normal(name):
    """Where a wish begins, the new wall is the old one: the outline has no side there."""
    step = 2e-5
    gaps, slopes, _ = wall_gaps(bore(), bore(), [dimension(name, {})])
    assert np.abs(gaps).max() < 1e-7
    wider, _, _ = wall_gaps(bore(), bore(**{name: SIZES[name] + step}), [])
    assert slopes[:, 0].max() > 0.4
    # Places slide along the wall too; beside a corner another piece may then be the nearest.
    off = np.abs(slopes[:, 0] - wider / step)
    assert np.median(off) < 2e-3
    assert np.quantile(off, 0.9) < 0.05
