"""What the steady stream does to the resonance, in a sentence."""

from collections.abc import Sequence

from borestudy.report.sentences.words import case_value, quantity_text
from borestudy.results.case import CaseResults
from borestudy.results.stream import NOT_QUASI_STEADY, QUASI_STEADY, StreamAtRate
from borestudy.rounding import significant


def stream_answers(cases: Sequence[CaseResults], column: str | None) -> list[str]:
    """One sentence: the loss of Q on the stream, first case against last, where it is argued.

    The column is of the varied dimension that tells them apart, None for a single case or several
    dimensions.  Nothing is said where the first case has no such row.
    """
    rows = _known(cases[0])
    if not rows:
        return []
    row = next((row for row in rows if row.validity == QUASI_STEADY), rows[-1])
    losses = [
        f"{quantity_text(found.resonance_Q_change, -1)} %"
        + (f" with {case_value(case, column)}" if column else "")
        for case in [cases[0], *(cases[1:][-1:] if column else ())]
        for found in _known(case)
        if found.rate_index == row.rate_index
    ]
    doubt = ""
    if row.validity == NOT_QUASI_STEADY:
        doubt = (
            f"; the oscillation is too fast for the stream to follow (Strouhal number "
            f"{significant(row.strouhal, 2)}), so this is a rough figure"
        )
    return [
        f"The steady stream damps the first resonance as well: at "
        f"{significant(row.flow_rate_L_per_s)} L/s its Q is lower than in "
        f"still air by {' and by '.join(losses)}{doubt}."
    ]


def _known(case: CaseResults) -> list[StreamAtRate]:
    """The rows that know what Q becomes."""
    return [row for row in case.streams if row.resonance_Q_change is not None]
