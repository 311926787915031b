"""How the wall moves with a dimension, against bores built anew and against closed forms."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from borestudy.bore import (
    Bore,
    Dimension,
    Entry,
    bore_from_dimensions,
    bore_from_stations,
    cone,
    cylinder,
    places_on_wall,
    variation,
)
from borestudy.bore.readings import throat_stretch
from borestudy.bore.stations import bore_through, station_dimensions
from borestudy.bore.table import read_stations

#: Parameters along a segment, ends included.
ALONG = np.linspace(0, 1, 7)
SIZES: dict[str, Any] = {
    "length": 88e-3, "cup_diameter": 16e-3, "cup_depth": 11e-3, "cup_shape": 0.6,
    "throat_diameter": 4e-3, "throat_length": 5e-3, "backbore_end_diameter": 9e-3,
    "entry": Entry(), "backbore_taper": 1e-3,
}  # fmt: skip
SHAPES: dict[str, dict[str, Any]] = {
    "plain": {},
    "rounded": {"entry": Entry("rounded", (1e-3,))},
    "chamfered": {"entry": Entry("chamfered", (0.7e-3,), 0.6)},
    "elliptical": {"entry": Entry("elliptical", (2e-3, 0.8e-3)), "cup_shape": 1 - 1e-4},
    "nearly a cone, opening early": {"cup_shape": 1e-3, "backbore_taper": 0.5},
    "opening late": {"backbore_taper": -0.5, "entry": Entry("rounded", (0.5e-3,))},
    "stations": {"backbore_taper": [(20e-3, 5e-3), (50e-3, 7.5e-3)]},
}
#: A step, a throat of one station, and stations at uneven distances.
TABLES = {
    "throat of a stretch": [(0, 16), (4, 12), (9, 6.5), (11, 3.7), (15, 3.71), (22, 4.2), (40, 5.1),
                            (60, 6.9), (88, 9)],
    "throat of one station": [(0, 16), (4, 12), (9, 6.5), (12, 3.7), (22, 4.2), (40, 5.1), (88, 9)],
    "steps": [(0, 16), (4, 12), (9, 6.5), (9, 4.4), (11, 3.7), (15, 3.9), (15, 4.2), (22, 4.8),
              (40, 5.1), (60, 6.9), (60, 7.4), (88, 9)],
    "throat first": [(0, 3.7), (4, 4), (9, 6.5), (20, 8)],
    "throat last": [(0, 16), (4, 12), (9, 6.5), (20, 4)],
    "two": [(0, 4), (20, 9)],
}  # fmt: skip


def points_of(bore: Bore) -> list[np.ndarray]:
    """Points of each segment at `ALONG`."""
    return [segment(ALONG) for segment in bore.segments]


def error(dimension: Dimension, build: Callable[[float], Bore], step: float) -> float:
    """Farthest that a point moved by a step times its velocity is from its place anew [m]."""
    base, there = build(dimension.value), build(dimension.value + step)
    worst = 0.0
    for number, (old, new) in enumerate(zip(points_of(base), points_of(there), strict=True)):
        piece = dimension.pieces.get(number)
        velocity = np.zeros((2, len(old))) if piece is None else piece.velocity(ALONG)
        worst = max(worst, float(np.abs(old + step * velocity.T - new).max()))
    return worst


def check_second_order(dimension: Dimension, build: Callable[[float], Bore], step: float) -> None:
    """Twice the step has four times the error, unless that is rounding; its sign is right."""
    small, large = (error(dimension, build, factor * step) for factor in (1, 2))
    moved = error(Dimension("", "", "", dimension.value, {}), build, step)
    assert moved > 1e-3 * abs(step)
    # From the next order of the series: at such steps a tenth of the leading one.
    assert large < 1e-15 or large == pytest.approx(4 * small, rel=0.1, abs=1e-12 * moved + 1e-16)
    assert small < 0.1 * moved


@pytest.mark.parametrize(
    ("argument", "changes"),
    [
        (argument, changes)
        for argument in SIZES
        for changes in SHAPES.values()
        if isinstance((SIZES | changes)[argument], float)
    ],
)
def test_a_moved_wall_is_the_wall_built_anew_to_the_second_order(
    argument: str, changes: dict[str, Any]
) -> None:
    sizes = SIZES | changes

    def build(value: float) -> Bore:
        return bore_from_dimensions(**sizes | {argument: value})

    step = 2e-4 if argument in ("cup_shape", "backbore_taper") else 2e-6
    step = -step if sizes[argument] == 1 - 1e-4 else step
    check_second_order(variation(build, sizes[argument], key=argument), build, step)


@pytest.mark.parametrize(
    ("entry", "place"),
    [(Entry("rounded", (1e-3,)), 0), (Entry("chamfered", (0.7e-3,), 0.6), 0),
     (Entry("elliptical", (2e-3, 0.8e-3)), 0), (Entry("elliptical", (2e-3, 0.8e-3)), 1)],
    ids=["radius", "chamfer", "length", "height"],
)  # fmt: skip
def test_a_moved_entry_is_the_entry_built_anew(entry: Entry, place: int) -> None:
    def build(size: float) -> Bore:
        sizes = (*entry.sizes[:place], size, *entry.sizes[place + 1 :])
        return bore_from_dimensions(**SIZES | {"entry": Entry(entry.shape, sizes, entry.angle)})

    check_second_order(variation(build, entry.sizes[place], key="entry"), build, 2e-6)


@pytest.mark.parametrize("join", ["straight", "smooth"])
@pytest.mark.parametrize("table", TABLES.values(), ids=TABLES.keys())
def test_each_station_moves_the_whole_measured_bore_as_drawn_anew(
    tmp_path: Path, table: list[tuple[float, float]], join: Any
) -> None:
    path = tmp_path / "stations.csv"
    rows = [f"{x},{d}" for x, d in table]
    path.write_text("\n".join(["position_mm,diameter_mm", *rows]))
    stations, _ = read_stations(path)
    throat = throat_stretch(stations)
    whole = bore_from_stations(path, join, "keep")
    found = station_dimensions(path, join)
    assert [one.key for one in found[: len(table)]] == [
        f"station {number}" for number in range(1, len(table) + 1)
    ]
    for index, one in enumerate(found[: len(table)]):

        def build(radius: float, index: int = index) -> Bore:
            changed = stations.copy()
            changed[index, 1] = 2 * radius
            return bore_through(changed, join, throat)

        assert one.position == pytest.approx(1e-3 * table[index][0], abs=1e-15)
        assert one.value == pytest.approx(5e-4 * table[index][1])
        for number, piece in one.pieces.items():
            assert piece.segment is not None
            np.testing.assert_array_equal(piece.segment.points, whole.segments[number].points)
        # No point of a monotone cubic follows by more than four times (its limit) the station.
        assert error(one, build, 1e-7) < 4e-9


def test_the_length_of_a_measured_bore_is_that_behind_its_throat(tmp_path: Path) -> None:
    path = tmp_path / "stations.csv"
    path.write_text("position_mm,diameter_mm\n1,16\n11,3.7\n15,3.7\n40,6\n89,9\n")
    length = station_dimensions(path)[-1]
    assert (length.key, length.position) == ("length", None)
    assert length.value == pytest.approx(88e-3, rel=1e-12)
    bore = bore_from_stations(path)
    places = places_on_wall(bore, np.array([[5e-3, 14e-3, 39e-3, 88e-3], bore.radius(
        [5e-3, 14e-3, 39e-3, 88e-3])]))  # fmt: skip
    along, across = length.velocity(places)
    np.testing.assert_allclose(along, [0, 0, 25 / 74, 1], atol=1e-9)
    np.testing.assert_allclose(across, 0, atol=1e-9)


def swept(dimension: Dimension, bore: Bore) -> float:
    """Derivative of the volume, 2π∫ r V·n ds and what the ends sweep [m³ per SI unit]."""
    nodes, weights = np.polynomial.legendre.leggauss(40)
    t, total = (nodes + 1) / 2, 0.0
    for number, piece in dimension.pieces.items():
        segment = bore.segments[number]
        radius, slope = segment(t)[:, 1], piece.segment.derivative(t)
        along, across = piece.velocity(t)
        total += np.pi * (weights @ (radius * (across * slope[:, 0] - along * slope[:, 1])))
        if number == len(bore.segments) - 1:
            total += np.pi * bore.shank_radius**2 * piece.velocity(np.ones(1))[0, 0]
        if number == 0:
            total -= np.pi * bore.rim_radius**2 * piece.velocity(np.zeros(1))[0, 0]
    return float(total)


def test_the_volume_of_a_cylinder_and_a_cone_changes_as_in_their_formulas() -> None:
    r, end, length = 4e-3, 6e-3, 50e-3
    cases = {
        2 * np.pi * r * length: (lambda a: cylinder(a, length), r),
        np.pi * r**2: (lambda a: cylinder(r, a), length),
        np.pi * length / 3 * (2 * r + end): (lambda a: cone(a, end, length), r),
        np.pi * length / 3 * (2 * end + r): (lambda a: cone(r, a, length), end),
        np.pi / 3 * (r**2 + r * end + end**2): (lambda a: cone(r, end, a), length),
    }
    for exact, (build, value) in cases.items():
        found = swept(variation(build, value, key="size"), build(value))
        assert found == pytest.approx(exact, rel=1e-8)


def test_a_bowls_volume_changes_as_that_of_half_an_ellipsoid() -> None:
    # A full bowl is a quarter of an ellipse of semi-axes depth and a = R - r about the throat's
    # edge: V = π depth (r² + π r a / 2 + 2 a² / 3), so by depth V / depth.
    throat, rim, depth = 2e-3, 8e-3, 11e-3
    sizes = SIZES | {"cup_shape": 1.0}

    def with_depth(value: float) -> Bore:
        # The throat's end and all behind it stay where they are.
        return bore_from_dimensions(
            **sizes | {"cup_depth": value, "throat_length": 5e-3 + depth - value}
        )

    a = rim - throat
    cup = np.pi * (throat**2 + np.pi * throat * a / 2 + 2 * a**2 / 3)
    found = swept(variation(with_depth, depth, key="cup.depth"), with_depth(depth))
    assert found == pytest.approx(cup - np.pi * throat**2, rel=1e-7)


@pytest.mark.parametrize("changes", SHAPES.values(), ids=SHAPES.keys())
@pytest.mark.parametrize("argument", ["cup_shape", "throat_diameter", "length", "cup_depth"])
def test_what_the_wall_sweeps_is_the_change_of_the_volume(
    argument: str, changes: dict[str, Any]
) -> None:
    sizes = SIZES | changes
    value, step = sizes[argument], 1e-4 * (1 if argument == "cup_shape" else 1e-2)

    def build(value: float) -> Bore:
        return bore_from_dimensions(**sizes | {argument: value})

    difference = (build(value + step).volume() - build(value - step).volume()) / (2 * step)
    found = swept(variation(build, value, key=argument), build(value))
    assert found == pytest.approx(difference, rel=1e-6)


def test_a_place_of_the_wall_is_found_on_its_segment() -> None:
    bore = bore_from_dimensions(**SIZES | SHAPES["rounded"])
    middles = np.array([segment(0.43) for segment in bore.segments])
    places = places_on_wall(bore, middles.T)
    assert places.segment.tolist() == list(range(len(bore.segments)))
    for number, segment in enumerate(bore.segments):
        np.testing.assert_allclose(places.on(number, segment), [0.43], atol=1e-10)


def test_a_point_off_the_wall_is_refused() -> None:
    bore = cylinder(4e-3, 50e-3)
    with pytest.raises(ValueError, match="far from the bore's wall"):
        places_on_wall(bore, np.array([[10e-3], [1e-3]]))


def test_a_straight_cup_is_moved_by_its_shape_from_places_on_the_straight_line() -> None:
    # The bore's own segment is a line, what its shape moves a conic: the places are the same.
    sizes = SIZES | {"cup_shape": 0.0}
    bore = bore_from_dimensions(**sizes)
    shape = variation(
        lambda value: bore_from_dimensions(**sizes | {"cup_shape": value}), 1e-9, key="cup.shape"
    )
    points = bore.segments[0](ALONG)
    velocity = shape.velocity(places_on_wall(bore, points.T))
    step = 1e-3
    there = bore_from_dimensions(**sizes | {"cup_shape": step})
    moved = points + step * velocity.T
    # A conic bent by a thousandth differs from its tangent by the square of that, of 5 mm.
    np.testing.assert_allclose(there.radius(moved[:, 0].clip(0)), moved[:, 1], atol=2e-8)
    assert np.abs(step * velocity[1]).max() > 1e-6


def test_the_wall_of_a_limit_moves_to_the_side_that_has_bores() -> None:
    sizes = SIZES | {"cup_shape": 1.0}

    def build(value: float) -> Bore:
        return bore_from_dimensions(**sizes | {"cup_shape": value})

    found = variation(build, 1.0, key="cup.shape")
    assert error(found, build, -1e-3) < 1e-9  # control points are linear in the shape


def test_an_entry_that_just_fits_has_the_derivative_of_smaller_ones() -> None:
    # The quarter circle of a rounding on a cup wall square to the axis would end one radius from
    # the edge: this cup is less steep, and the greatest radius is found by halving.
    def build(radius: float) -> Bore:
        return bore_from_dimensions(
            **SIZES | {"throat_length": 1e-3, "entry": Entry("rounded", (radius,))}
        )

    low, high = 0.5e-3, 20e-3
    for _ in range(60):
        middle = (low + high) / 2
        try:
            build(middle)
            low = middle
        except ValueError:
            high = middle
    found = variation(build, low, key="throat.entry.radius")
    small, large = (error(found, build, -step) for step in (1e-5, 2e-5))
    # One-sided with a step of 1e-6: a tenth of the second order at ten times as much.
    assert large == pytest.approx(4 * small, rel=0.2)


def test_a_dimension_that_has_no_bore_either_way_is_refused() -> None:
    def build(value: float) -> Bore:
        if value != 1e-3:
            raise ValueError("no such bore")
        return cylinder(value, 0.1)

    with pytest.raises(ValueError, match=r"^radius: no bore near 0.001 has the same segments$"):
        variation(build, 1e-3, key="radius")


def test_a_dimension_that_adds_a_segment_either_way_is_refused() -> None:
    def build(value: float) -> Bore:
        return cylinder(value, 0.1).divided(0.05 if value != 1e-3 else 1.0)

    with pytest.raises(ValueError, match="has the same segments"):
        variation(build, 1e-3, key="radius")


def test_a_dimension_that_adds_a_segment_one_way_has_the_derivative_of_the_other() -> None:
    def build(value: float) -> Bore:
        return cylinder(min(value, 1e-3), 0.1).divided(0.05 if value > 1e-3 else 1.0)

    (piece,) = variation(build, 1e-3, key="radius").pieces.values()
    np.testing.assert_allclose(piece.points, [[0, 1], [0, 1]], atol=1e-9)


def test_a_changed_bore_is_the_bore_built_anew_to_first_order() -> None:
    sizes = SIZES | SHAPES["rounded"]

    def build(value: float) -> Bore:
        return bore_from_dimensions(**sizes | {"throat_diameter": value})

    found, bore = variation(build, 4e-3, key="throat.diameter"), build(4e-3)
    for step in (1e-5, -1e-5):
        pairs = zip(
            points_of(found.changed(bore, step)), points_of(build(4e-3 + step)), strict=True
        )
        # The square of the step over the smallest radius, 1 mm.
        assert max(np.abs(one - other).max() for one, other in pairs) < 2e-7
    assert found.changed(bore, 1e-5).throat_radius == pytest.approx(2.005e-3, abs=1e-12)
    assert found.changed(bore, 1e-5).entry == bore.entry


def test_a_bore_that_cannot_be_is_refused_when_changed() -> None:
    found = variation(lambda a: cylinder(a, 0.1), 1e-3, key="radius")
    with pytest.raises(ValueError, match="meets the axis"):
        found.changed(cylinder(1e-3, 0.1), -2e-3)


def test_a_pipe_behind_the_shank_moves_with_its_end() -> None:
    sizes, pipe = SIZES, 90e-3
    for argument in ("length", "backbore_end_diameter", "throat_diameter"):

        def build(value: float, argument: str = argument) -> Bore:
            return bore_from_dimensions(**sizes | {argument: value})

        found = variation(build, sizes[argument], key=argument)
        extended = found.extended(build(sizes[argument]), pipe)
        anew = variation(
            lambda value, build=build: build(value).extended(pipe), sizes[argument], key=argument
        )
        whole = build(sizes[argument]).extended(pipe)
        places = places_on_wall(whole, np.concatenate(points_of(whole)).T)
        np.testing.assert_allclose(extended.velocity(places), anew.velocity(places), atol=1e-9)
        assert extended.value == found.value
