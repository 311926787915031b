"""Drills, reamers and the lathe on measured bores: closed forms, bores drawn anew, refusals."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from borestudy.bore import Bore, BoreError, Entry, places_on_wall
from borestudy.bore.cuts.changes import Changes, changed, changed_dimensions
from borestudy.bore.cuts.wall import added_metal
from borestudy.bore.entry import parse_entry
from borestudy.bore.readings import throat_stretch
from borestudy.bore.stations import bore_through, station_dimensions

Make = Callable[..., Bore]

#: A cup and a backbore that are cones, and a throat that is a cylinder [m].
CONES = np.array([[0, 16e-3], [10e-3, 4e-3], [15e-3, 4e-3], [85e-3, 9e-3]])
#: A bore with a step, whose readings are off by a hundredth of a millimetre here and there [mm].
READ = np.array([
    [0, 16.4], [2.5, 15.45], [5.5, 13.2], [8.5, 9.1], [9.8, 6.6], [10.8, 4.0], [11.3, 3.67],
    [12, 3.66], [14, 3.65], [16.5, 3.66], [16.5, 3.8], [24, 4.2], [34, 4.95], [46, 5.9], [70, 7.9],
    [88, 9.2],
])  # fmt: skip


def frustum(first: float, last: float, length: float) -> float:
    """Volume of a cone's frustum of two diameters."""
    return float(np.pi * length / 12 * (first**2 + first * last + last**2))


@pytest.fixture
def cones() -> Bore:
    return bore_through(CONES, "straight", (1, 2))


def read(join: Any = "straight") -> Bore:
    stations = READ * 1e-3
    return bore_through(stations, join, throat_stretch(stations))


def test_a_drill_leaves_a_cylinder_between_the_two_cones(cones: Bore) -> None:
    found = changed(cones, Changes(throat_diameter=5e-3))
    # 12 mm over 10 mm in front, 5 mm over 70 mm behind.
    start, stop = 10e-3 - 10 / 12 * 1e-3, 15e-3 + 70 / 5 * 1e-3
    assert found.part_ranges["throat"] == pytest.approx((start, stop), rel=1e-12)
    assert found.throat_radius == 2.5e-3
    assert len(found.segments) == 3
    parts = {
        "cup": frustum(16e-3, 5e-3, start), "throat": frustum(5e-3, 5e-3, stop - start),
        "backbore": frustum(5e-3, 9e-3, 85e-3 - stop),
    }  # fmt: skip
    for part, volume in parts.items():
        assert found.volume(part) == pytest.approx(volume, rel=1e-12)


def test_blended_ends_are_cones_to_the_new_diameters(cones: Bore) -> None:
    found = changed(cones, Changes(cup_diameter=18e-3, end_diameter=10e-3))
    assert found.volume("cup") == pytest.approx(frustum(18e-3, 4e-3, 10e-3), rel=1e-12)
    assert found.volume("throat") == pytest.approx(frustum(4e-3, 4e-3, 5e-3), rel=1e-12)
    assert found.volume("backbore") == pytest.approx(frustum(4e-3, 10e-3, 70e-3), rel=1e-12)


def test_a_bore_that_is_faced_off_is_the_rest_of_it(cones: Bore) -> None:
    found = changed(cones, Changes(length=80e-3))
    end = 4e-3 + 5e-3 * 65 / 70
    assert found.length == 80e-3
    assert 2 * found.shank_radius == pytest.approx(end, rel=1e-12)
    assert found.volume("backbore") == pytest.approx(frustum(4e-3, end, 65e-3), rel=1e-12)


def test_a_deeper_cup_shortens_the_throat_and_a_shorter_throat_lengthens_the_backbore(
    cones: Bore,
) -> None:
    deeper = changed(cones, Changes(cup_depth=12e-3))
    assert deeper.volume("cup") == pytest.approx(frustum(16e-3, 4e-3, 12e-3), rel=1e-12)
    assert deeper.part_ranges["throat"] == pytest.approx((12e-3, 15e-3), rel=1e-12)
    shorter = changed(cones, Changes(throat_length=2e-3))
    assert shorter.part_ranges["throat"] == pytest.approx((10e-3, 12e-3), rel=1e-12)
    assert shorter.volume("backbore") == pytest.approx(frustum(4e-3, 9e-3, 73e-3), rel=1e-12)


def test_a_new_piece_has_a_longer_and_narrower_throat(cones: Bore) -> None:
    found = changed(
        cones, Changes(throat_diameter=3e-3, throat_length=8e-3, length=90e-3, new=True)
    )
    assert found.volume("cup") == pytest.approx(frustum(16e-3, 3e-3, 10e-3), rel=1e-12)
    assert found.volume("throat") == pytest.approx(frustum(3e-3, 3e-3, 8e-3), rel=1e-12)
    assert found.volume("backbore") == pytest.approx(frustum(3e-3, 9e-3, 72e-3), rel=1e-12)


@pytest.mark.parametrize(
    ("changes", "dimensions"),
    [
        (Changes(throat_length=7e-3, new=True), {"throat_length": 7.0}),
        (Changes(cup_depth=12e-3, throat_length=5e-3, new=True), {"cup_depth": 12.0}),
        (Changes(end_diameter=10e-3), {"backbore_end_diameter": 10.0}),
        (Changes(cup_diameter=17e-3), {"cup_diameter": 17.0}),
        (Changes(length=92e-3, new=True), {"length": 92.0}),
        (Changes(end_diameter=10e-3, cup_diameter=17e-3, entry=parse_entry("rounded 1 mm")),
         {"backbore_end_diameter": 10.0, "cup_diameter": 17.0, "entry": Entry("rounded", (1e-3,))}),
    ],
)  # fmt: skip
def test_a_sampled_bore_that_is_changed_is_the_bore_of_the_changed_dimensions(
    make: Make, changes: Changes, dimensions: dict[str, Any]
) -> None:
    # Straight cup and backbore are through their stations exactly.
    stations = np.array([[0, 16e-3], [4e-3, 0], [11e-3, 4e-3], [16e-3, 4e-3], [88e-3, 9e-3]])
    designed = make(cup_shape=0)
    stations[1, 1] = 2 * designed.radius(4e-3)
    measured = bore_through(stations, "straight", (2, 3))
    found, wanted = changed(measured, changes), make(cup_shape=0, **dimensions)
    assert found.length == pytest.approx(wanted.length, rel=1e-12)
    x = np.linspace(0, wanted.length, 500)[1:-1]
    np.testing.assert_allclose(found.radius(x), wanted.radius(x), rtol=1e-9)


CUTS = {
    "drill": Changes(throat_diameter=3.9e-3),
    "drill within the readings": Changes(throat_diameter=3.657e-3),
    "drill as wide as a step": Changes(throat_diameter=3.8e-3),
    "rim": Changes(cup_diameter=16.8e-3),
    "end": Changes(end_diameter=9.6e-3),
    "faced": Changes(length=80e-3),
    "depth": Changes(cup_depth=12.5e-3),
    "throat": Changes(throat_length=3.3e-3),
    "entry": Changes(entry=Entry("rounded", (2e-3,))),
    "chamfer": Changes(entry=Entry("chamfered", (1.5e-3,), np.pi / 6)),
    "all": Changes(length=85e-3, cup_diameter=16.6e-3, end_diameter=9.5e-3, throat_diameter=3.9e-3,
                   throat_length=4.5e-3, entry=Entry("elliptical", (2e-3, 1e-3))),
}  # fmt: skip


@pytest.mark.parametrize("join", ["straight", "smooth"])
@pytest.mark.parametrize("name", CUTS)
def test_no_cut_adds_metal(name: str, join: Any) -> None:
    bore = read(join)
    found = changed(bore, CUTS[name])
    x = np.linspace(0, found.length, 1200)[1:-1]
    # Where a part is blended to noisy readings of the throat, less than the readings tell.
    limit = 18e-6 if name in ("depth", "throat", "all") else 1e-9
    assert (found.radius(x) - bore.radius(x)).min() > -limit
    assert added_metal(bore.segments, found.segments)[0] < limit
    x_of = 2 * np.pi * np.trapezoid(np.maximum(found.radius(x) ** 2 - bore.radius(x) ** 2, 0), x)
    assert x_of > 0 or name == "faced"


@pytest.mark.parametrize(
    ("changes", "key", "new"),
    [
        (Changes(throat_diameter=3.5e-3), "throat.diameter", True),
        (Changes(throat_length=9e-3), "throat.length", True),
        (Changes(cup_depth=10e-3), "cup.depth", True),
        (Changes(cup_diameter=15e-3), "cup.diameter", True),
        (Changes(end_diameter=8e-3), "backbore.end_diameter", True),
        (Changes(length=89e-3), "length", True),
        (Changes(throat_diameter=12e-3), "throat.diameter", False),
        (Changes(cup_depth=17e-3), "cup.depth", False),
        (Changes(throat_length=90e-3), "throat.length", False),
        (Changes(length=15e-3), "length", False),
        (Changes(cup_diameter=3e-3), "cup.diameter", False),
        (Changes(end_diameter=3e-3), "backbore.end_diameter", False),
    ],
)
def test_what_cannot_be_cut_is_refused_with_what_can(changes: Changes, key: str, new: bool) -> None:
    bore = read()
    with pytest.raises(BoreError, match="for example") as refused:
        changed(bore, changes)
    assert refused.value.key == key
    told = str(refused.value)
    assert ("would add metal" in told) == new
    example = 1e-3 * float(told.rpartition("for example ")[2].removesuffix(" mm"))
    (name,) = [one for one, value in vars(changes).items() if value]
    changed(bore, Changes(**{name: example}))  # type: ignore[arg-type]
    whole = Changes(**{**vars(changes), "new": True})
    if new:
        assert added_metal(bore.segments, changed(bore, whole).segments)[0] > 0 or name == "length"
    else:
        with pytest.raises(BoreError):
            changed(bore, whole)


def rebuilt(number: int, change: float, changes: Changes, join: Any) -> Bore:
    """The changed bore through stations of which one radius is another."""
    stations = READ * 1e-3
    throat = throat_stretch(stations)
    stations[number, 1] += 2 * change
    return changed(bore_through(stations, join, throat), changes)


@pytest.mark.parametrize("join", ["straight", "smooth"])
@pytest.mark.parametrize("name", [name for name in CUTS if name != "drill as wide as a step"])
def test_a_stations_derivative_is_that_of_bores_made_anew(
    name: str, join: Any, tmp_path: Any
) -> None:
    path = tmp_path / "read.csv"
    rows = "\n".join(f"{x},{d}" for x, d in READ)
    path.write_text(f"position_mm,diameter_mm\n{rows}\n")
    bore, changes, step = read(join), CUTS[name], 1e-6
    found = changed(bore, changes)
    dimensions = changed_dimensions(bore, station_dimensions(path, join), changes)
    for number in range(3, 13):
        one = next(one for one in dimensions if one.key == f"station {number + 1}")
        low, high = (rebuilt(number, sign * step, changes, join) for sign in (-1, 1))
        for place, segment in enumerate(found.segments):
            differences = (high.segments[place].points - low.segments[place].points) / (2 * step)
            piece = one.pieces.get(place)
            moved = piece.points if piece else np.zeros_like(segment.points)
            # A smooth curve through readings a hundredth of a millimetre apart is bent by a change
            # of a thousandth: its slopes are harmonic means.
            np.testing.assert_allclose(
                moved, differences, atol=2e-3, rtol=0 if join == "straight" else 0.02
            )


def test_a_drill_as_wide_as_a_step_moves_to_the_side_that_has_the_same_walls() -> None:
    # Its cylinder ends where the backbore behind the step begins: a wider one goes on into it.
    stations = READ * 1e-3
    changes = Changes(throat_diameter=stations[10, 1])
    found = changed(read(), changes)
    assert found.throat_end == pytest.approx(16.5e-3)
    wider = changed(read(), Changes(throat_diameter=stations[10, 1] + 2e-6))
    slope = (stations[11, 1] - stations[10, 1]) / (stations[11, 0] - stations[10, 0])
    assert wider.throat_end == pytest.approx(16.5e-3 + 2e-6 / slope, rel=1e-9)


SIZES = {
    "throat_diameter": ("throat.diameter", 3.9e-3), "cup_diameter": ("cup.diameter", 16.6e-3),
    "end_diameter": ("backbore.end_diameter", 9.5e-3), "length": ("length", 85e-3),
    "throat_length": ("throat.length", 4e-3), "cup_depth": ("cup.depth", 12.5e-3),
}  # fmt: skip


@pytest.mark.parametrize("name", SIZES)
def test_a_changed_sizes_derivative_of_the_volume_is_that_of_bores_made_anew(
    name: str, tmp_path: Any
) -> None:
    path = tmp_path / "read.csv"
    rows = "\n".join(f"{x},{d}" for x, d in READ)
    path.write_text(f"position_mm,diameter_mm\n{rows}\n")
    bore, (key, value) = read(), SIZES[name]
    changes = Changes(**{name: value})  # type: ignore[arg-type]
    found = changed(bore, changes)
    (one,) = [
        one for one in changed_dimensions(bore, station_dimensions(path), changes) if one.key == key
    ]
    assert one.value == value
    step = 1e-5
    low, high = (changed(bore, Changes(**{name: value + s})) for s in (-step, step))  # type: ignore[arg-type]
    volume = (one.changed(found, step).volume() - one.changed(found, -step).volume()) / (2 * step)
    assert volume == pytest.approx((high.volume() - low.volume()) / (2 * step), rel=1e-4)
    places = places_on_wall(found, np.array([segment(0.4) for segment in found.segments]).T)
    assert np.isfinite(one.velocity(places)).all()
