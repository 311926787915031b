"""The air's constants, computed once for all cases that share it."""

from dataclasses import dataclass
from pathlib import Path

from borestudy.air import Air, humid_air
from borestudy.provenance import Provenance, provenance
from borestudy.records import read_record, write_record


@dataclass(frozen=True)
class Conditions:
    """Temperature, share of saturation and static pressure of an air at rest."""

    temperature_K: float
    relative_humidity: float
    pressure_Pa: float


@dataclass(frozen=True)
class AirResult:
    """An air at rest: its conditions and its constants, SI."""

    conditions: Conditions
    constants: Air
    provenance: Provenance


def air_stage(
    temperature: float, relative_humidity: float, pressure: float, source: str, output: Path | str
) -> None:
    """Write the constants of humid air at a temperature [K], share of saturation, pressure [Pa]."""
    conditions = temperature, relative_humidity, pressure
    made = AirResult(Conditions(*conditions), humid_air(*conditions), provenance(source))
    write_record(output, made)


def read_air(path: Path | str) -> Air:
    """The air that the air stage wrote."""
    return read_record(path, AirResult).constants
