"""Open ends against tabulated reflection and end correction."""

import numpy as np
import pytest

from borestudy.closed_form.radiation import (
    flanged_end,
    radiation_impedance,
    reflection,
    unflanged_end,
)

UNFLANGED = [
    (0.1, 0.9950667, 0.610987, 0.002482, 0.061175),
    (0.5, 0.8964414, 0.581836, 0.059486, 0.298440),
    (1.0, 0.6951022, 0.527431, 0.238279, 0.557507),
    (2.0, 0.3461760, 0.416944, 0.836022, 0.654540),
    (3.0, 0.1543283, 0.308275, 1.039756, 0.316058),
]
FLANGED = [
    (0.1, 0.99013, 0.8175),
    (0.5, 0.81188, 0.7372),
    (1.0, 0.55110, 0.6049),
    (2.0, 0.25699, 0.4263),
    (3.0, 0.12045, 0.3074),
]


@pytest.mark.parametrize(("ka", "magnitude", "length", "real", "imag"), UNFLANGED)
def test_unflanged_end_is_levine_and_schwingers(dry_air, ka, magnitude, length, real, imag):
    found = unflanged_end(ka)
    assert found[0][0] == pytest.approx(magnitude, rel=2e-6)
    assert found[1][0] == pytest.approx(length, abs=2e-6)
    omega = ka * dry_air.sound_speed / 0.01
    plane = dry_air.density * dry_air.sound_speed / (np.pi * 0.01**2)
    impedance = radiation_impedance(0.01, omega, dry_air, "unflanged") / plane
    assert impedance == pytest.approx(real + 1j * imag, abs=2e-6)


@pytest.mark.parametrize(("ka", "magnitude", "length"), FLANGED)
def test_flanged_end_is_the_tabulated_one(ka, magnitude, length):
    found = flanged_end(ka)
    assert found[0][0] == pytest.approx(magnitude, abs=2e-5)
    assert found[1][0] == pytest.approx(length, abs=1e-4)


@pytest.mark.parametrize(
    ("end", "limit"), [(unflanged_end, 0.61270), (flanged_end, 0.8217)], ids=["free", "flanged"]
)
def test_low_frequency_end_correction_is_the_limit(end, limit):
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
