"""Dimensions of a study's bore that can be changed a little, and what the wall then does."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from borestudy.bore import (
    Bore,
    Dimension,
    bore_from_dimensions,
    dimensions_of_stations,
    measured_bore,
    variation,
)
from borestudy.bore.cuts.changes import changed_dimensions
from borestudy.bore.dimensions import TAPERS
from borestudy.bore.entry import ENTRY_SIZES
from borestudy.study.building import changes_of, measurement_of, sizes_of
from borestudy.study.models import BoreDimensions, MeasuredBore

#: Dimensions by their keys: argument of `bore_from_dimensions`, words, and unit for people.
NAMED = {
    "length": ("length", "overall length", "mm"),
    "cup.diameter": ("cup_diameter", "rim diameter", "mm"),
    "cup.depth": ("cup_depth", "cup depth", "mm"),
    "cup.shape": ("cup_shape", "cup shape", ""),
    "throat.diameter": ("throat_diameter", "throat diameter", "mm"),
    "throat.length": ("throat_length", "throat length", "mm"),
    "backbore.end_diameter": ("backbore_end_diameter", "backbore end diameter", "mm"),
}
#: A curve that is straight is taken for one so little bent, as it is drawn by other points.
STRAIGHT = 1e-9
#: A backbore's station so near an end is that end [m]: `bore_from_dimensions`.
END = 1e-9
#: What the keys of an entry's sizes, and of the diameters of a backbore's stations, begin with.
ENTRY, STATION = "throat.entry.", "backbore.taper["


def dimensions_of(bore: BoreDimensions | MeasuredBore, directory: Path) -> list[Dimension]:
    """Every dimension of a bore's section with the derivative of the wall by it.

    Those of a bore from dimensions are the study's keys, sizes of a throat entry that is not square
    and diameters of a backbore's stations among them; those of a measured bore are the radii at its
    stations, as keys ``station 1``, ``station 2``, …, its length, and the sizes of what is changed
    in it.

    Raises
    ------
    BoreError
        If dimensions or stations make no bore.
    """
    if isinstance(bore, MeasuredBore):
        measured = measurement_of(bore, directory)
        found = dimensions_of_stations(measured, bore.join)
        return changed_dimensions(measured_bore(measured, bore.join), found, changes_of(bore))
    return dimensions_of_sizes(sizes_of(bore))


def dimensions_of_sizes(sizes: Mapping[str, Any]) -> list[Dimension]:
    """The same of a bore from the arguments of `bore_from_dimensions`."""
    taper, stations = sizes["backbore_taper"], _stations_inside(sizes)
    sizes = {**sizes, "cup_shape": sizes["cup_shape"] or STRAIGHT}
    if isinstance(taper, list):
        sizes["backbore_taper"] = list(stations.values()) or "straight"
    found = [
        variation(_with(sizes, argument), sizes[argument], key=key, label=label, unit=unit)
        for key, (argument, label, unit) in NAMED.items()
    ]
    found += _of_entry(sizes)
    return found + (_of_stations(sizes, stations) if isinstance(taper, list) else _of_taper(sizes))


def values_of_sizes(sizes: Mapping[str, Any]) -> dict[str, tuple[str, str, float]]:
    """Words, unit for people and value [SI] of each dimension by its key, without its bore."""
    found = {key: (label, unit, sizes[argument]) for key, (argument, label, unit) in NAMED.items()}
    entry, taper = sizes["entry"], sizes["backbore_taper"]
    for (word, label), size in zip(ENTRY_SIZES.get(entry.shape, ()), entry.sizes, strict=False):
        found[f"{ENTRY}{word}"] = (label, "mm", size)
    if isinstance(taper, list):
        for number, (distance, diameter) in _stations_inside(sizes).items():
            label = f"backbore diameter at {1e3 * distance:.4g} mm"
            found[f"{STATION}{number}]"] = (label, "mm", diameter)
    else:
        fullness = TAPERS[taper] if isinstance(taper, str) else taper
        found["backbore.taper"] = ("backbore taper", "", fullness)
    return found


def with_dimension(sizes: Mapping[str, Any], key: str, value: float) -> dict[str, Any]:
    """The arguments of `bore_from_dimensions` with another value [SI] of one dimension.

    A backbore's stations at its ends go with them.
    """
    if key in NAMED:
        return _with_ends({**sizes, NAMED[key][0]: value}, set(_stations_inside(sizes)))
    if key.startswith(STATION):
        taper, number = list(sizes["backbore_taper"]), int(key.removeprefix(STATION)[:-1])
        taper[number] = (taper[number][0], value)
        return {**sizes, "backbore_taper": taper}
    if key == "backbore.taper":
        return {**sizes, "backbore_taper": value}
    entry = sizes["entry"]
    words = [word for word, _ in ENTRY_SIZES[entry.shape]]
    place = words.index(key.removeprefix(ENTRY))
    changed = [*entry.sizes[:place], value, *entry.sizes[place + 1 :]]
    return {**sizes, "entry": replace(entry, sizes=tuple(changed))}


def _with_ends(sizes: dict[str, Any], inside: Collection[int]) -> dict[str, Any]:
    """Stations that are not inside put at the backbore's ends, with the diameters there."""
    taper = sizes["backbore_taper"]
    if not isinstance(taper, list):
        return sizes
    start = (0.0, sizes["throat_diameter"])
    stop = (_backbore_length(sizes), sizes["backbore_end_diameter"])
    placed = [
        one if number in inside else start if one[0] <= END else stop
        for number, one in enumerate(taper)
    ]
    return {**sizes, "backbore_taper": placed}


def _backbore_length(sizes: Mapping[str, Any]) -> float:
    return float(sizes["length"] - sizes["cup_depth"] - sizes["throat_length"])


def _stations_inside(sizes: Mapping[str, Any]) -> dict[int, tuple[float, float]]:
    """The backbore's stations by their numbers in the study, without those at its ends.

    One at an end says again what the throat or the shank end is, and would not move with it.
    """
    taper = sizes["backbore_taper"]
    length = _backbore_length(sizes)
    stations = enumerate(taper if isinstance(taper, list) else [])
    return {number: one for number, one in stations if END < one[0] < length - END}


def _with(sizes: dict[str, Any], argument: str) -> Callable[[float], Bore]:
    return lambda value: bore_from_dimensions(**sizes | {argument: value})


def _of_entry(sizes: dict[str, Any]) -> list[Dimension]:
    """Sizes of a throat entry; a chamfer keeps its angle."""
    entry, found = sizes["entry"], []
    for place, (word, label) in enumerate(ENTRY_SIZES.get(entry.shape, ())):

        def with_size(size: float, place: int = place) -> Bore:
            changed = [*entry.sizes[:place], size, *entry.sizes[place + 1 :]]
            return bore_from_dimensions(**sizes | {"entry": replace(entry, sizes=tuple(changed))})

        key = f"{ENTRY}{word}"
        found.append(variation(with_size, entry.sizes[place], key=key, label=label))
    return found


def _of_taper(sizes: dict[str, Any]) -> list[Dimension]:
    """The taper as a number."""
    taper = sizes["backbore_taper"]
    fullness = (TAPERS[taper] if isinstance(taper, str) else taper) or STRAIGHT
    build, key = _with(sizes, "backbore_taper"), "backbore.taper"
    return [variation(build, fullness, key=key, label="backbore taper", unit="")]


def _of_stations(
    sizes: dict[str, Any], stations: dict[int, tuple[float, float]]
) -> list[Dimension]:
    """The diameters of a backbore's stations, by their numbers in the study."""
    found = []
    for number, (distance, diameter) in stations.items():

        def with_diameter(value: float, number: int = number, distance: float = distance) -> Bore:
            changed = stations | {number: (distance, value)}
            return bore_from_dimensions(**sizes | {"backbore_taper": list(changed.values())})

        key, label = f"{STATION}{number}]", f"backbore diameter at {1e3 * distance:.4g} mm"
        found.append(variation(with_diameter, diameter, key=key, label=label))
    return found
