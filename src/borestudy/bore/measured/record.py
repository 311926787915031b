"""A measurement as it is kept beside a case's results."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from borestudy.bore.bore import Bore
from borestudy.bore.measured.findings import Finding
from borestudy.bore.measured.measurement import Measurement
from borestudy.bore.measured.repeats import Station

#: A metre in millimetres.
MM = 1e3


@dataclass(frozen=True, kw_only=True)
class StationRecord:
    """A station of the bore, or readings that are not in it."""

    position_mm: float
    #: What the bore is made from, None where the readings are left out.
    diameter_mm: float | None
    #: Readings of the diameter as they are in the file, and their lines.
    readings_mm: tuple[float, ...]
    lines: tuple[int, ...]
    #: Of the diameter alone, half-width at about 95 %.
    diameter_mm_uncertainty: float | None = None


@dataclass(frozen=True, kw_only=True)
class PartRecord:
    """A part of the bore: where it begins and ends, and its diameters there."""

    from_mm: float
    to_mm: float
    first_diameter_mm: float
    last_diameter_mm: float


@dataclass(frozen=True, kw_only=True)
class MeasurementRecord:
    """What a file of readings says of a bore."""

    file: str
    findings: tuple[Finding, ...]
    parts: Mapping[str, PartRecord] = field(default_factory=dict)
    stations: tuple[StationRecord, ...] = ()
    left_out: tuple[StationRecord, ...] = ()
    common_mm_uncertainty: float = 0.0
    uncertainty_from: str = ""
    #: The bound of smoothing and what it came to, 0 without.
    smoothing_mm: float = 0.0
    largest_deviation_mm: float = 0.0

    @property
    def told(self) -> list[str]:
        """Each finding as a line that names the file and its lines."""
        return [finding.told(self.file) for finding in self.findings]

    @property
    def places(self) -> str:
        """The parts in a line of words."""
        words = [
            f"{name} {part.from_mm:.4g} to {part.to_mm:.4g} mm "
            f"({part.first_diameter_mm:.4g} to {part.last_diameter_mm:.4g} mm wide)"
            for name, part in self.parts.items()
        ]
        first, last = self.stations[0], self.stations[-1]
        return "; ".join([
            f"rim plane at 0 mm ({first.diameter_mm:.4g} mm wide)",
            *words,
            f"shank end at {last.position_mm:.4g} mm ({last.diameter_mm:.4g} mm wide)",
        ])  # fmt: skip


def record_of(measured: Measurement, bore: Bore) -> MeasurementRecord:
    """The record of a measurement, with the parts of the bore through its stations."""
    parts = {}
    for name, (start, stop) in bore.part_ranges.items():
        pieces = [segment for segment in bore.segments if segment.part == name]
        parts[name] = PartRecord(
            from_mm=MM * start,
            to_mm=MM * stop,
            first_diameter_mm=2 * MM * float(pieces[0].start[1]),
            last_diameter_mm=2 * MM * float(pieces[-1].stop[1]),
        )
    errors = measured.errors
    stations = zip(measured.as_read, measured.stations[:, 1], errors.independent_m, strict=True)
    return MeasurementRecord(
        file=measured.name,
        findings=measured.findings,
        parts=parts,
        stations=tuple(
            _station(one, MM * float(diameter), MM * float(error))
            for one, diameter, error in stations
        ),
        left_out=tuple(_station(one) for one in measured.left_out),
        common_mm_uncertainty=MM * errors.common_m,
        uncertainty_from=errors.source,
        smoothing_mm=MM * measured.smoothing,
        largest_deviation_mm=MM * measured.largest_deviation,
    )


def _station(
    one: Station, diameter: float | None = None, error: float | None = None
) -> StationRecord:
    return StationRecord(
        position_mm=MM * one.position,
        diameter_mm=diameter,
        readings_mm=tuple(MM * value for value in one.values),
        lines=one.lines,
        diameter_mm_uncertainty=error,
    )
