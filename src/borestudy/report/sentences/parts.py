"""The pressure drop up to the throat's end and in the backbore: what is well known, what not.

On these bores the solutions differ least up to the throat's end and most in what the backbore gives
back, so a total is a span mostly for the backbore's sake.
"""

import math
from collections.abc import Mapping, Sequence

from borestudy.flow.result import FlowAtRate
from borestudy.quantity import Quantity
from borestudy.report.sentences.words import called, capital, quantity_text, where
from borestudy.results.case import CaseResults
from borestudy.results.merged_flow import SOLUTIONS, MergedRate
from borestudy.results.span_changes import solutions_apart
from borestudy.results.spans import BACKBORE, LAMINAR, TO_THROAT_END, TURBULENT
from borestudy.results.tables.flow import EDGE
from borestudy.rounding import significant

#: Up to this share a figure is said to be well known: how far both solutions are apart, of their
#: mean, and the numerical uncertainty of each, of its own.
AGREEING = 0.03


def parts_answers(cases: Sequence[CaseResults]) -> list[str]:
    """Both parts of the pressure drop at the greatest rate, of the first and of the last case.

    Nothing is said where no rate has both solutions.
    """
    rates = [rate for rate, row in enumerate(cases[0].rates) if solutions_apart(row) is not None]
    if not rates:
        return []
    told = [_case_text(cases, case, rates[-1]) for case in [cases[0], *cases[1:][-1:]]]
    return [
        f"Where the pressure goes {where(cases[0], rates[-1])}. "
        f"{'. '.join(capital(text) for text in told if text)}. "
        "What the backbore gives back is not known at this flow rate, since no steady model knows "
        "where the air in it becomes turbulent; that is why the whole is a span."
    ]


def _case_text(cases: Sequence[CaseResults], case: CaseResults, rate: int) -> str:
    """Both parts of one case's pressure drop; empty without both solutions."""
    row = case.rate(rate)
    apart = None if row is None else solutions_apart(row)
    if row is None or apart is None:
        return ""
    fronts, backs = (
        {word: found for word in SOLUTIONS if (found := row.quantity(part, word)) is not None}
        for part in (TO_THROAT_END, BACKBORE)
    )
    least_sure = max(
        math.inf if found.uncertainty is None else found.uncertainty / abs(found.value)
        for found in fronts.values()
    )
    front, doubt = _by_each(fronts), ""
    if max(apart.value / 100, least_sure) <= AGREEING:
        within = significant(max(apart.value, 100 * least_sure, 0.1), 2)
        front = f"{quantity_text(fronts[LAMINAR])} Pa"
        doubt = f", well known since both solutions and their uncertainties are within {within} %"
    elif apart.value <= (apart.uncertainty or 0.0):
        doubt = ", which agree within their uncertainty and are known no better than that"
    gives = all(found.value < 0 for found in backs.values())
    return (
        f"{called(case, cases)}the pressure falls by {front} up to the throat’s end{doubt}; the "
        f"backbore {'gives back' if gives else 'takes'} {_by_each(backs, -1 if gives else 1)}"
    )


def _by_each(found: Mapping[str, Quantity], sign: int = 1) -> str:
    """A pressure by each solution."""
    return " or ".join(f"{quantity_text(one, sign)} Pa ({word})" for word, one in found.items())


def separation_answers(cases: Sequence[CaseResults]) -> list[str]:
    """Whether the air stays on the backbore's wall, from both solutions at the greatest rate.

    Nothing is said where no rate of the first case has both solutions.
    """
    rates = [rate for rate, row in enumerate(cases[0].rates) if _solved_both_ways(row)]
    if not rates:
        return []
    told = [
        f"{called(case, cases)}the laminar flow {_in_the_backbore(case, row.of(LAMINAR))}, "
        f"the turbulent one {_in_the_backbore(case, row.of(TURBULENT))}"
        for case in [cases[0], *cases[1:][-1:]]
        if (row := case.rate(rates[-1])) is not None and _solved_both_ways(row)
    ]
    return [f"In the backbore, {where(cases[0], rates[-1])}: {'; '.join(told)}."]


def _solved_both_ways(row: MergedRate) -> bool:
    return all(row.of(word) is not None for word in SOLUTIONS)


def _in_the_backbore(case: CaseResults, figures: FlowAtRate | None) -> str:
    """What the air does at the wall after the throat."""
    parts = {} if case.geometry is None else case.geometry.parts
    start, end = parts.get("backbore", (0.0, math.inf))
    bubbles = [
        (bubble.separation.value, end if bubble.reattachment is None else bubble.reattachment.value)
        for bubble in (() if figures is None else figures.separations)
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
