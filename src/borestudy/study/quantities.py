"""Field types of a study: texts as written, each with the value that it stands for.

Names of cases, tables and the resolved study say what the author wrote; what is computed takes the
value, which is parsed once.
"""

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Annotated, Any, Generic, Self, TypeVar

from pydantic import BeforeValidator, Field, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, core_schema

from borestudy import air, units
from borestudy.bore import entry
from borestudy.study.texts import checked_path

T = TypeVar("T")


class Written(str, Generic[T]):
    """A text of the study with the value that it stands for."""

    #: A quantity in SI, or a throat entry.
    value: T
    #: What the text was checked to be.
    checked: "Checked[T]"

    def __deepcopy__(self, memo: dict[int, Any]) -> Self:
        """Return the text itself, which never changes."""
        return self


@dataclass(frozen=True, eq=False)
class Checked(Generic[T]):
    """What a field holds, for pydantic: a text that `parse` understands, within limits.

    `parse` gives a text's value or raises ValueError, `accepts` says whether a value is allowed,
    `allowed` and `example` are words for messages; `schema` is the JSON schema beside the type.
    """

    parse: Callable[[object], T]
    schema: dict[str, Any]
    accepts: Callable[[T], bool] = lambda value: True
    allowed: str = ""
    example: str = ""

    def check(self, text: object) -> Written[T]:
        """Return the text with single spaces and its value, or say why it is not allowed."""
        if isinstance(text, Written) and text.checked is self:
            return text
        value = self.parse(text)
        if not self.accepts(value):
            raise _refusal(text, f"is {self.allowed}", self.example)
        written: Written[T] = Written(" ".join(str(text).split()))
        written.value, written.checked = value, self
        return written

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        """Validate by `check`, and serialise as plain text."""
        return core_schema.no_info_plain_validator_function(
            self.check, serialization=core_schema.to_string_ser_schema()
        )

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Return what editors are told of the field."""
        return {"type": "string", **self.schema}


def _refusal(found: object, allowed: str, example: str) -> units.UnitError:
    return units.UnitError(f"found {units.quoted(found)}; allowed {allowed}", example)


def _quantity(
    kind: units.Kind,
    limits: tuple[float, float] = (0.0, math.inf),
    allowed: str = "",
) -> Checked[float]:
    """A quantity within limits, of which a lowest of zero is allowed only where words say so."""
    drill = r"^\s*[Dd]rill\b|" if kind is units.LENGTH else ""
    written = "|".join(re.escape(unit) for unit in kind.factors)
    schema = {
        "pattern": rf"{drill}[0-9.]\s*({written})\s*$",
        "examples": [kind.example],
        "description": kind.allowed,
    }
    return Checked(
        units.parse_length if kind is units.LENGTH else partial(units.parse, kind=kind),
        schema,
        lambda value: limits[0] <= value <= limits[1] and (value > 0 or bool(allowed)),
        allowed or f"{kind.word} above zero",
        kind.example,
    )


#: What a dimension of a measured bore is where nothing is changed in it.
AS_MEASURED = "as measured"


def _or_as_measured(changed: Checked[T]) -> Checked[T | None]:
    """The same, or the words for what was measured, whose value is None."""

    def parse(text: object) -> T | None:
        if isinstance(text, str) and " ".join(text.split()) == AS_MEASURED:
            return None
        try:
            value = changed.parse(text)
        except units.UnitError as problem:
            raise units.UnitError(
                f"{problem.reason}, or {AS_MEASURED!r}", problem.example
            ) from None
        except ValueError as problem:
            reason, _, example = str(problem).rpartition(", for example ")
            raise ValueError(f"{reason}, or {AS_MEASURED!r}, for example {example}") from None
        if not changed.accepts(value):
            raise _refusal(text, f"is {changed.allowed}, or {AS_MEASURED!r}", changed.example)
        return value

    schema = {**changed.schema, "pattern": rf"^\s*as\s+measured\s*$|{changed.schema['pattern']}"}
    return Checked(parse, schema, lambda value: True)


_Quantity = Written[float]
_metres = partial(_quantity, units.LENGTH)
_share = partial(_quantity, units.SHARE)
Length = Annotated[_Quantity, _metres()]
#: What is changed in a measured bore.
ChangedLength = Annotated[Written[float | None], _or_as_measured(_metres())]
Position = Annotated[_Quantity, _metres(allowed="a length not below zero")]
#: A straight pipe after the shank end: no shorter than a mesh can be drawn, no longer than a bore.
PipeLength = Annotated[_Quantity, _metres((1e-3, 2.0), "a length from 1 mm to 2 m")]
#: How far a diameter may be off in a workshop.
MachiningError = Annotated[_Quantity, _metres((1e-6, 1e-3), "a length from 0.001 mm to 1 mm")]
#: How far a reading may be off, and how far smoothing may move it.
ReadingError = MachiningError
_kelvins = partial(_quantity, units.TEMPERATURE)
_pascals = partial(_quantity, units.PRESSURE)
_hertz = partial(_quantity, units.FREQUENCY)
Temperature = Annotated[
    _Quantity, _kelvins(air.TEMPERATURE_RANGE, "a temperature from -20 degC to 60 degC")
]
Humidity = Annotated[_Quantity, _share((0.0, 1.0), "a humidity from 0 % to 100 %")]
Pressure = Annotated[_Quantity, _pascals(air.PRESSURE_RANGE, "a pressure from 50 kPa to 110 kPa")]
Tolerance = Annotated[_Quantity, _share((1e-4, 0.2), "a share from 0.01 % to 20 %")]
Frequency = Annotated[_Quantity, _hertz((1.0, 1e5), "a frequency from 1 Hz to 100 kHz")]
FlowRate = Annotated[_Quantity, _quantity(units.FLOW_RATE)]
#: Of the lips, far beyond any that were measured.
LipsMass = Annotated[
    _Quantity,
    _quantity(units.MASS_PER_AREA, (0.1, 100.0), "a mass per area from 0.1 to 100 kg/m²"),
]
LipsWidth = Annotated[_Quantity, _metres((1e-3, 40e-3), "a length from 1 mm to 40 mm")]
LipsOpening = Annotated[_Quantity, _metres((1e-5, 5e-3), "a length from 0.01 mm to 5 mm")]
_entry = Checked(
    entry.parse_entry,
    {
        "pattern": r"^\s*(square|rounded .+|chamfered .+|elliptical .+ ?[x×] ?.+)\s*$",
        "description": entry.ALLOWED,
        "examples": list(entry.EXAMPLES.values()),
    },
)
ThroatEntry = Annotated[Written[entry.Entry], _entry]
#: What is cut from a measured bore.
CutEntry = Annotated[Written[entry.Entry | None], _or_as_measured(_entry)]


def _as_float(number: object) -> float:
    """A number, or a text that is one; nan for anything else."""
    try:
        return float("nan") if isinstance(number, bool) else float(number)  # type: ignore[arg-type]
    except (TypeError, ValueError, OverflowError):
        return float("nan")


def _shape(number: object) -> float:
    value = _as_float(number)
    if not 0 <= value <= 1:
        raise _refusal(number, "is a number from 0 (straight cone) to 1 (full bowl)", "0.6")
    return value


def is_number(value: object) -> bool:
    """Whether a value is a number, or a text that is one."""
    return isinstance(value, int | float) or not math.isnan(_as_float(value))


def _fullness(number: object) -> float:
    value = _as_float(number)
    if not -1 <= value <= 1:
        allowed = "is a number from -1 (opening late) to 1 (opening early), 0 for straight"
        raise _refusal(number, allowed, "0.2")
    return value


def _name(text: Any) -> str:
    if not isinstance(text, str) or not re.fullmatch(NAME, text):
        allowed = "are up to 100 letters, digits, '.', '_' and '-' in the study's name, which is"
        raise _refusal(
            text, f"{allowed} the study file's where the key is left out", "entry-rounding"
        )
    return text


def _file(text: Any) -> str:
    allowed = "is the name of a CSV file, relative to the study file"
    if not isinstance(text, str) or not text.strip().lower().endswith(".csv"):
        raise _refusal(text, allowed, "stations.csv")
    return checked_path(text.strip(), allowed, "stations.csv")


def _claims_file(text: Any) -> str:
    allowed = "is the name of a CSV or YAML file of claims, relative to the study file"
    if not isinstance(text, str) or not text.strip().lower().endswith((".csv", ".yaml", ".yml")):
        raise _refusal(text, allowed, "claims.csv")
    return checked_path(text.strip(), allowed, "claims.csv")


#: A study's name: its folder's as well, with room for the endings of its files.
NAME = r"[A-Za-z0-9][A-Za-z0-9._-]{0,99}"
Shape = Annotated[float, BeforeValidator(_shape)]
#: How far a backbore bends: a word is one of these numbers (`borestudy.bore.dimensions`).
Fullness = Annotated[float, Field(ge=-1, le=1), BeforeValidator(_fullness)]
Name = Annotated[str, BeforeValidator(_name)]
CsvFile = Annotated[str, BeforeValidator(_file)]
ClaimsFile = Annotated[str, BeforeValidator(_claims_file)]
