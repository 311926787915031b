"""What `check` says of the files that measured bores are read from."""

from collections.abc import Mapping, Sequence

import numpy as np

from borestudy.bore import Bore, measured_bore
from borestudy.bore.measured.findings import place
from borestudy.bore.measured.measurement import TOLD
from borestudy.bore.measured.record import MeasurementRecord, record_of
from borestudy.rounding import significant
from borestudy.study import Case
from borestudy.study.models import MeasuredBore


def measurement_record(case: Case) -> MeasurementRecord | None:
    """What was found in the file of a case's measured bore; None of one from dimensions.

    Raises
    ------
    StudyError
        If the file makes no bore.
    """
    measured = case.measurement()
    if measured is None or not isinstance(case.bore, MeasuredBore):
        return None
    # The parts are those of the bore as it was measured, whatever the case changes in it.
    return record_of(measured, measured_bore(measured, case.bore.join))


def as_measured(
    cases: Sequence[Case], bores: Mapping[str, Bore]
) -> list[tuple[Bore, MeasurementRecord]]:
    """Each measured bore with its readings, once; none if a case changes something in its bore."""
    found: list[tuple[Bore, MeasurementRecord]] = []
    for case in cases:
        measured, record = case.measurement(), measurement_record(case)
        if measured is None or record is None or not isinstance(case.bore, MeasuredBore):
            return []
        bore, drawn = measured_bore(measured, case.bore.join), bores[case.name]
        same = len(bore.segments) == len(drawn.segments) and all(
            np.array_equal(one.points, other.points)
            for one, other in zip(bore.segments, drawn.segments, strict=True)
        )
        if not same:
            return []
        if all(record != one for _, one in found):
            found.append((bore, record))
    return found


def measurement_lines(cases: Sequence[Case]) -> list[str]:
    """The parts, the uncertainty and all findings of each file, once however many cases have it.

    Findings that are cautions are left to the cautions.
    """
    return [line for record in measurements(cases) for line in _lines(record)]


def measurements(cases: Sequence[Case]) -> list[MeasurementRecord]:
    """What was found in the files of measured bores, once for each way that they were read."""
    found: list[MeasurementRecord] = []
    for case in cases:
        record = measurement_record(case)
        if record is not None and all(record != one for one in found):
            found.append(record)
    return found


def readings_told(cases: Sequence[Case]) -> list[str]:
    """`measurement_lines`, and the cautions behind them."""
    cautions = dict.fromkeys(caution for case in cases for caution in case.station_doubts())
    return [*measurement_lines(cases), *(f"caution: {caution}" for caution in cautions)]


def _lines(record: MeasurementRecord) -> list[str]:
    errors = sorted({one.diameter_mm_uncertainty or 0.0 for one in record.stations})
    ends = dict.fromkeys(significant(error, 2) for error in (errors[0], errors[-1]))
    common = record.common_mm_uncertainty
    together = f", all together ± {significant(common, 2)} mm" if common else ""
    return [
        f"readings of {record.file}: {len(record.stations)} stations, each diameter "
        f"± {' to '.join(ends)} mm{together} (95 %, from {record.uncertainty_from})",
        f"  {record.places}",
        *(f"  {line}" for line in _shortened(record)),
    ]


def _shortened(record: MeasurementRecord) -> list[str]:
    """Findings that are no cautions; of many of one kind the first ones, and lines of the rest."""
    kinds = dict.fromkeys(one.kind for one in record.findings if not one.caution)
    told = []
    for kind in kinds:
        every = [one for one in record.findings if one.kind == kind]
        told += [one.told(record.file) for one in every[:TOLD]]
        if rest := [line for one in every[TOLD:] for line in one.lines]:
            told.append(f"{place(record.file, rest)}: {kind}, {len(every) - TOLD} more times")
    return told
