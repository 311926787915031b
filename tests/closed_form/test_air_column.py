"""The air column: chains of known pieces, and stations that must be refused."""

import numpy as np
import pytest

from borestudy.closed_form.air_column import (
    air_column,
    chain_matrix,
    entrance_state,
    highest_trusted_frequency,
    step_matrix,
)
from borestudy.closed_form.area_step import end_correction
from borestudy.closed_form.radiation import radiation_impedance
from borestudy.closed_form.tube import transfer_matrix

OMEGA = 2 * np.pi * np.array([80.0, 400.0, 1500.0])


def test_stations_of_one_diameter_are_one_tube(dry_air):
    column = air_column(np.array([0, 0.3, 1.0]), np.full(3, 5e-3))
    tube = transfer_matrix(5e-3, 1.0, OMEGA, dry_air)
    np.testing.assert_allclose(chain_matrix(column, OMEGA, dry_air), tube, rtol=1e-9)


def test_open_column_presents_its_radiation_through_the_tube(dry_air):
    column = air_column(np.array([0, 0.8]), np.full(2, 5e-3), "open flanged")
    pressure, flow = entrance_state(column, OMEGA, dry_air).T
    load = radiation_impedance(5e-3, OMEGA, dry_air, "flanged")
    tube = transfer_matrix(5e-3, 0.8, OMEGA, dry_air)
    expected = (tube[:, 0, 0] * load + tube[:, 0, 1]) / (tube[:, 1, 0] * load + tube[:, 1, 1])
    np.testing.assert_allclose(pressure / flow, expected, rtol=1e-10)


def test_lossless_closed_column_resonates_at_half_a_wavelength(dry_air):
    column = air_column(np.array([0, 0.5]), np.full(2, 5e-3), "closed")
    omega = np.array([2 * np.pi * dry_air.sound_speed / (2 * 0.5)])
    pressure, flow = entrance_state(column, omega, dry_air, lossless=True)[0]
    plane = dry_air.density * dry_air.sound_speed / (np.pi * 5e-3**2)
    assert abs(flow * plane / pressure) < 1e-10


def test_step_is_the_tabulated_inertance(dry_air):
    narrow, wide = 3e-3, 6e-3
    column = air_column(np.array([0, 0.1, 0.1, 0.2]), np.array([narrow, narrow, wide, wide]))
    expected = (
        transfer_matrix(narrow, 0.1, OMEGA, dry_air)
        @ step_matrix(wide, narrow, OMEGA, dry_air)
        @ transfer_matrix(wide, 0.1, OMEGA, dry_air)
    )
    np.testing.assert_allclose(chain_matrix(column, OMEGA, dry_air), expected, rtol=1e-10)
    inertance = step_matrix(narrow, wide, OMEGA, dry_air)[:, 0, 1] / (1j * OMEGA)
    length = end_correction(0.5) * narrow
    np.testing.assert_allclose(inertance, dry_air.density * length / (np.pi * narrow**2))


@pytest.mark.parametrize(
    ("mouth", "ka"),
    # of the last cone, whatever is before it: none, 45 degrees, and one that narrows
    [(20e-3, 2.0), (70e-3, 2 / (1 + np.sqrt(0.5))), (10e-3, 2.0)],
)
def test_a_column_is_trusted_until_its_waves_bulge_by_a_sixth_of_a_length(dry_air, mouth, ka):
    column = air_column(np.array([0, 0.5, 0.55]), np.array([5e-3, 20e-3, mouth]))
    slope = (mouth - 20e-3) / 0.05
    assert column.mouth_half_angle == pytest.approx(np.arctan(slope))
    found = highest_trusted_frequency(column, dry_air) * 2 * np.pi * mouth / dry_air.sound_speed
    assert found == pytest.approx(ka)


def test_a_closed_column_is_trusted_to_its_widest_sections_first_higher_mode(dry_air):
    column = air_column(np.array([0, 0.5, 0.55]), np.array([5e-3, 20e-3, 10e-3]), "closed")
    frequency = highest_trusted_frequency(column, dry_air)
    # the first zero of J1 is 3.8317 (from memory)
    assert 2 * np.pi * frequency * 20e-3 / dry_air.sound_speed == pytest.approx(3.8317, rel=1e-3)


def test_wider_mouth_is_trusted_less_far(dry_air):
    small = air_column(np.array([0, 0.5]), np.array([5e-3, 20e-3]))
    large = air_column(np.array([0, 0.5]), np.array([5e-3, 60e-3]))
    assert highest_trusted_frequency(large, dry_air) < highest_trusted_frequency(small, dry_air)


@pytest.mark.parametrize(
    ("positions", "diameters", "message"),
    [
        ([0, 20, 10], [9, 10, 11], "station 3: found position 10 mm after 20 mm"),
        ([0, 20], [9, -10], "station 2: found a diameter of -10 mm"),
        ([0, 20], [9, np.nan], "station 2: found a diameter of nan mm"),
        ([0, 20], [9, 12000], "is it in another unit"),
        ([0, 0], [9, 12], "all stations at one position"),
        ([0, 5, 5], [9, 9, 12], "station 3: found a step at the last position"),
    ],
)
def test_stations_that_make_no_column_are_refused_by_name(positions, diameters, message):
    with pytest.raises(ValueError, match=message) as refused:
        air_column(1e-3 * np.array(positions), 5e-4 * np.array(diameters))
    assert "allowed" in str(refused.value)
    assert "for example" in str(refused.value)


def test_unknown_end_is_refused():
    with pytest.raises(ValueError, match="found the end 'muted'; allowed is closed"):
        air_column(np.array([0, 1.0]), np.full(2, 5e-3), "muted")  # type: ignore[arg-type]
