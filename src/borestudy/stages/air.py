"""The air's constants, computed once for all cases that share it."""

from dataclasses import asdict
from pathlib import Path

from borestudy.air import Air, humid_air
from borestudy.provenance import provenance, read_json, write_json


def air_stage(
    temperature: float, relative_humidity: float, pressure: float, source: str, output: Path | str
) -> None:
    """Write the constants of humid air, SI, under ``constants``.

    Parameters
    ----------
    temperature : float [K]
        Absolute.
    relative_humidity : float
        Fraction of saturation.
    pressure : float [Pa]
        Static.
    source : str
        Hash of the sources, for the provenance.
    output : path
        A JSON file.
    """
    conditions = {
        "temperature_K": temperature,
        "relative_humidity": relative_humidity,
        "pressure_Pa": pressure,
    }
    constants = asdict(humid_air(temperature, relative_humidity, pressure))
    write_json(
        output,
        {"conditions": conditions, "constants": constants, "provenance": provenance(source)},
    )


def read_air(path: Path | str) -> Air:
    """The air that the air stage wrote."""
    return Air(**read_json(path)["constants"])
