"""The model's functions, point by point."""

import numpy as np
import pytest

from borestudy.flow.models.spalart_allmaras import pointwise as model
from borestudy.flow.models.spalart_allmaras.flux import STEP, Points, flux, flux_derivative


def test_constants_keep_the_log_layer_in_equilibrium():
    """Production, diffusion and destruction balance for χ = κ y⁺ u_τ and Ω = u_τ / (κ y)."""
    balance = model.CB1 / model.KAPPA**2 + (1 + model.CB2) / model.SIGMA - model.CW1
    assert balance == pytest.approx(0, abs=1e-12)
    assert pytest.approx(3.2391, abs=1e-4) == model.CW1


def test_wall_function_is_one_in_the_log_layer():
    """f_w = 1 at r = 1 by construction (Spalart & Allmaras 1994)."""
    scale, shear = np.array([2.0]), np.array([5.0])
    assert model.wall_function(scale * shear, shear, scale) == pytest.approx(1)


@pytest.mark.parametrize(("chi", "ratio"), [(3.0, 0.210438), (5.0, 1.294234)])
def test_inflow_levels_give_the_published_eddy_viscosities(chi, ratio):
    """NASA's Turbulence Modeling Resource: ν_t/ν = 0.210438 at χ = 3 and 1.294234 at χ = 5."""
    assert model.eddy_viscosity(np.array([chi])) == pytest.approx(ratio, abs=5e-7)


def test_modified_vorticity_is_positive_and_smooth_where_its_two_forms_meet():
    scale = np.array([1.0])
    vorticity = np.linspace(0.05, 2.0, 4001)
    shear = model.modified_vorticity(np.full(4001, 3.0), vorticity, scale)
    assert (shear > 0).all()
    slope = np.diff(shear) / np.diff(vorticity)
    assert np.abs(np.diff(slope)).max() < 0.05


def test_diffusivity_stays_positive_for_any_negative_working_variable():
    chi = -np.geomspace(1e-3, 1e4, 200)
    assert (model.diffusivity(chi) > 0).all()
    assert (model.eddy_viscosity(chi) == 0).all()


def test_source_drives_a_negative_working_variable_back_up():
    chi = -np.geomspace(1e-3, 1e2, 50)
    source = model.source(chi, np.full(50, 3.0), np.full(50, 0.1), 5000.0)
    assert (source < 0).all()


@pytest.fixture
def random_state():
    """States with positive and negative working variable and vorticity, and their points."""
    generator = np.random.default_rng(3)
    state = generator.normal(size=(9, 40, 3))
    state[6] = generator.uniform(-2, 40, size=(40, 3))
    points = Points(
        radius=generator.uniform(0.1, 0.5, (40, 3)),
        distance=generator.uniform(0.01, 0.4, (40, 3)),
        metric=np.stack([np.full((40, 3), 30.0), np.full((40, 3), 2.0), np.full((40, 3), 400.0)]),
        forcing=generator.normal(size=(40, 3)),
    )
    return state, points


def dense(entries, shape):
    matrix = np.zeros((9, 9, *shape))
    for place, entry in entries.items():
        matrix[place] = entry
    return matrix


def test_derivative_agrees_with_differences(random_state):
    state, points = random_state
    derivative = dense(flux_derivative(state, points, 5000.0), state.shape[1:])
    direction = np.random.default_rng(4).normal(size=state.shape)
    step = 1e-6
    difference = (
        flux(state + step * direction, points, 5000.0)
        - flux(state - step * direction, points, 5000.0)
    ) / (2 * step)
    expected = np.einsum("ijeq,jeq->ieq", derivative, direction)
    assert expected == pytest.approx(difference, rel=1e-5, abs=1e-6)


def test_every_entry_of_the_derivative_is_that_of_a_complex_step(random_state):
    """Exact to rounding, where terms of either sign cancel."""
    state, points = random_state
    derivative = dense(flux_derivative(state, points, 5000.0), state.shape[1:])
    for component in range(9):
        stepped = state.astype(complex)
        stepped[component] += 1j * STEP
        expected = flux(stepped, points, 5000.0).imag / STEP
        np.testing.assert_allclose(derivative[:, component], expected, rtol=1e-11, atol=1e-13)


def test_derivatives_of_the_source_that_are_written_out_are_those_of_a_complex_step():
    """All branches: negative, bounded vorticity, cut ratio; terms that cancel lose some digits."""
    random, count, step = np.random.default_rng(5), 20000, 1e-30
    chi = 10 ** random.uniform(-6, 3.5, count) * np.where(random.random(count) < 0.2, -1, 1)
    vorticity, distance = 10 ** random.uniform(-3, 3, count), 10 ** random.uniform(-4, 0, count)
    rest = distance, 4000.0, random.random(count)
    exact = [
        model.source(chi + 1j * step, vorticity.astype(complex), *rest),
        model.source(chi.astype(complex), vorticity + 1j * step, *rest),
    ]
    found = model.source_slopes(chi, vorticity, *rest)
    expected = [exact[0].real, *(one.imag / step for one in exact)]
    for ours, theirs in zip(found, expected, strict=True):
        np.testing.assert_allclose(ours, theirs, rtol=1e-8)
