"""The air column: chains of known pieces, and stations that must be refused."""

import numpy as np
import pytest

from borestudy.closed_form.air_column import (
    air_column,
    chain_matrix,
    entrance_state,
    highest_trusted_frequency,
    read_air_column,
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


def test_wider_mouth_is_trusted_less_far(dry_air):
    small = air_column(np.array([0, 0.5]), np.array([5e-3, 20e-3]))
    large = air_column(np.array([0, 0.5]), np.array([5e-3, 60e-3]))
    assert highest_trusted_frequency(large, dry_air) < highest_trusted_frequency(small, dry_air)


def test_inches_are_read_as_inches(tmp_path):
    path = tmp_path / "column.csv"
    path.write_text("position_in, diameter_in\n0, 0.4\n10, 0.5\n")
    column = read_air_column(path)
    np.testing.assert_allclose(column.positions, [0, 0.254])
    np.testing.assert_allclose(column.radii, [0.00508, 0.00635])


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("position_mm,diameter_mm\n0,9\n10,\n20,11\n", r"station 2: diameter_mm must be a number"),
        ("position_mm,diameter_mm\n0,9\n10,x\n", r"station 2: diameter_mm .* found 'x'"),
        ("position_mm,diameter_mm\n0,9\n20,10\n10,11\n", r"station 3: position_mm must not decr"),
        ("position_mm,diameter_mm\n0,9\n20,-10\n", r"station 2: diameter must lie between 0"),
        ("position_mm,diameter_mm\n0,9\n20,12000\n", r"is the unit right\?"),
        ("position_mm,diameter_mm\n0,9\n", r"at least two stations"),
        ("x,d\n0,9\n10,9\n", r"needs the columns position_mm, diameter_mm"),
        ("position_mm,diameter_mm\n0,9\n0,12\n", r"all stations are at one position"),
        ("position_mm,diameter_mm\n0,9\n5,9\n5,12\n", r"step with nothing after"),
    ],
)
def test_bad_stations_are_refused_by_name(tmp_path, text, message):
    path = tmp_path / "column.csv"
    path.write_text(text)
    with pytest.raises(ValueError, match=message):
        read_air_column(path)


def test_unknown_end_is_refused():
    with pytest.raises(ValueError, match="end must be 'closed'"):
        air_column(np.array([0, 1.0]), np.full(2, 5e-3), "muted")  # type: ignore[arg-type]
