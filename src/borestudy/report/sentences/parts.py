"""The pressure drop up to the throat's end and behind it: what is well known, and what is not.

On these bores the solutions differ least up to the throat's end and most in what the backbore gives
back, so a total is a span mostly for the backbore's sake.
"""

import math
from collections.abc import Mapping, Sequence

from borestudy.report.sentences.words import called, capital, where
from borestudy.results.case import CaseResults
from borestudy.results.merged_flow import (
    LAMINAR,
    SOLUTIONS,
    Row,
    is_judged_by_both,
    solution_row,
)
from borestudy.rounding import significant, with_uncertainty

#: Up to this share a figure is said to be well known: how far both solutions are apart, of their
#: mean, and the numerical uncertainty of each, of its own.
AGREEING = 0.03
TO_THROAT_END, BACKBORE = "pressure_drop_to_throat_end_Pa", "backbore_pressure_drop_Pa"


def difference_percent(row: Row, key: str = TO_THROAT_END) -> tuple[float, float] | None:
    """How far both solutions are apart in one figure, of their mean, and its uncertainty.

    None without both solutions.
    """
    rows = [solution_row(row, word) for word in SOLUTIONS]
    laminar, turbulent = (found.get(key) for found in rows)
    if not is_judged_by_both(row) or laminar is None or turbulent is None:
        return None
    mean = 0.5 * abs(laminar + turbulent)
    error = math.hypot(*(found.get(f"{key}_uncertainty") or 0.0 for found in rows))
    return (100 * abs(laminar - turbulent) / mean, 100 * error / mean) if mean else None


def parts_answers(cases: Sequence[CaseResults]) -> list[str]:
    """Both parts of the pressure drop at the greatest rate, of the first and of the last case.

    Returns
    -------
    list of str
        Empty where no rate has both solutions.
    """
    rates = sorted(
        (rate for rate in cases[0].rates if difference_percent(cases[0].rate(rate)) is not None),
        reverse=True,
    )
    if not rates:
        return []
    shown = [cases[0], *cases[1:][-1:]]
    told = [text for case in shown if (text := _case_text(cases, case, rates[0]))]
    return [
        f"Where the pressure goes {where(cases[0], rates[0])}. {'. '.join(map(capital, told))}. "
        "What the backbore gives back is not known at this flow rate, since no steady model knows "
        "where the air in it becomes turbulent; that is why the whole is a span."
    ]


def _case_text(cases: Sequence[CaseResults], case: CaseResults, rate: float) -> str:
    row = case.rate(rate)
    apart = difference_percent(row)
    if apart is None:
        return ""
    rows = {word: solution_row(row, word) for word in SOLUTIONS}
    least_sure = max(_share(found) for found in rows.values())
    front = " or ".join(f"{_figure(rows[word], TO_THROAT_END)} ({word})" for word in rows)
    doubt = ""
    if max(apart[0] / 100, least_sure) <= AGREEING:
        within = significant(max(apart[0], 100 * least_sure, 0.1), 2)
        front = _figure(rows[LAMINAR], TO_THROAT_END)
        doubt = f", well known since both solutions and their uncertainties are within {within} %"
    elif apart[0] <= apart[1]:
        doubt = ", which agree within their uncertainty and are known no better than that"
    return (
        f"{called(case, cases)}the pressure falls by {front} up to the throat’s end{doubt}; "
        f"{_backbore(rows)}"
    )


def _share(row: Row) -> float:
    """Numerical uncertainty of the part up to the throat's end, as a share of it."""
    error = row.get(f"{TO_THROAT_END}_uncertainty")
    return math.inf if error is None else float(error) / abs(row[TO_THROAT_END])


def _backbore(rows: Mapping[str, Row]) -> str:
    """What the backbore takes or, below zero, gives back, by each solution."""
    gives = all(row[BACKBORE] < 0 for row in rows.values())
    sign = -1 if gives else 1
    found = [f"{_figure(row, BACKBORE, sign)} ({word})" for word, row in rows.items()]
    return f"the backbore {'gives back' if gives else 'takes'} {' or '.join(found)}"


def _figure(row: Row, key: str, sign: int = 1) -> str:
    return f"{with_uncertainty(sign * row[key], row.get(f'{key}_uncertainty'))} Pa"
