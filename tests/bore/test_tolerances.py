"""How far a workshop may miss each dimension, from the geometry alone."""

import numpy as np
import pytest

from borestudy.bore import (
    ALL_DIAMETERS,
    Entry,
    bore_from_dimensions,
    cone,
    tolerances_of,
    variation,
)
from borestudy.bore.stations import bore_from_stations, station_dimensions
from borestudy.bore.tolerances import in_error
from borestudy.bore.variation import nearest

MM, THOU = 1e-3, 25.4e-6
SIZES = {
    "length": 88 * MM, "cup_diameter": 16.2 * MM, "cup_depth": 10.8 * MM,
    "throat_diameter": 3.66 * MM, "throat_length": 5 * MM, "entry": Entry(),
    "backbore_end_diameter": 9 * MM,
}  # fmt: skip


def shape(value):
    return bore_from_dimensions(**SIZES, cup_shape=value, backbore_taper="straight")


def test_a_length_has_the_common_tolerance_or_its_own():
    length = variation(lambda x: cone(2 * MM, 4 * MM, x), 80 * MM, key="length")
    radius = variation(lambda r: cone(r, 4 * MM, 80 * MM), 2 * MM, key="radius")
    found = {one.key: one.limit for one in tolerances_of([length, radius], THOU, {"radius": 1e-6})}
    assert found == {"length": THOU, "radius": 1e-6}


def test_a_numbers_tolerance_moves_the_wall_by_half_that_of_a_diameter():
    """A straight cone whose half angle t is the number: its end moves by (r' along the normal)."""
    taper = variation(
        lambda t: cone(2 * MM, 2 * MM + t * 80 * MM, 80 * MM), 0.05, key="taper", unit=""
    )
    (found,) = tolerances_of([taper], THOU)
    normal = 80 * MM / (1 + 0.05**2) ** 0.5
    assert found.limit == pytest.approx(THOU / 2 / normal, rel=1e-6)


def test_the_cups_shape_moves_the_wall_nowhere_by_more_than_that():
    number = variation(shape, 0.5, key="cup.shape", unit="")
    (found,) = tolerances_of([number], THOU)
    drawn, other = shape(0.5), shape(0.5 + found.limit)
    pairs = zip(drawn.segments, other.segments, strict=True)
    places = np.linspace(0, 1, 101)
    apart = [nearest(near, far(places))[1].max() for near, far in pairs]
    # the second derivative of a curve that turns by 1 rad is what is left
    assert max(apart) == pytest.approx(THOU / 2, rel=0.02)


def test_a_measured_bores_stations_err_each_by_itself_and_all_together(tmp_path):
    path = tmp_path / "bore.csv"
    path.write_text("position_mm,diameter_mm\n0,16\n10,4\n15,4\n80,9\n")
    found = tolerances_of(station_dimensions(path), THOU, {"station 2": THOU / 4})
    limits = {one.key: one.limit for one in found}
    assert limits["station 1"] == THOU / 2  # the radius of a diameter that errs by a thousandth
    assert limits["station 2"] == THOU / 8
    assert limits["length"] == limits[ALL_DIAMETERS] == THOU
    (common,) = (one for one in found if one.key == ALL_DIAMETERS)
    assert common.moves == {f"station {number}": 0.5 for number in (1, 2, 3, 4)}


def test_an_error_of_all_diameters_moves_every_station_and_what_depends_on_it(tmp_path):
    path = tmp_path / "bore.csv"
    path.write_text("position_mm,diameter_mm\n0,16\n10,4\n15,4\n80,9\n")
    drawn, dimensions = bore_from_stations(path), station_dimensions(path)
    (common,) = (one for one in tolerances_of(dimensions, THOU) if one.key == ALL_DIAMETERS)
    moved, of_moved = in_error(drawn, dimensions, common, 0.2 * MM)
    for one, other in zip(drawn.segments, moved.segments, strict=True):
        np.testing.assert_allclose(other.points - one.points, [[0, 0.1 * MM]] * 2, atol=1e-12)
    values = {one.key: one.value for one in of_moved}
    assert values["station 1"] == pytest.approx(8.1 * MM)
    assert values["length"] == pytest.approx(80 * MM)
    # what a dimension of the moved bore does is done to the moved bore
    (first,) = (one for one in of_moved if one.key == "station 1")
    again = first.changed(moved, 0.1 * MM)
    assert again.rim_radius == pytest.approx(8.2 * MM)
    assert again.shank_radius == pytest.approx(4.6 * MM)


def test_an_error_that_leaves_no_bore_is_refused(tmp_path):
    radius = variation(lambda r: cone(r, 4 * MM, 80 * MM), 2 * MM, key="radius")
    (own,) = tolerances_of([radius], THOU)
    with pytest.raises(ValueError, match="axis"):
        in_error(cone(2 * MM, 4 * MM, 80 * MM), [radius], own, -2.1 * MM)
