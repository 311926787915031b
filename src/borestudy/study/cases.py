"""One case for every combination of what a study varies."""

from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from borestudy.air import Air, humid_air
from borestudy.bore import (
    Bore,
    BoreError,
    Dimension,
    Measurement,
    StationErrors,
    measured_bore,
)
from borestudy.bore.cuts.bodies import sizes_as_measured
from borestudy.study import naming
from borestudy.study.building import build_bore, measurement_of
from borestudy.study.dimensions import dimensions_of
from borestudy.study.errors import StudyError
from borestudy.study.models import AirConditions, MeasuredBore
from borestudy.study.quantities import AS_MEASURED
from borestudy.study.texts import shortened
from borestudy.study.vary import AnyBore, combinations, section_of, variable_keys

#: Name of the only case of a study that varies nothing.
SINGLE_CASE = "base"


@dataclass(frozen=True)
class Case:
    """One bore in one air."""

    #: Readable, stable, safe as a folder's name.
    name: str
    #: Dotted key of each varied dimension to its value as the study writes it.
    varied: dict[str, str]
    bore: AnyBore
    air: AirConditions
    #: Folder in which files that the case names are looked for.
    directory: Path
    #: The dimensions of `varied`, with the values that the texts stand for.
    values: dict[str, Any] = field(default_factory=dict, repr=False)

    def build_bore(self) -> Bore:
        """The case's bore as exact segments; StudyError where the dimensions make none."""
        try:
            return build_bore(self.bore, self.directory)
        except StudyError as problem:
            raise StudyError(f"case {self.name}: {problem}") from None

    def dimensions(self) -> list[Dimension]:
        """The dimensions of the case's bore, each with what the wall does when it changes."""
        return dimensions_of(self.bore, self.directory)

    def station_doubts(self) -> list[str]:
        """A line for each thing in the measured file to be looked at, a few of many."""
        measured = self.measurement()
        return [] if measured is None else measured.cautions

    def measurement(self) -> Measurement | None:
        """The bore's measured stations with all that was found in their file; None without such.

        Raises
        ------
        StudyError
            If the file makes no bore.
        """
        if not isinstance(self.bore, MeasuredBore):
            return None
        try:
            return measurement_of(self.bore, self.directory)
        except BoreError as problem:
            raise StudyError(f"case {self.name}: bore.stations: {problem}") from None

    def station_errors(self) -> StationErrors | None:
        """How far the diameters at the bore's measured stations may be off; None without such."""
        measured = self.measurement()
        return None if measured is None else measured.errors

    def build_air(self) -> Air:
        """Constants of the case's air."""
        return humid_air(*self.air.values())

    @property
    def label(self) -> str:
        """What tells the case from the others, in words."""
        return naming.label(self.varied)

    def varied_columns(self) -> dict[str, float | str | None]:
        """Varied dimensions as table columns with their units in the name.

        A size that is as it was measured is told as the bore's own.
        """
        found: dict[str, float | str | None] = {}
        for key, value in self.values.items():
            found |= naming.columns(key, value)
            if key != "throat.entry" and str(value) == AS_MEASURED:
                (name,) = naming.columns(key, value)
                found[name] = naming.rounded(1e3 * self._sizes_as_measured()[key])
        return found

    def _sizes_as_measured(self) -> dict[str, float]:
        """Sizes of the measured bore that changes are made to, by their keys [m]."""
        measured = self.measurement()
        if measured is None or not isinstance(self.bore, MeasuredBore):
            return {}
        return sizes_as_measured(measured_bore(measured, self.bore.join))

    def words(self) -> dict[str, str]:
        """Each varied value in plain words, by its columns of `varied_columns`."""
        return {
            name: naming.label_part(key, self.varied[key])
            for key, value in self.values.items()
            for name in naming.columns(key, value)
        }

    def description(self) -> dict[str, Any]:
        """The case's bore and air as text: changes exactly when its results may change."""
        sections = {"bore": self.bore, "air": self.air}
        return {name: one.model_dump(mode="json", by_alias=True) for name, one in sections.items()}

    def input_files(self) -> list[Path]:
        """Files the case's bore is read from."""
        bore = self.bore
        return [self.directory / bore.stations] if isinstance(bore, MeasuredBore) else []


def expand(
    vary: dict[str, list[Any]], combine: str, bore: AnyBore, air: AirConditions, directory: Path
) -> list[Case]:
    """All cases of a study in the order of `combinations`.

    Raises
    ------
    StudyError
        If `combinations` refuses the lists, or two cases share a name.
    """
    paths = variable_keys(type(bore))
    cases = []
    for values in combinations(vary, combine):
        this_bore, this_air = bore.model_copy(deep=True), air.model_copy()
        for key, value in values.items():
            setattr(section_of(this_bore, this_air, paths[key]), paths[key][-1], value)
        parts = [naming.name_part(key, value) for key, value in values.items()]
        cases.append(
            Case(
                name=shortened("__".join(parts) or SINGLE_CASE),
                varied={key: naming.as_written(value) for key, value in values.items()},
                bore=this_bore,
                air=this_air,
                directory=directory,
                values=values,
            )
        )
    for name, count in Counter(case.name for case in cases).items():
        if count > 1:
            raise StudyError(
                f"vary: found {count} cases that would all be named {name}; allowed are values "
                "that differ in letters or digits, for example {stations: [one.csv, two.csv]}"
            )
    return cases
