"""A case's tone by the model of lips and bore: the records of ``tone.json``."""

from dataclasses import dataclass

from borestudy.provenance import Provenance
from borestudy.quantity import Quantity
from borestudy.records import quantity

#: Words on a tone that is not what was asked for.
SILENT = "no tone"
NOT_SETTLED = "has not settled"
NOT_PERIODIC = "does not repeat itself"
OTHER_REGISTER = "sounds in another register"
#: With any of these it cannot be compared with another tone.
NOT_COMPARABLE = (SILENT, NOT_SETTLED, NOT_PERIODIC, OTHER_REGISTER)


@dataclass(frozen=True, kw_only=True)
class ToneAtLevel:
    """The periodic tone at one mouth pressure.

    Harmonics from the first up, of the pressures in the cup and at the shank end (root mean square,
    decibels above 20 µPa); `validity` says where there is no tone, or none that repeats itself.
    """

    level: str
    times_threshold: float
    mouth_pressure_Pa: float
    validity: str
    sounding_frequency: Quantity | None = quantity("Hz")
    sounding_above_peak: Quantity | None = quantity("cents")
    cup_pressure: Quantity | None = quantity("Pa")
    cup_centroid: Quantity | None = quantity("Hz")
    shank_centroid: Quantity | None = quantity("Hz")
    cup_harmonics_dB: tuple[float, ...] = ()
    shank_harmonics_dB: tuple[float, ...] = ()
    #: File of the sound in the case's folder.
    sound: str | None = None


@dataclass(frozen=True, kw_only=True)
class ToneResult:
    """A case's tone in one register, with the lips' resonance where its threshold is least."""

    register: int | None = None
    note: str = ""
    lips_frequency_Hz: float | None = None
    threshold: Quantity | None = quantity("Pa")
    #: Of the modal model: how many modes, and its greatest deviation from the impedance at a peak.
    modes: int | None = None
    fit_deviation_percent: float | None = None
    #: Exponential growth at the softer level.
    growth_rate: Quantity | None = quantity("per_s")
    #: Where the tone starts with rising pressure, and ends with falling.
    starts_at: Quantity | None = quantity("Pa")
    ends_at: Quantity | None = quantity("Pa")
    #: Up and down: mouth pressure, cup pressure (root mean square, 0 without a tone), frequency.
    rising_mouth_pressure_Pa: tuple[float, ...] = ()
    rising_cup_pressure_Pa: tuple[float, ...] = ()
    rising_frequency_Hz: tuple[float | None, ...] = ()
    falling_mouth_pressure_Pa: tuple[float, ...] = ()
    falling_cup_pressure_Pa: tuple[float, ...] = ()
    falling_frequency_Hz: tuple[float | None, ...] = ()
    at_levels: tuple[ToneAtLevel, ...] = ()
    not_meshed: str | None = None
    provenance: Provenance | None = None
