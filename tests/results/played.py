"""Onsets and tones made up for tests, as the records have them."""

from collections.abc import Sequence
from typing import Any

from borestudy.quantity import Quantity
from borestudy.results.case import CaseResults
from borestudy.results.onset import NO_TONE, OnsetOfRegister, OnsetResult
from borestudy.results.tone import ToneAtLevel, ToneResult

LIPS = 50
#: Relative errors of a coarse and a fine mesh.
ERRORS = (1e-3, 1e-4)


def of_levels(value: float, unit: str, errors: Sequence[float] = ERRORS) -> Quantity:
    """A quantity with its values on meshes that are off by so much of it."""
    levels = tuple(value * (1 + error) for error in errors)
    return Quantity(levels[-1], 3e-3 * value, unit, levels)


def register(
    number: int,
    pressure: float,
    frequency: float,
    pressures: Sequence[float | None] = (),
    frequencies: Sequence[float | None] = (),
    **more: Any,
) -> OnsetOfRegister:
    """A register that starts at a pressure [Pa] with a frequency [Hz]; others' as shares."""
    given = {
        "validity": "",
        "peak_frequency": of_levels(115.0 * number, "Hz"),
        "mouth_pressure": of_levels(pressure, "Pa"),
        "sounding_frequency": of_levels(frequency, "Hz"),
        "mouth_pressure_without_stream": of_levels(0.9 * pressure, "Pa"),
        "flow_rate": Quantity(0.2, 1e-3, "L_per_s"),
        "set_mouth_pressure_Pa": _scaled(pressure, pressures),
        "set_sounding_frequency_Hz": _scaled(frequency, frequencies),
    }
    return OnsetOfRegister(register=number, **given | more)


def silent(number: int) -> OnsetOfRegister:
    """A register without a tone."""
    nobody = (None,) * LIPS
    return OnsetOfRegister(
        register=number,
        validity=NO_TONE,
        peak_frequency=of_levels(115.0 * number, "Hz"),
        set_mouth_pressure_Pa=nobody,
        set_sounding_frequency_Hz=nobody,
    )


def _scaled(value: float, shares: Sequence[float | None]) -> tuple[float | None, ...]:
    given = shares or [1.0] * LIPS
    return tuple(None if share is None else share * value for share in given)


def played(
    name: str, registers: Sequence[OnsetOfRegister], tone: ToneResult | None = None, **more: Any
) -> CaseResults:
    """A case with such registers."""
    onset = OnsetResult(behind="air column", registers=tuple(registers))
    return CaseResults(name, onset=onset, tone=tone, **more)


def level(name: str, frequency: float, centroid: float, **more: Any) -> ToneAtLevel:
    """A tone's level: soft is 1.2 times, loud 2.5 times its threshold."""
    given = {
        "times_threshold": {"soft": 1.2, "loud": 2.5}[name],
        "mouth_pressure_Pa": 2000.0,
        "validity": "",
        "sounding_frequency": Quantity(frequency, 0.001, "Hz"),
        "cup_pressure": Quantity(1000.0, 1.0, "Pa"),
        "cup_centroid": Quantity(centroid, 1.0, "Hz"),
        "shank_centroid": Quantity(2 * centroid, 1.0, "Hz"),
    }
    return ToneAtLevel(level=name, **given | more)
