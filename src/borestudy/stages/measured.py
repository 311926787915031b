"""What `check` says of the files that measured bores are read from."""

from collections.abc import Mapping, Sequence

import numpy as np

from borestudy.bore import Bore, measured_bore
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
    told: dict[tuple[str, ...], None] = {}
    for case in cases:
        if (record := measurement_record(case)) is not None:
            told.setdefault(tuple(_lines(record)))
    return [line for lines in told for line in lines]


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
        *(f"  {one.told(record.file)}" for one in record.findings if not one.caution),
    ]
