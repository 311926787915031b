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
#: Words for the sizes of a throat entry, by its shape.
ENTRY_SIZES = {
    "rounded": ("entry radius",),
    "chamfered": ("entry chamfer length",),
    "elliptical": ("entry length", "entry height"),
}
#: A curve that is straight is taken for one so little bent, as it is drawn by other points.
STRAIGHT = 1e-9


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
    found = [
        variation(_with(sizes, argument), sizes[argument], key=key, label=label, unit=unit)
        for key, (argument, label, unit) in NAMED.items()
    ]
    entry = sizes["entry"]
    for place, label in enumerate(ENTRY_SIZES.get(entry.shape, ())):

        def with_size(size: float, place: int = place) -> Bore:
            changed = [*entry.sizes[:place], size, *entry.sizes[place + 1 :]]
            return bore_from_dimensions(**sizes | {"entry": replace(entry, sizes=tuple(changed))})

        key = label.replace("entry ", "throat.entry.")
        found.append(variation(with_size, entry.sizes[place], key=key, label=label))
    return found + _of_taper(sizes)


def _with(sizes: dict[str, Any], argument: str) -> Callable[[float], Bore]:
    return lambda value: bore_from_dimensions(**sizes | {argument: value})


def _of_taper(sizes: dict[str, Any]) -> list[Dimension]:
    """The taper as a number, or the diameters of its stations."""
    taper = sizes["backbore_taper"]
    if not isinstance(taper, list):
        fullness = (TAPERS[taper] if isinstance(taper, str) else taper) or STRAIGHT
        build = _with(sizes, "backbore_taper")
        label = "backbore taper"
        return [variation(build, fullness, key="backbore.taper", label=label, unit="")]
    found = []
    for place, (distance, diameter) in enumerate(taper):

        def with_diameter(value: float, place: int = place) -> Bore:
            changed = [*taper[:place], (taper[place][0], value), *taper[place + 1 :]]
            return bore_from_dimensions(**sizes | {"backbore_taper": changed})

        key, label = f"backbore.taper[{place}]", f"backbore diameter at {1e3 * distance:.4g} mm"
        try:
            found.append(variation(with_diameter, diameter, key=key, label=label))
        except ValueError:
            continue  # a station at an end, whose diameter is that of the throat or the shank end
    return found
