"""The pressure drop up to the throat's end and in the backbore, and whether air leaves the wall."""

import math
from collections.abc import Sequence

from borestudy.flow.result import FlowAtRate
from borestudy.report.sentences.words import (
    BOTH_ERRORS,
    called,
    capital,
    drop_text,
    transition_text,
    where,
)
from borestudy.results.case import CaseResults
from borestudy.results.estimate import BACKBORE, TO_THROAT_END
from borestudy.results.tables.flow import EDGE
from borestudy.rounding import significant


def parts_answers(cases: Sequence[CaseResults]) -> list[str]:
    """Both parts of the pressure drop at the greatest rate, of the first and of the last case.

    Nothing is said where neither has both parts there.
    """
    rate = _greatest(cases)
    told = [capital(text) for case in _ends(cases) if (text := _case_text(cases, case, rate))]
    if not told:
        return []
    place = where(cases[0], rate, brief=True)
    return [f"Where the pressure goes {place} ({BOTH_ERRORS}). {'. '.join(told)}."]


def _greatest(cases: Sequence[CaseResults]) -> int:
    """Index of the greatest rate at which the first case has a solution."""
    return max((rate for rate, row in enumerate(cases[0].rates) if row.converged), default=0)


def _ends(cases: Sequence[CaseResults]) -> list[CaseResults]:
    """The first and the last case."""
    return [cases[0], *cases[1:][-1:]]


def _case_text(cases: Sequence[CaseResults], case: CaseResults, rate: int) -> str:
    """Both parts of one case's pressure drop; empty without both."""
    row = case.rate(rate)
    back = None if row is None else row.quantity(BACKBORE)
    if row is None or back is None or row.quantity(TO_THROAT_END) is None:
        return ""
    gives, sign = ("gives back", -1) if back.value < 0 else ("takes", 1)
    return (
        f"{called(case, cases)}the pressure falls by {drop_text(case, rate, TO_THROAT_END)} up to "
        f"the throat’s end; the backbore {gives} {drop_text(case, rate, BACKBORE, sign)}"
    )


def separation_answers(cases: Sequence[CaseResults]) -> list[str]:
    """Where the flow turns turbulent and whether it stays on the backbore's wall, blown hardest.

    Nothing is said where the first case has no solution.
    """
    rate = _greatest(cases)
    told = [
        f"{called(case, cases)}the flow is {transition_text(case, figures)}; in the backbore it "
        f"{_in_the_backbore(case, figures)}"
        for case in _ends(cases)
        if (row := case.rate(rate)) is not None and (figures := row.figures) is not None
    ]
    if not told or not cases[0].converged(rate):
        return []
    place = capital(where(cases[0], rate, brief=True))
    return [f"{place}, {'. '.join([told[0], *map(capital, told[1:])])}."]


def _in_the_backbore(case: CaseResults, figures: FlowAtRate) -> str:
    """What the air does at the wall after the throat."""
    parts = {} if case.geometry is None else case.geometry.parts
    start, end = parts.get("backbore", (0.0, math.inf))
    bubbles = [
        (bubble.separation.value, end if bubble.reattachment is None else bubble.reattachment.value)
        for bubble in figures.separations
        if bubble.separation is not None
    ]
    after = [bubble for bubble in bubbles if bubble[1] > start + EDGE]
    if not after:
        return "stays on the wall"
    first, last = after[0][0], after[-1][1]
    begun = (
        "has left the wall before it"
        if first < start
        else f"leaves the wall {significant(first - start, 2)} mm after the throat"
    )
    if last >= end:
        return f"{begun} and does not come back"
    return f"{begun} and is back {significant(last - start, 2)} mm after it"
