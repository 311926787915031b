"""Boundary-layer coefficients against the exact tube function."""

import numpy as np
import pytest

from borestudy.acoustics.walls import (
    expansion_coefficients,
    layer_coefficients,
    layer_thicknesses,
    layer_validity,
    power_count,
    truncation_share,
)
from borestudy.closed_form.tube import wall_functions


def test_expansion_is_that_of_the_bessel_ratio():
    expected = [1, -1 / 2, -1 / 8, -1 / 8, -25 / 128]
    np.testing.assert_allclose(expansion_coefficients(5), expected)


@pytest.mark.parametrize("radius", [1.83e-3, 8e-3])
def test_coefficients_are_those_of_the_tube_of_the_local_radius(dry_air, radius):
    omega = 2 * np.pi * np.array([50.0, 200.0, 1000.0, 5000.0])
    exact = [-radius / 2 * function for function in wall_functions(radius, omega, dry_air)]
    for thickness, coefficient in zip(layer_thicknesses(omega, dry_air), exact, strict=True):
        expanded = layer_coefficients(thickness, 5) @ (1 / radius) ** np.arange(5)
        np.testing.assert_allclose(expanded, coefficient, rtol=1e-4)


def test_thick_layers_are_said_to_be_too_thick(dry_air):
    assert layer_validity(1 / 1.83e-3, 50.0, dry_air) == "good"
    assert "too thick" in layer_validity(1 / 0.5e-3, 20.0, dry_air)


def test_unknown_wall_is_refused_with_the_ones_allowed():
    with pytest.raises(ValueError, match="found 'rough'; allowed is lossless, plain, curved"):
        power_count("rough")


@pytest.mark.parametrize(("walls", "power", "coefficient"), [("plain", 1, 1 / 2),
                                                             ("curved", 5, 13 / 32)])  # fmt: skip
def test_what_ending_the_expansion_leaves_out_is_its_next_term(dry_air, walls, power, coefficient):
    """The next of I1(z)/I0(z) = 1 - 1/(2z) - 1/(8z²) - … - 13/(32 z⁵) - …, from long division."""
    radius = 1.83e-3
    for frequency in (1e3, 5e3, 2e4):
        omega = 2 * np.pi * frequency
        layer = np.sqrt(dry_air.viscosity / (dry_air.density * omega))  # |w|, so that |z| = r/|w|
        expected = coefficient * (layer / radius) ** power
        found = truncation_share(walls, 1 / radius, omega, dry_air)
        # the term after it is of the layer's order to this one
        assert found == pytest.approx(expected, rel=4 * layer / radius)


def test_without_losses_nothing_is_left_out(dry_air):
    assert truncation_share("lossless", 500.0, 1e3, dry_air) == 0.0
