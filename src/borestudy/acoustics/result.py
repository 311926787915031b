"""What is known of a bore's linear acoustics: typed."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from borestudy.provenance import Provenance
from borestudy.quantity import Quantity
from borestudy.records import quantity


@dataclass(frozen=True, kw_only=True)
class ResonanceSlope:
    """Derivative of a resonance's figures by one dimension, per mm, per degree or per 1.

    Attributes
    ----------
    frequency : Quantity [cents]
    Q : Quantity
    impedance_peak : Quantity [Pa s/m³]
    """

    frequency: Quantity | None = quantity("cents")
    Q: Quantity | None = quantity()
    impedance_peak: Quantity | None = quantity("Pa_s_per_m3")


@dataclass(frozen=True, kw_only=True, repr=False)
class Resonance:
    """A maximum of the input impedance's magnitude.

    Attributes
    ----------
    frequency : Quantity [Hz]
    Q : Quantity
        Quality factor, from the complex resonance.
    impedance_peak : Quantity [Pa s/m³]
        Magnitude of the impedance at the peak.
    equivalent_length : Quantity [mm]
        See `borestudy.acoustics.mouthpiece`.
    nearest_harmonic, cents_above_harmonic : int, float
        Against the harmonics of a fundamental, where one was given.
    field : str or None
        Name of the file with the pressure field, in the case's folder of acoustic fields.
    by_dimension : mapping of str to ResonanceSlope
        Derivatives, by the key of each dimension of the bore.
    """

    frequency: Quantity | None = quantity("Hz")
    Q: Quantity | None = quantity()
    impedance_peak: Quantity | None = quantity("Pa_s_per_m3")
    equivalent_length: Quantity | None = quantity("mm")
    nearest_harmonic: int | None = None
    cents_above_harmonic: float | None = None
    by_dimension: Mapping[str, ResonanceSlope] = field(default_factory=dict)
    field: str | None = None

    def __repr__(self) -> str:
        """Frequency, quality factor and height in a line."""
        return f"{self.frequency}, Q {self.Q}, {self.impedance_peak}"


@dataclass(frozen=True, kw_only=True)
class Band:
    """The maximum of a curve over frequency, and the band within 3 dB of it."""

    peak: Quantity | None = quantity()
    peak_frequency: Quantity | None = quantity("Hz")
    band_low: Quantity | None = quantity("Hz")
    band_high: Quantity | None = quantity("Hz")
    peak_at_range_edge: bool = False


@dataclass(frozen=True, kw_only=True)
class Curves:
    """What belongs to the mouthpiece itself, over frequency; empty where it is not known."""

    frequency_Hz: tuple[float, ...]
    pressure_transfer: tuple[float, ...]
    pressure_gain: tuple[float, ...]
    equivalent_length_mm: tuple[float, ...] = ()
    pressure_transfer_uncertainty: tuple[float, ...] = ()
    pressure_gain_uncertainty: tuple[float, ...] = ()
    equivalent_length_mm_uncertainty: tuple[float, ...] = ()


@dataclass(frozen=True, kw_only=True)
class ReducedBasis:
    """How the finest mesh's basis was made; error and fallback are the worst of all meshes."""

    snapshots: int | None = None
    held_out_error: float = 0.0
    largest_residual: float | None = None
    direct: bool = False


@dataclass(frozen=True, kw_only=True)
class AcousticResult:
    """A bore's resonances with a termination of its shank end.

    Attributes
    ----------
    termination, termination_note : str
        The termination's kind, and what a reader must be told of it.
    walls : str
        Which wall losses: ``curved`` unless a check asks for others.
    range_Hz : tuple of float
        Where resonances were looked for.
    resonances : tuple of Resonance
        Resonances from the lowest up.
    peak_centroid : Quantity [Hz]
        Mean frequency of the peaks, weighted by their heights.
    transfer, gain : Band
        See `borestudy.acoustics.mouthpiece`.
    power_balance, reciprocity, max_residual : float
        Greatest relative errors.
    cut_on_Hz, cut_on_axisymmetric_Hz, termination_trusted_below_Hz : float
        Where the model ends.
    validity : str
        ``good``, or in words where the model is asked too much.
    reduced_basis : ReducedBasis
        Number of snapshots of the reduced basis, and the errors that remain.
    wall_share, truncation_share : mapping
        Shares of each figure's uncertainty that the wall condition and truncation leave.
    not_meshed : str or None
        Why there is no mesh, and so nothing else.
    """

    termination: str = ""
    termination_note: str = ""
    walls: str = ""
    sound_speed_m_per_s: float | None = None
    range_Hz: tuple[float, ...] = ()
    resonances: tuple[Resonance, ...] = ()
    peak_centroid: Quantity | None = quantity("Hz")
    transfer: Band | None = None
    gain: Band | None = None
    curves: Curves | None = None
    power_balance: float | None = None
    reciprocity: float | None = None
    cut_on_Hz: float | None = None
    cut_on_axisymmetric_Hz: float | None = None
    termination_trusted_below_Hz: float | None = None
    validity: str = "good"
    unknowns: int | None = None
    level_unknowns: tuple[int, ...] = ()
    wall_share: Mapping[str, float] = field(default_factory=dict)
    truncation_share: Mapping[str, float] = field(default_factory=dict)
    max_residual: float | None = None
    reduced_basis: ReducedBasis = field(default_factory=ReducedBasis)
    not_meshed: str | None = None
    provenance: Provenance | None = None
