"""Build a bore in metres from a study's texts; say geometry's refusals in the study's words."""

from pathlib import Path
from typing import Any

from borestudy.bore import (
    Bore,
    BoreError,
    Measurement,
    bore_from_dimensions,
    measure,
    measured_bore,
)
from borestudy.bore.cuts.changes import Changes, changed
from borestudy.study.errors import StudyError, dotted
from borestudy.study.models import BoreDimensions, MeasuredBore


def build_bore(bore: BoreDimensions | MeasuredBore, directory: Path) -> Bore:
    """The bore of a study's section as exact segments.

    Parameters
    ----------
    bore : BoreDimensions or MeasuredBore
        Section as the study writes it.
    directory : Path
        Folder in which stations are looked for.

    Raises
    ------
    StudyError
        If dimensions or stations make no bore: key, what was found, what is allowed, an example.
    """
    try:
        if isinstance(bore, MeasuredBore):
            measured = measured_bore(measurement_of(bore, directory), bore.join)
            return changed(measured, changes_of(bore))
        return bore_of_dimensions(bore)
    except BoreError as problem:
        key = problem.key
        if isinstance(bore, MeasuredBore):
            # Whatever is wrong inside the file, the study's only key for it is the file's name.
            key = key if key.partition(".")[0] in MeasuredBore.model_fields else "stations"
        where = dotted("bore", key) if key else "bore"
        raise StudyError(f"{where}: {problem}") from None


def measurement_of(bore: MeasuredBore, directory: Path) -> Measurement:
    """The stations of a measured bore, with all that was found in its file.

    Raises
    ------
    BoreError
        Naming the line of the file, what was found and what is allowed.
    """
    return measure(directory / bore.stations, bore.reading())


def changes_of(bore: MeasuredBore) -> Changes:
    """What is changed in a measured bore, in m."""
    return Changes(
        length=bore.length.value,
        cup_diameter=bore.cup.diameter.value,
        end_diameter=bore.backbore.end_diameter.value,
        throat_diameter=bore.throat.diameter.value,
        cup_depth=bore.cup.depth.value,
        throat_length=bore.throat.length.value,
        entry=bore.throat.entry.value,
        new=bore.piece == "new",
    )


def bore_of_dimensions(dimensions: BoreDimensions) -> Bore:
    """The bore of dimensions; BoreError where they make none."""
    return bore_from_dimensions(**sizes_of(dimensions))


def sizes_of(dimensions: BoreDimensions) -> dict[str, Any]:
    """The arguments of `bore_from_dimensions`, in m."""
    cup, throat, backbore = dimensions.cup, dimensions.throat, dimensions.backbore
    taper = backbore.taper
    return {
        "length": dimensions.length.value,
        "cup_diameter": cup.diameter.value,
        "cup_depth": cup.depth.value,
        "cup_shape": cup.shape,
        "throat_diameter": throat.diameter.value,
        "throat_length": throat.length.value,
        "entry": throat.entry.value,
        "backbore_end_diameter": backbore.end_diameter.value,
        "backbore_taper": (
            [(station.position.value, station.diameter.value) for station in taper]
            if isinstance(taper, list)
            else taper
        ),
    }
