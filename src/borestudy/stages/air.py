"""The air's constants, computed once for all cases that share it."""

from dataclasses import asdict
from pathlib import Path

from borestudy.air import Air, humid_air
from borestudy.files import read_json, write_json
from borestudy.provenance import provenance


def air_stage(
    temperature: float, relative_humidity: float, pressure: float, source: str, output: Path | str
) -> None:
    """Write the constants of humid air, SI, under ``constants``.

    Parameters
    ----------
    temperature : float
        Absolute temperature [K].
    relative_humidity : float
        Fraction of saturation.
    pressure : float
        Static pressure [Pa].
    source : str
        Hash of the sources, for the provenance.
    output : path
        JSON file to write.
    """
    constants = asdict(humid_air(temperature, relative_humidity, pressure))
    conditions = {
        "temperature_K": temperature,
        "relative_humidity": relative_humidity,
        "pressure_Pa": pressure,
    }
    made = {"conditions": conditions, "constants": constants}
    write_json(output, made | {"provenance": asdict(provenance(source))})


def read_air(path: Path | str) -> Air:
    """The air that the air stage wrote."""
    return Air(**read_json(path)["constants"])
