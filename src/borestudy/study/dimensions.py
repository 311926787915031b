"""Dimensions of a study's bore that can be changed a little, and what the wall then does."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

from borestudy.bore import Bore, Dimension, bore_from_dimensions, variation
from borestudy.bore.dimensions import TAPERS
from borestudy.bore.stations import station_dimensions
from borestudy.study.building import sizes_of
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
#: Sizes of a throat entry by its shape: the last word of their keys, and words.
ENTRY_SIZES = {
    "rounded": (("radius", "entry radius"),),
    "chamfered": (("length", "chamfer length"),),
    "elliptical": (("length", "entry length"), ("height", "entry height")),
}
#: A curve that is straight is taken for one so little bent, as it is drawn by other points.
STRAIGHT = 1e-9
#: A backbore's station so near an end is that end [m]: `bore_from_dimensions`.
END = 1e-9


def dimensions_of(bore: BoreDimensions | MeasuredBore, directory: Path) -> list[Dimension]:
    """Every dimension of a bore's section with the derivative of the wall by it.

    Those of a bore from dimensions are the study's keys, sizes of a throat entry that is not square
    and diameters of a backbore's stations among them; those of a measured bore are the radii at its
    stations, as keys ``station 1``, ``station 2``, …, and its length.

    Raises
    ------
    BoreError
        If dimensions or stations make no bore.
    """
    if isinstance(bore, MeasuredBore):
        return station_dimensions(directory / bore.stations, bore.join)
    sizes = sizes_of(bore)
    sizes["cup_shape"] = sizes["cup_shape"] or STRAIGHT
    taper = sizes["backbore_taper"]
    stations = dict(enumerate(taper)) if isinstance(taper, list) else {}
    if stations:
        # One at an end says again what the throat or the shank end is, and would not move with it.
        length = sizes["length"] - sizes["cup_depth"] - sizes["throat_length"]
        stations = {n: one for n, one in stations.items() if END < one[0] < length - END}
        sizes["backbore_taper"] = list(stations.values()) or "straight"
    found = [
        variation(_with(sizes, argument), sizes[argument], key=key, label=label, unit=unit)
        for key, (argument, label, unit) in NAMED.items()
    ]
    found += _of_entry(sizes)
    return found + (_of_stations(sizes, stations) if isinstance(taper, list) else _of_taper(sizes))


def _with(sizes: dict[str, Any], argument: str) -> Callable[[float], Bore]:
    return lambda value: bore_from_dimensions(**sizes | {argument: value})


def _of_entry(sizes: dict[str, Any]) -> list[Dimension]:
    """Sizes of a throat entry; a chamfer keeps its angle."""
    entry, found = sizes["entry"], []
    for place, (word, label) in enumerate(ENTRY_SIZES.get(entry.shape, ())):

        def with_size(size: float, place: int = place) -> Bore:
            changed = [*entry.sizes[:place], size, *entry.sizes[place + 1 :]]
            return bore_from_dimensions(**sizes | {"entry": replace(entry, sizes=tuple(changed))})

        key = f"throat.entry.{word}"
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

        key, label = f"backbore.taper[{number}]", f"backbore diameter at {1e3 * distance:.4g} mm"
        found.append(variation(with_diameter, diameter, key=key, label=label))
    return found
