"""Every dimension of a bore has its key, and moves the wall as the study's own text does."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from borestudy.bore import bore_from_dimensions, places_on_wall
from borestudy.study import Study
from borestudy.study.building import sizes_of
from borestudy.study.dimensions import values_of_sizes, with_dimension

Make = Callable[..., Study]
BASE: dict[str, Any] = {"vary": {}}
ENTRIES = {
    "square": {},
    "rounded 0.5 mm": {"throat.entry.radius": "entry radius"},
    "chamfered 0.5 mm at 30 deg": {
        "throat.entry.length": "chamfer length"},
    "elliptical 2 mm x 1 mm": {
        "throat.entry.length": "entry length", "throat.entry.height": "entry height"},
}  # fmt: skip
STATIONS = [
    {"position": "20 mm", "diameter": "5.5 mm"},
    {"position": "41 mm", "diameter": "7 mm"},
]
#: The example's backbore is 88 mm - 10.8 mm - 5 mm long; its ends said again.
ENDS = [
    {"position": "0 mm", "diameter": "drill 27"},
    *STATIONS,
    {"position": "72.2 mm", "diameter": "9 mm"},
]


def dimensions(make: Make, changes: dict[str, Any]) -> dict[str, Any]:
    """The dimensions of the example with some keys changed, by their keys."""
    return {one.key: one for one in make(BASE | changes).cases()[0].dimensions()}


@pytest.mark.parametrize("entry", ENTRIES)
def test_a_bore_has_the_dimensions_of_its_study_with_their_values(make: Make, entry: str) -> None:
    found = dimensions(make, {"bore/throat/entry": entry})
    labels = {
        "length": "overall length", "cup.diameter": "rim diameter", "cup.depth": "cup depth",
        "cup.shape": "cup shape", "throat.diameter": "throat diameter",
        "throat.length": "throat length", "backbore.end_diameter": "backbore end diameter",
        **ENTRIES[entry], "backbore.taper": "backbore taper",
    }  # fmt: skip
    assert {key: one.label for key, one in found.items()} == labels
    units = {key: one.unit for key, one in found.items()}
    pure = {"cup.shape", "backbore.taper"}
    assert all(unit == ("" if key in pure else "mm") for key, unit in units.items())
    values = {"length": 88e-3, "cup.diameter": 16.2e-3, "cup.depth": 10.8e-3, "cup.shape": 0.6,
              "throat.diameter": 0.144 * 25.4e-3, "throat.length": 5e-3,
              "backbore.end_diameter": 9e-3, "backbore.taper": 0.0}  # fmt: skip
    for key, value in values.items():
        assert found[key].value == pytest.approx(value, abs=2e-9)
    sizes = [one.value for key, one in found.items() if key.startswith("throat.entry")]
    assert sizes == pytest.approx(
        {"square": [], "rounded 0.5 mm": [0.5e-3], "elliptical 2 mm x 1 mm": [2e-3, 1e-3],
         "chamfered 0.5 mm at 30 deg": [0.5e-3]}[entry])  # fmt: skip


#: A key, what moves, its text before and after, and by how much it moves [SI].
TEXTS = {
    "length": ("length", "88 mm", "88.001 mm"),
    "cup.diameter": ("cup/diameter", "16.2 mm", "16.201 mm"),
    "cup.depth": ("cup/depth", "10.8 mm", "10.801 mm"),
    "cup.shape": ("cup/shape", 0.6, 0.6001),
    "throat.diameter": ("throat/diameter", "3.66 mm", "3.661 mm"),
    "throat.length": ("throat/length", "5 mm", "5.001 mm"),
    "backbore.end_diameter": ("backbore/end_diameter", "9 mm", "9.001 mm"),
    "throat.entry.radius": ("throat/entry", "rounded 0.5 mm", "rounded 0.501 mm"),
    "throat.entry.length": (
        "throat/entry", "chamfered 0.5 mm at 30 deg", "chamfered 0.501 mm at 30 deg"),
    "throat.entry.height": (
        "throat/entry", "elliptical 2 mm x 1 mm", "elliptical 2 mm x 1.001 mm"),
    "backbore.taper": ("backbore/taper", 0.3, 0.3001),
    "backbore.taper[1]": (
        "backbore/taper", STATIONS, [STATIONS[0], STATIONS[1] | {"diameter": "7.001 mm"}]),
}  # fmt: skip


@pytest.mark.parametrize("key", TEXTS)
def test_a_dimension_moves_the_wall_as_its_own_text_in_the_study_does(make: Make, key: str) -> None:
    place, before, after = TEXTS[key]
    changes = {f"bore/{place}": before}
    bore = make(BASE | changes).cases()[0].build_bore()
    found = dimensions(make, changes)[key]
    larger = make({f"bore/{place}": after})
    amount = dimensions(make, {})[key].value - found.value
    step = {"": 1e-4, "mm": 1e-6}[found.unit]
    assert amount == pytest.approx(step, rel=1e-6)
    there = larger.cases()[0].build_bore()
    old, new = (
        np.concatenate([segment(np.linspace(0, 1, 5)) for segment in one.segments])
        for one in (bore, there)
    )
    moved = old + step * found.velocity(places_on_wall(bore, old.T)).T
    # The second order: the square of the step over half a millimetre, or that of the shape's
    # step times a tenth of a bore's size.
    assert np.abs(new - old).max() > 1e-8
    assert np.abs(moved - new).max() < {"": 1e-9, "mm": 1e-8}[found.unit]


def test_stations_at_the_ends_of_a_backbore_move_with_the_ends(make: Make) -> None:
    ends = dimensions(make, {"bore/backbore/taper": ENDS})
    inner = dimensions(make, {"bore/backbore/taper": STATIONS})
    assert set(ends) - set(inner) == {"backbore.taper[2]"}  # numbered as in the study
    assert set(inner) - set(ends) == {"backbore.taper[0]"}
    for key in set(ends) & set(inner) - {"backbore.taper[1]"}:
        for number, piece in inner[key].pieces.items():
            np.testing.assert_allclose(ends[key].pieces[number].points, piece.points, atol=1e-8)


def test_a_backbore_through_its_two_ends_has_the_dimensions_of_the_rest(make: Make) -> None:
    found = dimensions(make, {"bore/backbore/taper": [ENDS[0], ENDS[-1]]})
    assert "backbore.end_diameter" in found
    assert not [key for key in found if "taper" in key]


@pytest.mark.parametrize("entry", ENTRIES)
@pytest.mark.parametrize("shape", [0, 1])
def test_the_limits_of_a_cups_shape_have_all_dimensions(
    make: Make, entry: str, shape: float
) -> None:
    if shape == 0 and entry.startswith("chamfered"):
        entry = "chamfered 0.5 mm at 10 deg"  # less steep than this straight cup
    found = dimensions(make, {"bore/throat/entry": entry, "bore/cup/shape": shape})
    assert found["cup.shape"].pieces[0].points.any()


def test_a_measured_bore_has_a_dimension_at_each_station_and_its_length(make: Make) -> None:
    found = dimensions(make, {"bore": {"stations": "stations.csv", "join": "smooth"}})
    assert list(found) == ["station 1", "station 2", "station 3", "station 4", "length"]
    assert found["station 2"].label == "radius at 10.8 mm"
    assert found["station 2"].value == pytest.approx(1.83e-3)
    assert found["station 2"].position == pytest.approx(10.8e-3)


#: Of the example with each entry, and with stations.
EVERY_KIND = [*({"bore/throat/entry": entry} for entry in ENTRIES), {"bore/backbore/taper": ENDS}]


@pytest.mark.parametrize("changes", EVERY_KIND, ids=str)
def test_values_without_the_bore_are_those_of_its_dimensions(
    make: Make, changes: dict[str, Any]
) -> None:
    case = make(BASE | changes).cases()[0]
    sizes = sizes_of(case.bore)
    found = values_of_sizes(sizes)
    assert list(found) == [one.key for one in case.dimensions()]
    for one in case.dimensions():
        label, unit, value = found[one.key]
        assert (label, unit) == (one.label, one.unit)
        assert value == pytest.approx(one.value, abs=2e-9)
    if "bore/backbore/taper" in changes:
        assert found["backbore.taper[1]"][0] == "backbore diameter at 20 mm"


@pytest.mark.parametrize("changes", EVERY_KIND, ids=str)
def test_a_dimension_is_set_and_no_other_goes_with_it(make: Make, changes: dict[str, Any]) -> None:
    sizes = sizes_of(make(BASE | changes).cases()[0].bore)
    before = values_of_sizes(sizes)
    for key, (*_, value) in before.items():
        other = 0.9 * value + 0.01 if key in ("cup.shape", "backbore.taper") else 0.99 * value
        moved = with_dimension(sizes, key, other)
        changed = values_of_sizes(moved)
        assert bore_from_dimensions(**moved).segments
        assert changed[key][2] == pytest.approx(other, rel=1e-12)
        assert {name: one for name, one in changed.items() if name != key} == {
            name: one for name, one in before.items() if name != key
        }
