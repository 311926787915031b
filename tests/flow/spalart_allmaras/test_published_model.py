"""The model's constants and terms against the published ones, written out a second time.

Spalart & Allmaras (1994), La Recherche Aérospatiale 1, 5, and Allmaras, Johnson & Spalart (2012),
ICCFD7-1902, both as NASA's Turbulence Modeling Resource repeats them ("SA-neg" without the f_t2
term), in dimensional form: viscosity, distances and velocities of no round size, and plain numbers
in place of arrays, so that nothing but the arithmetic is shared with what is tested.
"""

from math import sqrt

import numpy as np
import pytest

from borestudy.flow.models.spalart_allmaras import pointwise as model
from borestudy.flow.models.spalart_allmaras.flux import Points, flux, stabilisation_time

PUBLISHED = {
    "KAPPA": 0.41,
    "SIGMA": 2 / 3,
    "CB1": 0.1355,
    "CB2": 0.622,
    "CW2": 0.3,
    "CW3": 2.0,
    "CV1": 7.1,
    "C2": 0.7,
    "C3": 0.9,
    "CT3": 1.2,
    "CN1": 16.0,
    "GREATEST_R": 10.0,
}
#: Viscosity [m²/s], throat diameter [m] and velocity [m/s] that the terms are scaled by.
NU, DIAMETER, SPEED = 1.6e-5, 0.0042, 23.0
REYNOLDS = SPEED * DIAMETER / NU


def fv1(chi):
    return chi**3 / (chi**3 + 7.1**3)


def modified(nu_tilde, vorticity, distance):
    """S̃ [1/s] of 2012: its first form, or its second where S̄ < −0.7 Ω."""
    chi = nu_tilde / NU
    fv2 = 1 - chi / (1 + chi * fv1(chi))
    bar = nu_tilde * fv2 / (0.41 * distance) ** 2
    if bar >= -0.7 * vorticity:
        return vorticity + bar
    change = vorticity * (0.49 * vorticity + 0.9 * bar) / ((0.9 - 1.4) * vorticity - bar)
    return vorticity + change


def fw(nu_tilde, shear, distance):
    """f_w of 1994, its argument cut at 10."""
    r = min(nu_tilde / (shear * (0.41 * distance) ** 2), 10.0)
    g = r + 0.3 * (r**6 - r)
    return g * (65 / (g**6 + 64)) ** (1 / 6)


def terms(nu_tilde, vorticity, distance):
    """Destruction less production [m²/s²] of both branches."""
    cw1 = 0.1355 / 0.41**2 + 1.622 * 1.5
    decay = cw1 * (nu_tilde / distance) ** 2
    if nu_tilde < 0:
        return -decay - 0.1355 * (1 - 1.2) * vorticity * nu_tilde
    shear = modified(nu_tilde, vorticity, distance)
    return fw(nu_tilde, shear, distance) * decay - 0.1355 * shear * nu_tilde


#: χ, vorticity [1/s] and wall distance [m], one for every branch of S̃ and f_w and of the sign.
PLACES = {
    "sublayer": (0.4, 9e4, 3e-5),
    "buffer layer": (12.0, 6e4, 2e-4),
    "second form of S": (3.0, 2e3, 1.2e-4),
    "r between 1 and 2": (60.0, 2e4, 4.2e-4),
    "r near 3": (60.0, 1.2e4, 4.2e-4),
    "r beyond its cut": (60.0, 30.0, 1.4e-4),
    "outer layer": (35.0, 4e3, 1.5e-3),
    "negative": (-2.5, 7e3, 8e-4),
}


def branch(chi, vorticity, distance):
    """Whether S̃ is in its second form, and r before its cut."""
    chi_3 = chi**3
    bar = chi * NU * (1 - chi / (1 + chi * chi_3 / (chi_3 + 357.911))) / (0.41 * distance) ** 2
    shear = modified(chi * NU, vorticity, distance)
    return bar < -0.7 * vorticity, chi * NU / (shear * (0.41 * distance) ** 2)


@pytest.mark.parametrize(("name", "value"), PUBLISHED.items())
def test_constant_is_the_published_one(name, value):
    assert getattr(model, name) == pytest.approx(value, rel=1e-15)


def test_places_lie_on_every_branch():
    second = {name: branch(*place)[0] for name, place in PLACES.items() if place[0] > 0}
    ratio = {name: branch(*place)[1] for name, place in PLACES.items() if place[0] > 0}
    assert second["second form of S"]
    assert not second["buffer layer"]
    assert 1 < ratio["r between 1 and 2"] < 2
    assert 2.5 < ratio["r near 3"] < 3
    assert ratio["r beyond its cut"] > 10
    assert ratio["outer layer"] < 1


@pytest.mark.parametrize("place", PLACES.values(), ids=list(PLACES))
def test_destruction_less_production_is_the_published_one(place):
    chi, vorticity, distance = place
    found = model.source(
        np.array([chi]),
        np.array([vorticity * DIAMETER / SPEED]),
        np.array([distance / DIAMETER]),
        REYNOLDS,
    )
    # of χ = ν̃/ν in units of U/D
    expected = terms(chi * NU, vorticity, distance) / NU * DIAMETER / SPEED
    assert found[0] == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("chi", [0.05, 1.0, 7.1, 90.0])
def test_eddy_viscosity_is_the_published_one(chi):
    assert model.eddy_viscosity(np.array([chi]))[0] == pytest.approx(chi * fv1(chi), rel=1e-14)


@pytest.mark.parametrize("chi", [-40.0, -2.5, -0.3, 0.0, 8.0])
def test_diffusivity_is_the_published_one(chi):
    """1 + χ f_n with f_n = (16 + χ³)/(16 − χ³) where χ < 0, and 1 where it is not."""
    share = (16 + chi**3) / (16 - chi**3) if chi < 0 else 1.0
    assert model.diffusivity(np.array([chi]))[0] == pytest.approx(1 + chi * share, rel=1e-14)


def test_destruction_is_finite_and_flat_beyond_the_cut_where_vorticity_vanishes():
    """At r = 10 and beyond f_w is 65^(1/6) to rounding, and no longer changes with χ."""
    chi, scale = np.array([5.0, 5.0 + 1e-30j]), np.full(2, 3.0)
    for shear in (0.0, 1e-200, 0.1):
        found = model.wall_function(chi, np.full(2, shear), scale)
        assert found.real == pytest.approx(65 ** (1 / 6), rel=1e-12)
        assert found[1].imag == 0


STATE = np.array([0.9, -0.2, -3.1, 0.15, 0.4, 0.3, 4.2, 1.7, -6.5]).reshape(9, 1, 1)


def at_points(metric):
    return Points(
        radius=np.full((1, 1), 0.31), distance=np.full((1, 1), 0.07),
        metric=np.array(metric).reshape(3, 1, 1),
    )  # fmt: skip


def test_streamline_term_is_the_published_weight_times_residual_times_velocity():
    """What elements as small as nothing leave out, and those of a size h add.

    τ = [(2|u|/h)² + 9 (4κ/h²)²]^-½ (Shakib, Hughes & Johan 1991) for a square of side h, whose
    metric is the unit matrix over h².  The strong residual has no second derivatives, which are
    zero inside an element where χ is linear.
    """
    u, _, u_r, w, w_x, _, chi, chi_x, chi_r = STATE[:, 0, 0]
    step = 0.05
    sized = flux(STATE, at_points([step**-2, 0.0, step**-2]), REYNOLDS)
    plain = flux(STATE, at_points([1e30, 0.0, 1e30]), REYNOLDS)
    spread = (1 + chi) * 1.5 / REYNOLDS
    gradient = chi_x**2 + chi_r**2
    source = terms(chi * NU, abs(u_r - w_x) * SPEED / DIAMETER, 0.07 * DIAMETER)
    residual = (
        u * chi_x + w * chi_r + source / NU * DIAMETER / SPEED
        - 1.5 / REYNOLDS * (0.622 * gradient + gradient + (1 + chi) * chi_r / 0.31)
    )  # fmt: skip
    weight = 1 / sqrt(4 * (u**2 + w**2) / step**2 + 9 * (4 * spread / step**2) ** 2)
    assert plain[7, 0, 0] == pytest.approx(spread * chi_x, rel=1e-12)
    assert plain[8, 0, 0] == pytest.approx(spread * chi_r, rel=1e-12)
    assert sized[7, 0, 0] - plain[7, 0, 0] == pytest.approx(weight * residual * u, rel=1e-9)
    assert sized[8, 0, 0] - plain[8, 0, 0] == pytest.approx(weight * residual * w, rel=1e-9)


def test_streamline_weight_has_both_its_limits_and_follows_stretched_elements():
    """h/(2|u|) where convection rules, with the size along the stream; h²/(12 κ) without it."""
    one = np.ones(1)
    square, flat = np.array([[400.0], [0.0], [400.0]]), np.array([[4.0], [0.0], [400.0]])
    fast = stabilisation_time(2 * one, 0 * one, 1e-12 * one, square)
    assert fast[0] == pytest.approx(0.05 / 4)
    along = stabilisation_time(2 * one, 0 * one, 1e-12 * one, flat)
    assert along[0] == pytest.approx(0.5 / 4)
    still = stabilisation_time(0 * one, 0 * one, 3 * one, square)
    assert still[0] == pytest.approx(0.05**2 / (12 * 3))
