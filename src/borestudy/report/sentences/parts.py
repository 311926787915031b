"""The pressure drop up to the throat's end and behind it: what is well known, and what is not.

On these bores the solutions differ least up to the throat's end and most in what the backbore gives
back, so a total is a span mostly for the backbore's sake.
"""

import math
from collections.abc import Sequence
from dataclasses import replace

from borestudy.quantity import Quantity
from borestudy.report.sentences.words import called, capital, quantity_text, where
from borestudy.results.case import CaseResults
from borestudy.results.merged_flow import SOLUTIONS, MergedRate
from borestudy.results.span_changes import solutions_apart
from borestudy.results.spans import BACKBORE, LAMINAR, TO_THROAT_END
from borestudy.results.tables.separation import EDGE
from borestudy.rounding import significant

#: Up to this share a figure is said to be well known: how far both solutions are apart, of their
#: mean, and the numerical uncertainty of each, of its own.
AGREEING = 0.03


def parts_answers(cases: Sequence[CaseResults]) -> list[str]:
    """Both parts of the pressure drop at the greatest rate, of the first and of the last case.

    Returns
    -------
    list of str
        Empty where no rate has both solutions.
    """
    rates = [index for index, row in enumerate(cases[0].rates) if _both(row)]
    if not rates:
        return []
    rate, shown = rates[-1], [cases[0], *cases[1:][-1:]]
    told = [text for case in shown if (text := _case_text(cases, case, rate))]
    return [
        f"Where the pressure goes {where(cases[0], rate)}. {'. '.join(map(capital, told))}. "
        "What the backbore gives back is not known at this flow rate, since no steady model knows "
        "where the air in it becomes turbulent; that is why the whole is a span."
    ]


def _both(row: MergedRate | None) -> bool:
    """Whether both solutions tell of both parts."""
    return row is not None and solutions_apart(row) is not None


def _case_text(cases: Sequence[CaseResults], case: CaseResults, rate: int) -> str:
    row = case.rate(rate)
    apart = None if row is None else solutions_apart(row)
    if row is None or apart is None:
        return ""
    fronts = {word: row.quantity(TO_THROAT_END, word) for word in SOLUTIONS}
    least_sure = max(_share(found) for found in fronts.values())
    front = " or ".join(f"{_figure(found)} ({word})" for word, found in fronts.items())
    doubt = ""
    if max(apart.value / 100, least_sure) <= AGREEING:
        within = significant(max(apart.value, 100 * least_sure, 0.1), 2)
        front = _figure(fronts[LAMINAR])
        doubt = f", well known since both solutions and their uncertainties are within {within} %"
    elif apart.value <= (apart.uncertainty or 0.0):
        doubt = ", which agree within their uncertainty and are known no better than that"
    return (
        f"{called(case, cases)}the pressure falls by {front} up to the throat’s end{doubt}; "
        f"{_backbore(row)}"
    )


def _share(found: Quantity | None) -> float:
    """Numerical uncertainty of a figure, as a share of it."""
    if found is None or found.uncertainty is None:
        return math.inf
    return found.uncertainty / abs(found.value)


def _backbore(row: MergedRate) -> str:
    """What the backbore takes or, below zero, gives back, by each solution."""
    backs = {word: row.quantity(BACKBORE, word) for word in SOLUTIONS}
    gives = all(found is not None and found.value < 0 for found in backs.values())
    sign = -1 if gives else 1
    told = [f"{_figure(found, sign)} ({word})" for word, found in backs.items()]
    return f"the backbore {'gives back' if gives else 'takes'} {' or '.join(told)}"


def _figure(found: Quantity | None, sign: int = 1) -> str:
    return f"{quantity_text(found and replace(found, value=sign * found.value))} Pa"


def separation_answers(cases: Sequence[CaseResults]) -> list[str]:
    """Whether the air stays on the backbore's wall, from both solutions at the greatest rate.

    Returns
    -------
    list of str
        Empty where no rate of the first case has both solutions.
    """
    rates = [index for index in range(len(cases[0].rates)) if _solved_both_ways(cases[0], index)]
    if not rates:
        return []
    rate = rates[-1]
    shown = [cases[0], *(case for case in cases[1:][-1:] if _solved_both_ways(case, rate))]
    told = []
    for case in shown:
        laminar, turbulent = (_in_the_backbore(case, rate, word) for word in SOLUTIONS)
        told.append(
            f"{called(case, cases)}the laminar flow {laminar}, the turbulent one {turbulent}"
        )
    return [f"In the backbore, {where(cases[0], rate)}: {'; '.join(told)}."]


def _solved_both_ways(case: CaseResults, rate: int) -> bool:
    row = case.rate(rate)
    return row is not None and all(row.of(word) is not None for word in SOLUTIONS)


def _in_the_backbore(case: CaseResults, rate: int, solution: str) -> str:
    """What the air does at the wall after the throat."""
    row, parts = case.rate(rate), {} if case.geometry is None else case.geometry.parts
    figures = None if row is None else row.of(solution)
    start, end = parts.get("backbore", (0.0, math.inf))
    after = [
        (bubble.separation.value, back)
        for bubble in (() if figures is None else figures.separations)
        if bubble.separation is not None
        and (back := end if bubble.reattachment is None else bubble.reattachment.value)
        > start + EDGE
    ]
    if not after:
        return "stays on the wall"
    first, last = after[0][0], after[-1][1]
    begun = (
        "has left the wall before it"
        if first < start
        else f"leaves the wall {significant(first - start, 2)} mm behind the throat"
    )
    if last >= end:
        return f"{begun} and does not come back"
    return f"{begun} and is back {significant(last - start, 2)} mm behind it"
