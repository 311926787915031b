"""What the steady stream does to the resonance, in a sentence."""

from collections.abc import Mapping, Sequence
from typing import Any

from borestudy.compare.changes import LAMINAR
from borestudy.compare.results import CaseResults
from borestudy.compare.rounding import significant
from borestudy.compare.sentences import said, value_text
from borestudy.compare.stream import NOT_QUASI_STEADY, QUASI_STEADY


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
    rows = [row for row in first.stream.get("rates", []) if _known(row)]
    if not rows:
        return []
    row = next((row for row in rows if row["validity"] == QUASI_STEADY), rows[-1])
    parts = [_loss(row) + (f" with {_value(first, column)}" if column else "")]
    last = cases[-1]
    if column and last is not first:
        other = _at(last, row["flow_rate_L_per_s"])
        if other:
            parts.append(f"{_loss(other)} with {_value(last, column)}")
    doubt = ""
    if row["validity"] == NOT_QUASI_STEADY:
        doubt = (
            f"; the oscillation is too fast for the stream to follow (Strouhal number "
            f"{significant(row['strouhal'], 2)}), so this is a rough figure"
        )
    return [
        f"The steady stream damps the first resonance as well: at "
        f"{significant(row['flow_rate_L_per_s'])} L/s ({row['regime']}) its Q is lower than in "
        f"still air by {' and by '.join(parts)}{doubt}."
    ]


def _value(case: CaseResults, column: str) -> str:
    """The varied value in words, a throat entry by its own."""
    words = case.varied.get("entry") if column == "entry_radius_mm" else None
    return str(words or value_text(column, case.varied[column]))


def _known(row: Mapping[str, Any]) -> bool:
    return row.get("resonance_Q_change_percent") is not None


def _at(case: CaseResults, rate: float) -> Mapping[str, Any] | None:
    for row in case.stream.get("rates", []):
        if row["flow_rate_L_per_s"] == rate and _known(row):
            return row
    return None


def _loss(row: Mapping[str, Any]) -> str:
    """The fall of Q: a figure in laminar flow, a span beyond it."""
    name = "resonance_Q_change"
    if row["regime"] == LAMINAR:
        value, error = row[f"{name}_percent"], row[f"{name}_percent_uncertainty"]
        return f"{said(-value, error)} %"
    ends = [row[f"{name}_{end}_percent"] for end in ("high", "low")]
    if None in ends:
        return "an amount that is not known"
    small, great = (significant(-end, 2) for end in ends)
    return f"{small} to {great} %"
