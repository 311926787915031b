"""Open ends against integrals and mode matching of their own, a published fit, and limits."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import ive, j1, kve, y1

from borestudy.closed_form.radiation import (
    flanged_end,
    radiation_impedance,
    reflection,
    unflanged_end,
)

from .mode_matching import flanged_end as matched_flanged_end

KA = [0.1, 0.5, 1.0, 2.0, 3.0]


def levine_schwinger(ka):
    """|R| and l/a by adaptive quadrature of the integrals of 1948 (written from memory)."""

    def angle(x):
        return np.arctan2(j1(x), -y1(x)) / (x * np.sqrt(ka + x))

    def near(x):
        return np.log(np.pi * j1(x) * np.hypot(j1(x), y1(x))) / (x * np.sqrt(ka + x))

    def far(x):
        return -np.log(2 * ive(1, x) * kve(1, x)) / (x * np.hypot(x, ka))

    # the factor 1/√(ka − x) is the rule's own
    ends = {"weight": "alg", "wvar": (0.0, -0.5), "epsabs": 1e-11}
    magnitude = np.exp(-2 * ka / np.pi * quad(angle, 0, ka, **ends)[0])
    stored = sum(quad(far, *piece, epsabs=1e-11)[0] for piece in ((0, ka), (ka, 9), (9, np.inf)))
    return magnitude, (quad(near, 0, ka, **ends)[0] + stored) / np.pi


def silva(ka, flange):
    """|R| and l/a as Silva et al. (2009, J. Sound Vib. 322, 255) fit them; from memory."""
    s = np.asarray(ka) ** 2
    if flange == "unflanged":
        magnitude = (1 + 0.800 * s) / (1 + 1.300 * s + 0.266 * s**2 + 0.0263 * s**3)
        length = 1 + 0.238 * s - 0.0153 * s**2 + 0.00150 * s**3
        return magnitude, 0.6133 * (1 + 0.0599 * s) / length
    magnitude = (1 + 0.730 * s) / (1 + 1.730 * s + 0.372 * s**2 + 0.0231 * s**3)
    length = 1 + 0.723 * s - 0.0198 * s**2 + 0.00366 * s**3
    return magnitude, 0.8216 * (1 + 0.244 * s) / length


@pytest.mark.parametrize("ka", KA)
def test_unflanged_end_is_levine_and_schwingers(dry_air, ka):
    magnitude, length = levine_schwinger(ka)
    found = unflanged_end(ka)
    assert found[0][0] == pytest.approx(magnitude, rel=1e-7)
    assert found[1][0] == pytest.approx(length, abs=1e-7)
    omega = ka * dry_air.sound_speed / 0.01
    plane = dry_air.density * dry_air.sound_speed / (np.pi * 0.01**2)
    impedance = radiation_impedance(0.01, omega, dry_air, "unflanged") / plane
    wave = -magnitude * np.exp(-2j * ka * length)
    assert impedance == pytest.approx((1 + wave) / (1 - wave), abs=2e-6)


@pytest.mark.parametrize("ka", KA)
def test_flanged_end_is_that_of_plain_mode_matching(ka):
    """Its own extrapolation is good to 5e-5, as twice as many modes show."""
    magnitude, length = matched_flanged_end(ka)
    found = flanged_end(ka)
    assert found[0][0] == pytest.approx(magnitude, abs=1e-4)
    assert found[1][0] == pytest.approx(length, abs=1e-4)


@pytest.mark.parametrize("flange", ["unflanged", "flanged"])
def test_open_end_is_the_published_fit_within_its_error(flange):
    """Fits with a few coefficients hold to a few per cent up to ka = 2: 3 % is allowed."""
    ka = np.linspace(0.1, 2.0, 20)
    found = (unflanged_end if flange == "unflanged" else flanged_end)(ka)
    magnitude, length = silva(ka, flange)
    np.testing.assert_allclose(found[0], magnitude, rtol=0.03)
    np.testing.assert_allclose(found[1], length, rtol=0.03)


@pytest.mark.parametrize(
    ("end", "limit"), [(unflanged_end, 0.61270), (flanged_end, 0.8217)], ids=["free", "flanged"]
)
def test_low_frequency_end_correction_is_the_limit(end, limit):
    """0.6133 (Levine & Schwinger 1948, who print 0.1 % more than their integral has), 0.8216
    (Norris & Sheng 1989); both from memory, the first as two quadratures of the integral give it.
    """
    assert end(1e-3)[1][0] == pytest.approx(limit, abs=1e-4)


@pytest.mark.parametrize(
    ("flange", "power"), [("unflanged", 0.25), ("flanged", 0.5)], ids=["free", "flanged"]
)
def test_long_waves_radiate_like_a_point_source(dry_air, flange, power):
    # Re Z = ρc/S · (ka)²/4 into the whole space, (ka)²/2 into half of it (Rayleigh 1896)
    ka, radius = 0.02, 0.01
    omega = ka * dry_air.sound_speed / radius
    plane = dry_air.density * dry_air.sound_speed / (np.pi * radius**2)
    impedance = radiation_impedance(radius, omega, dry_air, flange) / plane
    assert impedance.real == pytest.approx(power * ka**2, rel=2e-3)


@pytest.mark.parametrize("flange", ["unflanged", "flanged"])
def test_table_of_reflections_loses_nothing(flange):
    ka = np.array([0.033, 0.77, 1.91, 3.33])
    magnitude, length = (unflanged_end if flange == "unflanged" else flanged_end)(ka)
    exact = -magnitude * np.exp(-2j * ka * length)
    np.testing.assert_allclose(reflection(ka, flange), exact, rtol=2e-6)
