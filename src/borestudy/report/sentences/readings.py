"""What the errors of a measured bore's readings come to in what was computed of it."""

from collections.abc import Iterator, Sequence

from borestudy.results.case import CaseResults
from borestudy.results.estimate import WHOLE
from borestudy.results.measured import of_peak, of_rate
from borestudy.rounding import significant


def readings_sentences(cases: Sequence[CaseResults]) -> Iterator[str]:
    """One sentence on the first measured bore: how large the errors are, and what they make."""
    case = next((one for one in cases if one.measurement is not None), None)
    if case is None or case.measurement is None:
        return
    record = case.measurement
    errors = sorted(one.diameter_mm_uncertainty or 0.0 for one in record.stations)
    # The two ends of what readings at one and at many repeats leave.
    ends = list(dict.fromkeys(significant(one, 2) for one in (errors[0], errors[-1])))
    said = f"each diameter ± {' to '.join(ends)} mm"
    if record.common_mm_uncertainty:
        said += f", and all together ± {significant(record.common_mm_uncertainty, 2)} mm"
    made = []
    peak = case.resonances[0] if case.resonances else None
    if (sound := of_peak(case, peak, "frequency")) is not None:
        made.append(f"the first resonance uncertain by ± {significant(sound.size, 2)} cents")
    drops = [(row, found) for row in case.rates if (found := of_rate(case, row, WHOLE)) is not None]
    if drops:
        row, found = drops[len(drops) // 2]
        rate = f"{row.flow_rate_L_per_s:g} L/s"
        made.append(f"the flow resistance at {rate} by ± {significant(found.size, 2)} %")
    if made:
        yield (
            f"Readings of {record.file}: {said} (from {record.uncertainty_from}) make "
            f"{' and '.join(made)}, beside what computing leaves uncertain. Bores cut from the "
            "same piece have these errors in common, and a change between them holds only the rest."
        )
