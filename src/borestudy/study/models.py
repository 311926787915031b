"""The sections of a study file, one model each; the JSON schema is made from them."""

from itertools import pairwise
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Discriminator, Field, Tag

from borestudy.study import quantities
from borestudy.study.errors import KeyedError
from borestudy.study.measured_bore import MeasuredBore as MeasuredBore
from borestudy.study.section import Section as Section
from borestudy.study.section import setting as setting
from borestudy.units import split_list


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
    | Annotated[list[TaperStation], Field(min_length=1), Tag("<TaperStation>")],
    Discriminator(_kind_of_taper),
]


class Backbore(Section):
    """The bore from the end of the throat to the shank end."""

    end_diameter: quantities.Length = setting("a length: diameter at the shank end", "9.0 mm")
    taper: Taper = setting(
        "straight, opening early, opening late, a number from -1 (opening late) to 1 (opening "
        "early), or a list of stations",
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


def _measured_or_dimensions(value: Any) -> str:
    keys = value if isinstance(value, dict) else getattr(value, "__dict__", {})
    measured = not set(MeasuredBore.model_fields).isdisjoint(keys)
    return "<MeasuredBore>" if measured else "<BoreDimensions>"


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


def _as_list(value: Any) -> Any:
    return split_list(value) if isinstance(value, str) else value


class Transition(Section):
    """Where the best estimate of the flow turns turbulent."""

    from_: Literal["rule", "rim plane"] = setting(
        "rule: behind a square edge or the throat's end, at a distance by the throat's Reynolds "
        "number; rim plane: everywhere from a throat Reynolds number of 2500 on, by the rule below",
        "rule",
        default="rule",
        alias="from",
    )
    distance_factor: float = setting(
        "a number from 0.1 to 10: factor of the rule's distances",
        1.0,
        default=1.0,
        ge=0.1,
        le=10.0,
    )
    behind_edge: float = setting(
        "a number from 0.1 to 5: the rule's distance behind a square edge, in throat diameters",
        0.6,
        default=0.6,
        ge=0.1,
        le=5.0,
    )

    def settings(self) -> dict[str, Any]:
        """The values under the names of the model's options."""
        return {"start": self.from_} | self.model_dump(exclude={"from_"})


class Flow(Section):
    """Steady flow at several rates."""

    rates: Annotated[list[quantities.FlowRate], BeforeValidator(_as_list)] = setting(
        "flow rates in ascending order, as a list or with one unit at the end",
        "0.05, 0.1, 0.2, 0.3 L/s",
        default_factory=lambda: "0.05, 0.1, 0.2, 0.3 L/s",
    )
    inlet: Literal["uniform", "developed"] = setting(
        "velocity profile at the rim plane", "uniform", default="uniform"
    )
    closure: Literal["estimate", "laminar", "turbulent", "both"] = setting(
        "what is solved: the best estimate alone, turbulent from where flow.transition says; or "
        "beside it the laminar solution, the turbulent one from a throat Reynolds number of 2500 "
        "on, or both, as extremes",
        "estimate",
        default="estimate",
    )
    transition: Transition = setting("a mapping", default_factory=Transition)
    pipe_behind: quantities.PipeLength | None = setting(
        "a length: with it the flow goes on through a straight pipe, as wide as the "
        "shank end, in which pressure is recovered; pressure drops are then to the pipe's end",
        "90 mm",
        default=None,
    )
    tolerance: quantities.Tolerance = setting(
        "numerical uncertainty wanted of the pressure drop; a rate that has more is "
        "solved on a finer mesh than mesh.resolution says, and says so if that is not enough",
        "1 %",
        default="1 %",
    )
    reference_rate: quantities.FlowRate | None = setting(
        "the rate that comparison.csv compares at; one of flow.rates, or else the lowest",
        "0.05 L/s",
        default=None,
    )

    def model_post_init(self, context: Any) -> None:
        """Refuse rates that do not ascend, and settle which one cases are compared at."""
        example = "for example 0.05, 0.1, 0.2, 0.3 L/s"
        if not self.rates:
            raise KeyedError("rates", f"found no rate; allowed is at least one, {example}")
        for index, (before, after) in enumerate(pairwise(self.rates), start=1):
            if after.value <= before.value:
                raise KeyedError(
                    f"rates[{index}]",
                    f"found {after!r} after {before!r}; allowed are rates in ascending order, each "
                    f"once, {example}",
                )
        chosen = self.reference_rate or self.rates[0]
        if chosen.value not in [rate.value for rate in self.rates]:
            raise KeyedError(
                "reference_rate",
                f"found {chosen!r}; allowed is one of flow.rates ({', '.join(self.rates)}), "
                f"for example {self.rates[0]}",
            )
        # Past validate_assignment, which would come here again.
        self.__dict__["reference_rate"] = chosen


class Mesh(Section):
    """One knob for the mesh of both physics."""

    resolution: Literal["coarse", "medium", "fine"] = setting(
        "finest mesh that is solved on", "medium", default="medium"
    )
