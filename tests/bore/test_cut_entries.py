"""Throat entries cut from measured bores: what a tool leaves, and what it cannot cut."""

import re
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from borestudy.bore import Bore, BoreError, Entry
from borestudy.bore.cuts.changes import Changes, changed
from borestudy.bore.cuts.wall import added_metal
from borestudy.bore.entry import parse_entry
from borestudy.bore.readings import throat_stretch
from borestudy.bore.stations import bore_through

Make = Callable[..., Bore]

ENTRIES = (
    "rounded 0.5 mm", "rounded 1 mm", "rounded 2 mm", "chamfered 0.5 mm",
    "chamfered 1 mm at 30 deg", "elliptical 2 mm x 1 mm", "elliptical 0.5 mm x 1 mm",
)  # fmt: skip


def measured(bore: Bore, count: int, join: Any = "straight") -> Bore:
    """The bore through stations on another's wall, a number of them on each of its curves."""
    points = [bore.segments[0].start[None]]
    for segment in bore.segments:
        points.append(segment(np.linspace(0, 1, count if segment.degree > 1 else 2)[1:]))
    stations = np.vstack(points) * [1, 2]
    return bore_through(stations, join, throat_stretch(stations))


def cut(bore: Bore, entry: str, *, new: bool = False) -> Bore:
    return changed(bore, Changes(entry=parse_entry(entry), new=new))


def along(bore: Bore, count: int = 881) -> np.ndarray:
    return np.linspace(0, bore.length, count)[1:-1]


@pytest.mark.parametrize("entry", ENTRIES)
def test_a_sampled_bore_that_is_cut_is_the_bore_made_with_that_entry(
    make: Make, entry: str
) -> None:
    # The bowl's chords lie inside it by a quarter of what they do at half as many stations.
    designed, square = make(parse_entry(entry)), make(Entry())
    x = along(designed)
    off = []
    for count in (41, 81):
        found = cut(measured(square, count), entry)
        off.append(np.abs(found.radius(x) - designed.radius(x)).max())
        assert found.throat_start == pytest.approx(designed.throat_start, abs=3e-6)
        assert found.entry == parse_entry(entry)
    assert off[1] == pytest.approx(off[0] / 4, rel=0.3)
    assert off[1] < 1e-6


@pytest.mark.parametrize("join", ["straight", "smooth"])
@pytest.mark.parametrize("entry", ENTRIES)
def test_a_cut_removes_metal_and_adds_none(make: Make, entry: str, join: Any) -> None:
    bore = measured(make(Entry("rounded", (0.2e-3,))), 21, join)
    found = cut(bore, entry)
    x = along(bore)
    deeper = found.radius(x) - bore.radius(x)
    assert deeper.min() > -1e-12
    assert deeper.max() > 1e-5
    assert added_metal(bore.segments, found.segments)[0] < 1e-12
    assert found.volume() > bore.volume()


def test_a_rounding_between_a_cone_and_a_cylinder_removes_a_volume_in_closed_form() -> None:
    # In the half section a fillet of radius R removes, from the corner of two lines that turn by
    # an angle a, the kite of the two tangents less the sector of the circle, whose centroid turns
    # about the axis (Pappus).
    radius, slope, throat = 1e-3, 45.0, 2e-3
    stations = np.array([[0, 20e-3], [8e-3, 4e-3], [13e-3, 4e-3], [60e-3, 9e-3]])
    bore = bore_through(stations, "straight", (1, 2))
    found = cut(bore, "rounded 1 mm")
    a = np.radians(slope)
    leg = radius * np.tan(a / 2)
    kite, sector = radius * leg, radius**2 * a / 2
    # Heights over the throat: of the kite's centroid, on its axis of symmetry between the corner
    # and the centre; of the sector's, at (4 R sin(a/2)) / (3 a) from the centre.
    corner = np.array([0.0, 0.0])
    centre = np.array([leg, radius])
    tangents = [np.array([leg, 0.0]), leg * np.array([-np.cos(a), np.sin(a)])]
    halves = [(corner + centre + tangent)[1] / 3 for tangent in tangents]
    middle = np.array([-np.sin(a / 2), -np.cos(a / 2)])  # from the centre to the corner
    height = centre[1] + (4 * radius * np.sin(a / 2) / (3 * a)) * middle[1]
    removed = 2 * np.pi * (
        kite / 2 * (halves[0] + throat) + kite / 2 * (halves[1] + throat)
        - sector * (height + throat)
    )  # fmt: skip
    assert found.volume() - bore.volume() == pytest.approx(removed, rel=1e-9)


def test_a_chamfer_between_a_cone_and_a_cylinder_removes_a_frustum_in_closed_form() -> None:
    stations = np.array([[0, 20e-3], [8e-3, 4e-3], [13e-3, 4e-3], [60e-3, 9e-3]])
    bore = bore_through(stations, "straight", (1, 2))
    found = cut(bore, "chamfered 2 mm at 30 deg")
    height, throat = 2e-3 * np.tan(np.radians(30)), 2e-3
    start = 8e-3 - height  # on the cone of 45 degrees

    def frustum(first: float, last: float, length: float) -> float:
        return float(np.pi * length / 3 * (first**2 + first * last + last**2))

    before = frustum(throat + height, throat, height) + np.pi * throat**2 * (2e-3 - height)
    after = frustum(throat + height, throat, 2e-3)
    assert found.part_ranges["entry"] == pytest.approx((start, start + 2e-3))
    assert found.volume() - bore.volume() == pytest.approx(after - before, rel=1e-9)


@pytest.mark.parametrize(("there", "wanted"), [(0.5, 0.1), (1.0, 0.5), (2.0, 1.0), (2.0, 0.0)])
def test_a_rounding_smaller_than_the_measured_one_is_refused(
    make: Make, there: float, wanted: float
) -> None:
    bore = measured(make(Entry("rounded", (1e-3 * there,))), 11)
    entry = f"rounded {wanted} mm" if wanted else "square"
    with pytest.raises(BoreError, match="would add metal") as refused:
        cut(bore, entry)
    assert refused.value.key == "throat.entry"
    said = str(refused.value)
    # How far the sharp edge stands out of the rounding, straight out from the axis: told too small,
    # as the bowl steepens behind the place from which its wall is continued.
    depth = float(re.search(r"up to ([\d.]+) mm in diameter", said)[1]) / 2e3  # type: ignore[index]
    square = make(Entry() if not wanted else Entry("rounded", (1e-3 * wanted,)))
    x = np.linspace(10e-3, 13e-3, 601)
    missing = (bore.radius(x) - square.radius(x)).max()
    assert 0.4 * missing < depth < 1.02 * missing
    example = said.rpartition("for example ")[2]
    if example != "as measured":
        assert parse_entry(example).sizes[0] > 1.05e-3 * wanted
        cut(bore, example)


@pytest.mark.parametrize("there", [0.5, 1.0, 2.0])
def test_a_larger_rounding_than_the_measured_one_is_cut(make: Make, there: float) -> None:
    bore = measured(make(Entry("rounded", (1e-3 * there,))), 81)
    larger = 1.5 * there
    found, designed = cut(bore, f"rounded {larger} mm"), make(Entry("rounded", (1e-3 * larger,)))
    x = along(bore)
    np.testing.assert_allclose(found.radius(x), designed.radius(x), atol=1e-6)


def test_a_new_piece_has_the_smaller_rounding(make: Make) -> None:
    # Of a straight cup the wall continued is the wall that was, but for a direction that is off by
    # up to a twentieth of a radian over the length of both of the rounding's tangents.
    radius, angle = 3e-3, np.arctan2(6, 11)
    bore = measured(make(Entry("rounded", (radius,)), cup_shape=0), 81)
    found = cut(bore, "rounded 0.5 mm", new=True)
    designed = make(Entry("rounded", (0.5e-3,)), cup_shape=0)
    x, off = along(bore), 0.05 * 2 * radius * np.tan(angle / 2)
    np.testing.assert_allclose(found.radius(x), designed.radius(x), atol=off)
    assert added_metal(bore.segments, found.segments)[0] > 20e-6


def test_a_new_piece_has_the_same_cut_where_metal_is_only_removed(make: Make) -> None:
    bore = measured(make(Entry()), 41)
    old, new = (cut(bore, "rounded 1 mm", new=new) for new in (False, True))
    for one, other in zip(old.segments, new.segments, strict=True):
        np.testing.assert_array_equal(one.points, other.points)


def test_a_square_entry_stays_as_it_was_measured(make: Make) -> None:
    bore = measured(make(Entry()), 41)
    found = cut(bore, "square")
    assert found.entry == Entry()
    assert [one.points.tolist() for one in found.segments] == [
        one.points.tolist() for one in bore.segments
    ]


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        ("chamfered 0.5 mm at 85 deg", "cut no metal"),
        ("chamfered 30 mm", "cut no metal"),
    ],
)
def test_an_entry_that_does_not_fit_is_refused_with_one_that_does(
    make: Make, entry: str, words: str
) -> None:
    bore = measured(make(Entry(), throat_length=70.0), 41)
    with pytest.raises(BoreError, match=words) as refused:
        cut(bore, entry)
    cut(bore, str(refused.value).rpartition("for example ")[2])


def test_noise_of_the_readings_does_not_make_a_square_edge_a_rounded_one(make: Make) -> None:
    random = np.random.default_rng(7)
    square = make(Entry(), cup_shape=0.3)
    x = np.concatenate([np.arange(0, 11.01, 0.5), [12.0, 13.5, 16.0], np.arange(20, 89, 4)]) * 1e-3
    for _ in range(20):
        stations = np.column_stack([x, 2 * square.radius(x)])
        stations[1:, 1] += random.uniform(-25.4e-6, 25.4e-6, len(x) - 1)
        bore = bore_through(stations, "straight", throat_stretch(stations))
        found = cut(bore, "rounded 1 mm")
        assert added_metal(bore.segments, found.segments)[0] < 1e-12
        cut(bore, "square")
