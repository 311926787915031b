"""What the steady stream does to the resonance, in a sentence."""

from collections.abc import Sequence

from borestudy.report.sentences.words import value_text
from borestudy.results.case import CaseResults
from borestudy.results.merged_flow import LAMINAR, TURBULENT
from borestudy.results.stream import NOT_QUASI_STEADY, QUASI_STEADY, StreamAtRate
from borestudy.rounding import significant, with_uncertainty


def stream_answers(cases: Sequence[CaseResults], column: str | None) -> list[str]:
    """One sentence: the loss of Q on the stream, first case against last, where it is argued.

    Parameters
    ----------
    cases : sequence of CaseResults
        In the study's order.
    column : str, optional
        The varied dimension that tells them apart; None for a single case or several dimensions.

    Returns
    -------
    list of str
        Empty where no case has such a row.
    """
    first = cases[0]
    rows = [row for row in first.streams if row.resonance_Q_change is not None]
    if not rows:
        return []
    row = next((row for row in rows if row.validity == QUASI_STEADY), rows[-1])
    shown = [first, cases[-1]] if column and len(cases) > 1 else [first]
    parts = []
    for case in shown:
        found = _at(case, row.rate_index)
        if found:
            name = f" with {_value(case, column)}" if column else ""
            parts.append(f"{_losses(found)}{name}")
    doubt = ""
    if row.validity == NOT_QUASI_STEADY:
        doubt = (
            f"; the oscillation is too fast for the stream to follow (Strouhal number "
            f"{significant(row.strouhal, 2)}), so this is a rough figure"
        )
    return [
        f"The steady stream damps the first resonance as well: at "
        f"{significant(row.flow_rate_L_per_s)} L/s ({row.regime}) its Q is lower than in "
        f"still air by {' and by '.join(parts)}{doubt}."
    ]


def _value(case: CaseResults, column: str) -> str:
    """The varied value in words, a throat entry by its own."""
    words = case.varied.get("entry") if column == "entry_radius_mm" else None
    return str(words or value_text(column, case.varied[column]))


def _at(case: CaseResults, rate: int) -> list[StreamAtRate]:
    """The rows of a flow rate, one a solution."""
    return [
        row for row in case.streams if row.rate_index == rate and row.resonance_Q_change is not None
    ]


def _losses(rows: Sequence[StreamAtRate]) -> str:
    """The fall of Q, from each solution where there are two."""
    if len(rows) == 1:
        is_figure = rows[0].regime == LAMINAR or rows[0].solution == TURBULENT
        return _loss(rows[0], is_figure)
    return " or ".join(f"{_loss(row, True)} ({row.solution} solution)" for row in rows)


def _loss(row: StreamAtRate, is_figure: bool) -> str:
    """The fall of Q: a figure of one solution, or a span."""
    figure = row.resonance_Q_change
    if is_figure and figure is not None:
        return f"{with_uncertainty(-figure.value, figure.uncertainty)} %"
    low, high = row.resonance_Q_change_low_percent, row.resonance_Q_change_high_percent
    if low is None or high is None:
        return "an amount that is not known"
    return f"{significant(-high, 2)} to {significant(-low, 2)} %"
