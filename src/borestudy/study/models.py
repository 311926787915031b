"""The sections of a study file, one model each; the JSON schema is made from them."""

from collections.abc import Iterable
from difflib import get_close_matches
from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, Tag

from borestudy.study import quantities
from borestudy.study.errors import KeyedError
from borestudy.study.flow_models import Flow as Flow
from borestudy.study.flow_models import Transition as Transition
from borestudy.study.measured_bore import MeasuredBore as MeasuredBore
from borestudy.study.section import Section as Section
from borestudy.study.section import setting as setting


class AirConditions(Section):
    """State of the air in the bore; the same in both physics."""

    temperature: quantities.Temperature = setting("temperature", "25 degC", default="20 degC")
    relative_humidity: quantities.Humidity = setting("relative humidity", "50 %", default="50 %")
    pressure: quantities.Pressure = setting("static pressure", "101.325 kPa", default="101.325 kPa")

    def values(self) -> tuple[float, float, float]:
        """Absolute temperature [K], relative humidity and static pressure [Pa]."""
        return self.temperature.value, self.relative_humidity.value, self.pressure.value


class Cup(Section):
    """The cup, from the rim's inner edge to the throat entry."""

    diameter: quantities.Length = setting("a length: diameter at the rim's inner edge", "16.2 mm")
    depth: quantities.Length = setting(
        "a length: rim plane to the throat's edge, before an entry is cut", "10.8 mm"
    )
    shape: quantities.Shape = setting(
        "0 = straight cone, 1 = full bowl, continuous between", 0.6, default=0.5
    )


class Throat(Section):
    """The narrowest part and the way into it."""

    diameter: quantities.Length = setting("a length or drill size: bore", "drill 27")
    length: quantities.Length = setting("a length: of the cylinder", "5 mm")
    entry: quantities.ThroatEntry = setting(
        "edge between cup and throat", "rounded 0.5 mm", default="square"
    )


class TaperStation(Section):
    """A measured point of the backbore."""

    position: quantities.Position = setting(
        "a length: distance from the end of the throat", "10 mm"
    )
    diameter: quantities.Length = setting("a length: diameter there", "4.6 mm")


def _kind_of_taper(value: Any) -> str:
    if isinstance(value, list):
        return "<TaperStation>"
    return "<number>" if quantities.is_number(value) else "<word>"


Taper = Annotated[
    Annotated[Literal["straight", "opening early", "opening late"], Tag("<word>")]
    | Annotated[quantities.Fullness, Tag("<number>")]
    | Annotated[list[TaperStation], Field(min_length=1, max_length=1000), Tag("<TaperStation>")],
    Discriminator(_kind_of_taper),
]


class Backbore(Section):
    """The bore from the end of the throat to the shank end."""

    end_diameter: quantities.Length = setting("a length: diameter at the shank end", "9.0 mm")
    taper: Taper = setting(
        "straight, opening early, opening late, a number from -1 (opening late) to 1 (opening "
        "early), or a list of up to 1000 stations",
        "straight",
        0.2,
        default="straight",
    )


class BoreDimensions(Section):
    """A bore from its dimensions."""

    length: quantities.Length = setting("a length: overall, rim plane to shank end", "88 mm")
    cup: Cup = setting("a mapping")
    throat: Throat = setting("a mapping")
    backbore: Backbore = setting("a mapping")


def is_measured(keys: Iterable[object]) -> bool:
    """Whether a bore's keys, which may be misspelt, are those of a measured one."""
    dimensions = BoreDimensions.model_fields
    own = MeasuredBore.model_fields.keys() - dimensions.keys()
    # A misspelt key tells as well which of the two is meant.
    return any(
        get_close_matches(str(key), own, n=1, cutoff=0.8) for key in keys if key not in dimensions
    )


def _measured_or_dimensions(value: Any) -> str:
    keys = value if isinstance(value, dict) else getattr(value, "__dict__", {})
    return "<MeasuredBore>" if is_measured(keys) else "<BoreDimensions>"


BoreSection = Annotated[
    Annotated[BoreDimensions, Tag("<BoreDimensions>")]
    | Annotated[MeasuredBore, Tag("<MeasuredBore>")],
    Discriminator(_measured_or_dimensions),
]


class AirColumn(Section):
    """The instrument behind the shank, as measured stations."""

    air_column: quantities.CsvFile = setting(
        "a CSV file with position_mm and diameter_mm", "air-column.csv", alias="air column"
    )


Behind = Annotated[
    Annotated[Literal["closed", "open", "open flanged", "anechoic pipe"], Tag("<word>")]
    | Annotated[AirColumn, Tag("<AirColumn>")],
    Discriminator(lambda value: "<AirColumn>" if isinstance(value, dict | AirColumn) else "<word>"),
]


class Resonance(Section):
    """The input impedance over a range of frequencies."""

    from_: quantities.Frequency = setting(
        "a frequency: lowest", "50 Hz", default="50 Hz", alias="from"
    )
    to: quantities.Frequency = setting("a frequency: highest", "5000 Hz", default="5000 Hz")
    points: int = setting(
        "a whole number from 2 to 200000: frequencies, equally spaced",
        991,
        default=991,
        ge=2,
        le=200_000,
    )
    behind: Behind = setting(
        "what follows the shank end: closed, open, open flanged, anechoic pipe, "
        "or an air column from a CSV file",
        "anechoic pipe",
        "{air column: air-column.csv}",
        default="anechoic pipe",
    )
    walls: Literal["lossless", "plain", "curved"] = setting(
        "losses at the walls: none, as on a plane wall, or with the wall's curvature",
        "curved",
        default="curved",
    )

    fundamental: quantities.Frequency | None = setting(
        "a frequency: with it, every resonance says its cents above the nearest "
        "harmonic of this fundamental",
        "116.5 Hz",
        default=None,
    )

    def model_post_init(self, context: Any) -> None:
        """Refuse a range that does not ascend."""
        if self.to.value <= self.from_.value:
            example = max(5000.0, 2 * self.from_.value)
            raise KeyedError(
                "to",
                f"found {self.to!r}; allowed is a frequency above resonance.from "
                f"({self.from_}), for example {example:g} Hz",
            )


class Mesh(Section):
    """One knob for the mesh of both physics."""

    resolution: Literal["coarse", "medium", "fine"] = setting(
        "finest mesh that is solved on", "medium", default="medium"
    )
