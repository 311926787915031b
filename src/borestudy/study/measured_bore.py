"""The section of a measured bore, and how its file of readings is to be read."""

from typing import Any, Literal

from borestudy.bore import Reading
from borestudy.study import quantities
from borestudy.study.section import Section, setting


def _changed(description: str, example: str) -> Any:
    """A length of a measured bore that may be changed."""
    return setting(f"{description}, or as measured", example, default=quantities.AS_MEASURED)


class MeasuredCup(Section):
    """What is changed in the cup of a measured bore."""

    diameter: quantities.ChangedLength = _changed(
        "a length: diameter at the rim plane, to which the cup is blended", "16.5 mm"
    )
    depth: quantities.ChangedLength = _changed(
        "a length: rim plane to the throat's start, before an entry is cut", "11 mm"
    )


class MeasuredBackbore(Section):
    """What is changed in the backbore of a measured bore."""

    end_diameter: quantities.ChangedLength = _changed(
        "a length: diameter at the shank end, to which the backbore is blended", "9.5 mm"
    )


class MeasuredThroat(Section):
    """What is changed in the throat of a measured bore."""

    diameter: quantities.ChangedLength = _changed(
        "a length or drill size: of a drill that is run through the bore", "drill 25"
    )
    length: quantities.ChangedLength = _changed("a length: of the throat, from its start", "4 mm")
    entry: quantities.CutEntry = setting(
        "edge between cup and throat as a tool cuts it, or as measured",
        "rounded 1 mm",
        default=quantities.AS_MEASURED,
    )


class MeasuredBore(Section):
    """A bore from measured stations, and what is changed in it."""

    stations: quantities.CsvFile = setting(
        "a CSV file of positions and diameters, best with the columns position_mm and diameter_mm "
        "(or position_in, diameter_in)",
        "stations.csv",
    )
    join: Literal["straight", "smooth"] = setting(
        "straight keeps corners and steps; smooth is monotone without overshoot",
        "smooth",
        default="straight",
    )
    outliers: Literal["refuse", "keep", "leave out"] = setting(
        "a station that stands alone far out of its neighbours' line: refused as a slip, kept "
        "since it was measured so, or left out, which is told",
        "keep",
        default="refuse",
    )
    unit: Literal["as found", "mm", "in"] = setting(
        "unit of the file's numbers: as its columns are named, or else that in which they make a "
        "mouthpiece; or mm or in, whatever the file says",
        "in",
        default="as found",
    )
    first: Literal["as found", "rim", "shank"] = setting(
        "the end that the file begins at: as found from its diameters, or rim or shank",
        "shank",
        default="as found",
    )
    same_position: Literal["as found", "repeated", "step"] = setting(
        "several readings at one position: as found by how far they are apart; or repeated "
        "readings, whose mean is taken, or a step",
        "repeated",
        default="as found",
    )
    uncertainty: quantities.ReadingError | None = setting(
        "a length: how far one reading of a diameter may be off either way, at about 95 %; by "
        "default from the scatter of repeated readings, or else 0.001 in",
        "0.001 in",
        default=None,
    )
    position_uncertainty: quantities.ReadingError | None = setting(
        "a length: how far one position may be off either way, at about 95 %; with it each "
        "diameter is uncertain by the wall's slope times that as well",
        "0.05 mm",
        default=None,
    )
    common_uncertainty: quantities.ReadingError | None = setting(
        "a length: how far all diameters together may be off either way, as by a gauge's zero",
        "0.0005 in",
        default=None,
    )
    smoothing: quantities.ReadingError | None = setting(
        "a length: the most that smoothing may move a station's diameter by; none without it",
        "0.02 mm",
        default=None,
    )

    length: quantities.ChangedLength = _changed(
        "a length: overall, to which the shank end is faced off", "86 mm"
    )
    cup: MeasuredCup = setting("a mapping", default_factory=MeasuredCup)
    throat: MeasuredThroat = setting("a mapping", default_factory=MeasuredThroat)
    backbore: MeasuredBackbore = setting("a mapping", default_factory=MeasuredBackbore)
    piece: Literal["existing", "new"] = setting(
        "existing: changes only remove metal; new: a new piece is made, and they may add it",
        "new",
        default="existing",
    )

    def reading(self) -> Reading:
        """What the file does not say itself."""
        lengths = {
            name: given.value
            for name in ("common_uncertainty", "position_uncertainty", "smoothing")
            if (given := getattr(self, name)) is not None
        }
        return Reading(
            unit=_said(self.unit),
            first=_said(self.first),
            same_position=_said(self.same_position),
            outliers=self.outliers,
            uncertainty=None if self.uncertainty is None else self.uncertainty.value,
            **lengths,
        )


def _said(word: str) -> str:
    return "" if word == "as found" else word
