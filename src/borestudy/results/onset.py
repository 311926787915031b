"""What a case's lips need for a tone to start: the records of ``onset.json``."""

from dataclasses import dataclass

from borestudy.provenance import Provenance
from borestudy.quantity import Quantity
from borestudy.records import quantity

#: A register whose least threshold is above this is told as one without a tone [Pa].
HIGHEST_PRESSURE = 20e3
NO_TONE = "no oscillation within 20 kPa"


@dataclass(frozen=True, kw_only=True)
class OnsetOfRegister:
    """The least threshold of the mouth's pressure in a register, over the lips' resonance.

    A register has the number of the impedance peak that it belongs to.  Quantities are those of
    the study's own lips, None where `validity` says that there is none.  Of the set of lips there
    is one entry each, in its order, None where those have no tone.
    """

    register: int
    validity: str
    peak_frequency: Quantity | None = quantity("Hz")
    mouth_pressure: Quantity | None = quantity("Pa")
    sounding_frequency: Quantity | None = quantity("Hz")
    sounding_above_peak: Quantity | None = quantity("cents")
    lips_frequency: Quantity | None = quantity("Hz")
    flow_rate: Quantity | None = quantity("L_per_s")
    #: Slope of the pressure drop at that flow rate, in series in the throat.
    throat_resistance: Quantity | None = quantity("kPa_s_per_L")
    #: The same without the stream's resistance, for what it does.
    mouth_pressure_without_stream: Quantity | None = quantity("Pa")
    strouhal: float | None = None
    set_mouth_pressure_Pa: tuple[float | None, ...] = ()
    set_sounding_frequency_Hz: tuple[float | None, ...] = ()
    #: Threshold and sounding frequency against the lips' resonance, for the study's own lips.
    curve_lips_frequency_Hz: tuple[float, ...] = ()
    curve_mouth_pressure_Pa: tuple[float, ...] = ()
    curve_sounding_frequency_Hz: tuple[float, ...] = ()


@dataclass(frozen=True, kw_only=True)
class OnsetResult:
    """A case's registers from the lowest up.

    `behind` says what is behind the shank, in words; `note` what a reader must be told of it, such
    as that there is no air column.
    """

    behind: str = ""
    note: str = ""
    registers: tuple[OnsetOfRegister, ...] = ()
    not_meshed: str | None = None
    provenance: Provenance | None = None
