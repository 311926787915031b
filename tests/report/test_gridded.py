"""Fields on regular grids."""

from pathlib import Path

import numpy as np

from borestudy.report.figures.gridded import fill_outside, on_grid, read_field, stream_function

from .conftest import tube_field


def test_the_stream_function_of_a_parabolic_profile_is_its_closed_form() -> None:
    radius = np.linspace(0, 1, 401)
    axial = np.repeat(2 * (1 - radius**2)[:, None], 3, axis=1)
    share = stream_function(radius, axial)
    exact = 2 * radius**2 - radius**4
    np.testing.assert_allclose(share, np.repeat(exact[:, None], 3, axis=1), atol=1e-5)


def test_more_than_the_whole_flow_passes_inside_a_separated_region() -> None:
    radius = np.linspace(0, 1, 201)
    axial = np.where(radius > 0.8, -0.5, 2.0)[:, None]
    assert stream_function(radius, axial).max() > 1.05


def test_a_field_is_interpolated_inside_and_absent_outside(tmp_path: Path) -> None:
    tube_field(tmp_path / "tube.vtu", 2.0, 20.0)
    levels = np.array([0.0, 1.0, 1.9, 2.5])
    (axial,) = on_grid(
        read_field(tmp_path / "tube.vtu"),
        ["velocity_m_per_s:0"],
        np.array([4.0, 10.0]),
        levels,
    )
    exact = 2 * (1 - (levels[:3] / 2) ** 2)
    np.testing.assert_allclose(axial[:3, 0], exact, atol=2 * 0.05**2)
    assert np.isnan(axial[3]).all()


def test_filling_carries_the_value_at_the_wall_outward() -> None:
    values = np.array([[1.0, 5.0], [2.0, np.nan], [np.nan, np.nan]])
    np.testing.assert_array_equal(fill_outside(values), [[1, 5], [2, 5], [2, 5]])
