"""What the steady stream does to the resonance, in a sentence."""

from collections.abc import Sequence

from borestudy.report.sentences.words import case_value, quantity_text
from borestudy.results.case import CaseResults
from borestudy.results.spans import LAMINAR
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
    losses = []
    for case in [cases[0], *(cases[1:][-1:] if column else ())]:
        found = [one for one in _known(case) if one.rate_index == row.rate_index]
        if found:
            losses.append(_losses(found) + (f" with {case_value(case, column)}" if column else ""))
    doubt = ""
    if row.validity == NOT_QUASI_STEADY:
        doubt = (
            f"; the oscillation is too fast for the stream to follow (Strouhal number "
            f"{significant(row.strouhal, 2)}), so this is a rough figure"
        )
    return [
        f"The steady stream damps the first resonance as well: at "
        f"{significant(row.flow_rate_L_per_s)} L/s ({row.regime}) its Q is lower than in "
        f"still air by {' and by '.join(losses)}{doubt}."
    ]


def _known(case: CaseResults) -> list[StreamAtRate]:
    """The rows that know what Q becomes."""
    return [row for row in case.streams if row.resonance_Q_change is not None]


def _losses(rows: Sequence[StreamAtRate]) -> str:
    """The fall of Q at one rate: from each solution, or a span where there is the laminar one."""
    if len(rows) > 1:
        return " or ".join(
            f"{quantity_text(row.resonance_Q_change, -1)} % ({row.solution} solution)"
            for row in rows
        )
    (row,) = rows
    if row.regime == LAMINAR or row.solution != LAMINAR:
        return f"{quantity_text(row.resonance_Q_change, -1)} %"
    low, high = row.resonance_Q_change_low_percent, row.resonance_Q_change_high_percent
    if low is None or high is None:
        return "an amount that is not known"
    return f"{significant(-high, 2)} to {significant(-low, 2)} %"
