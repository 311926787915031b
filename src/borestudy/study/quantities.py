"""Field types of a study: text as written, checked to be the quantity it stands for.

The models keep the text and not the number: names of cases, tables and the resolved study then
say what the author wrote, and the number is one call of `borestudy.units` away.
"""

import re
from collections.abc import Callable
from typing import Annotated, Any

from pydantic import BeforeValidator, WithJsonSchema

from borestudy import air, units


def _checked(
    parse: Callable[[object], float],
    kind: units.Kind,
    *,
    sign: str = "positive",
    limits: tuple[float, float] | None = None,
    allowed: str = "",
) -> BeforeValidator:
    """Validator that returns the text stripped, or says why it is not such a quantity."""

    def check(text: object) -> str:
        value = parse(text)
        right_sign = value > 0 or (sign != "positive" and value >= 0)
        inside = limits is None or limits[0] <= value <= limits[1]
        if not (inside if limits else right_sign):
            wanted = allowed or f"{kind.word} {'above' if sign == 'positive' else 'not below'} zero"
            raise units.UnitError(f"found {units.quoted(text)}; allowed is {wanted}", kind.example)
        return str(text).strip()

    return BeforeValidator(check)


def _schema(kind: units.Kind) -> WithJsonSchema:
    written = "|".join(re.escape(unit) for unit in kind.factors)
    drill = r"^\s*[Dd]rill\b|" if kind is units.LENGTH else ""
    return WithJsonSchema(
        {
            "type": "string",
            "pattern": rf"{drill}[0-9.]\s*({written})\s*$",
            "examples": [kind.example],
            "description": kind.allowed,
        }
    )


Length = Annotated[str, _checked(units.parse_length, units.LENGTH), _schema(units.LENGTH)]
Position = Annotated[
    str, _checked(units.parse_length, units.LENGTH, sign="any"), _schema(units.LENGTH)
]
Temperature = Annotated[
    str,
    _checked(
        units.parse_temperature,
        units.TEMPERATURE,
        limits=air.TEMPERATURE_RANGE,
        allowed="a temperature from -20 degC to 60 degC",
    ),
    _schema(units.TEMPERATURE),
]
Humidity = Annotated[
    str,
    _checked(
        units.parse_share, units.SHARE, limits=(0.0, 1.0), allowed="a humidity from 0 % to 100 %"
    ),
    _schema(units.SHARE),
]
Pressure = Annotated[
    str,
    _checked(
        units.parse_pressure,
        units.PRESSURE,
        limits=air.PRESSURE_RANGE,
        allowed="a pressure from 50 kPa to 110 kPa",
    ),
    _schema(units.PRESSURE),
]
Tolerance = Annotated[
    str,
    _checked(
        units.parse_share, units.SHARE, limits=(1e-4, 0.2), allowed="a share from 0.01 % to 20 %"
    ),
    _schema(units.SHARE),
]
Frequency = Annotated[
    str,
    _checked(
        units.parse_frequency,
        units.FREQUENCY,
        limits=(1.0, 1e5),
        allowed="a frequency from 1 Hz to 100 kHz",
    ),
    _schema(units.FREQUENCY),
]
#: A straight pipe behind the shank: no shorter than a mesh can be drawn, no longer than a bore.
PipeLength = Annotated[
    str,
    _checked(
        units.parse_length, units.LENGTH, limits=(1e-3, 2.0), allowed="a length from 1 mm to 2 m"
    ),
    _schema(units.LENGTH),
]
#: How far a diameter may be off in a workshop.
MachiningError = Annotated[
    str,
    _checked(
        units.parse_length,
        units.LENGTH,
        limits=(1e-6, 1e-3),
        allowed="a length from 0.001 mm to 1 mm",
    ),
    _schema(units.LENGTH),
]
FlowRate = Annotated[
    str, _checked(units.parse_flow_rate, units.FLOW_RATE), _schema(units.FLOW_RATE)
]


def _shape(number: object) -> float:
    try:
        value = float(number)  # type: ignore[arg-type]
    except (TypeError, ValueError, OverflowError):
        value = float("nan")
    if isinstance(number, bool) or not 0 <= value <= 1:
        raise units.UnitError(
            f"found {units.quoted(number)}; allowed is a number from 0 (straight cone) to 1 (full "
            "bowl)",
            "0.6",
        )
    return value


Shape = Annotated[float, BeforeValidator(_shape)]


#: A study's name: its folder's as well, with room for the endings of its files.
NAME = r"[A-Za-z0-9][A-Za-z0-9._-]{0,99}"


def _name(text: Any) -> str:
    if not isinstance(text, str) or not re.fullmatch(NAME, text):
        raise units.UnitError(
            f"found {units.quoted(text)}; allowed are up to 100 letters, digits, '.', '_' and "
            "'-' in the study's name, which is the study file's where the key is left out",
            "entry-rounding",
        )
    return text


Name = Annotated[str, BeforeValidator(_name)]


def _file(text: Any) -> str:
    if not isinstance(text, str) or not text.strip().lower().endswith(".csv"):
        raise units.UnitError(
            f"found {units.quoted(text)}; allowed is the name of a CSV file, relative to the study "
            "file",
            "stations.csv",
        )
    return text.strip()


CsvFile = Annotated[str, BeforeValidator(_file)]
