"""The figures of a study's only bore."""

from math import hypot

from borestudy.report.sentences.first.told import RESONANCE, FirstSentence, at_rate, errors_of
from borestudy.report.topic import FLOW, Topic
from borestudy.results.case import CaseResults
from borestudy.results.estimate import WHOLE
from borestudy.results.measured import in_unit, of_peak, of_rate
from borestudy.rounding import with_sides, with_uncertainty


def single_sentences(case: CaseResults, rate: int, topic: Topic) -> list[FirstSentence]:
    """The figures of a study's only bore."""
    found = []
    if case.resonances and (frequency := case.resonances[0].frequency) is not None:
        stations = in_unit(of_peak(case, case.resonances[0], "frequency"), frequency)
        error = frequency.uncertainty
        size = with_uncertainty(
            frequency.value, None if error is None else hypot(error, stations or 0.0), "Hz"
        )
        found.append(
            FirstSentence(
                text=f"The first resonance is at {size}.",
                quantity=RESONANCE,
                value=frequency.value,
                numerical=frequency.uncertainty,
                model=0.0,
                measurement=stations,
                unit="Hz",
                file="comparison.csv",
                column="resonance_Hz",
                case=case.name,
            )
        )
    row = case.rate(rate)
    drop = None if row is None else row.quantity(WHOLE)
    if row is not None and drop is not None:
        ends = row.interval()
        stations = in_unit(of_rate(case, row, WHOLE), drop)
        below, above = (
            (None, None)
            if ends is None
            else (
                hypot(drop.value - ends.low, stations or 0.0),
                hypot(ends.high - drop.value, stations or 0.0),
            )
        )
        model = None if row.model_error is None else row.model_error.drops[WHOLE]
        found.append(
            FirstSentence(
                text=f"A pressure of {with_sides(drop.value, below, above, 'Pa')} drives the flow "
                f"{at_rate(case, rate)} through it; {errors_of(stations)}.",
                quantity="pressure",
                value=drop.value,
                numerical=drop.uncertainty,
                model=None if model is None else max(model.low, model.high),
                measurement=stations,
                unit="Pa",
                file="flow.csv",
                column="pressure_drop_Pa",
                case=case.name,
                flow_rate_L_per_s=row.flow_rate_L_per_s,
            )
        )
    if topic == FLOW:
        found.reverse()
    return found or [FirstSentence(text="Nothing was computed for this bore.", quantity="")]
