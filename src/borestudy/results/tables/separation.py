"""Where the air leaves the wall and where it comes back to it, from each solution."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd

from borestudy.report.sentences.words import called, where
from borestudy.results.case import CaseResults
from borestudy.results.merged_flow import SOLUTIONS, is_judged_by_both, solution_row
from borestudy.results.tables.files import frame_of, pair
from borestudy.rounding import significant

STAYS, RETURNS, LEAVES = "stays on the wall", "comes back", "does not come back"
EDGE = 0.01  # mm: a corner belongs to the part that begins there


def separation_table(cases: Sequence[CaseResults]) -> pd.DataFrame:
    """One row a case, flow rate, solution and place where the air leaves the wall.

    A solution that leaves it nowhere has one row that says so.
    """
    return frame_of(
        [
            {
                "case": case.name,
                "flow_rate_L_per_s": row["flow_rate_L_per_s"],
                "regime": row.get("regime"),
                "solution": word,
                **place,
            }
            for case in cases
            for row in case.flow.get("rates", [])
            for word in SOLUTIONS
            for place in _places(case, solution_row(row, word))
        ]
    )


def _places(case: CaseResults, row: Mapping[str, Any]) -> list[dict[str, Any]]:
    bubbles = row.get("separations")
    if bubbles is None:
        return []
    if not bubbles:
        return [{"part": "", "wall": STAYS, **_where({})}]
    return [
        {
            "part": _part(case, bubble["separation_mm"]),
            "wall": LEAVES if bubble.get("reattachment_mm") is None else RETURNS,
            **_where(bubble),
        }
        for bubble in bubbles
    ]


def _where(bubble: Mapping[str, Any]) -> dict[str, Any]:
    return {
        column: value
        for key in ("separation_mm", "reattachment_mm")
        for column, value in pair(key, bubble, key).items()
    }


def _part(case: CaseResults, position: float) -> str:
    """The part of the bore in which a place is [mm from the rim plane]."""
    inside = [
        name
        for name, (start, _) in case.geometry.get("parts", {}).items()
        if start <= position + EDGE
    ]
    return inside[-1] if inside else ""


def separation_answers(cases: Sequence[CaseResults]) -> list[str]:
    """Whether the air stays on the backbore's wall, from both solutions at the greatest rate.

    Returns
    -------
    list of str
        Empty where no rate of the first case has both solutions.
    """
    rates = [rate for rate in cases[0].rates if _both(cases[0], rate)]
    if not rates:
        return []
    rate = max(rates)
    shown = [cases[0], *(case for case in cases[1:][-1:] if _both(case, rate))]
    told = []
    for case in shown:
        laminar, turbulent = (
            _in_the_backbore(case, solution_row(case.rate(rate), word)) for word in SOLUTIONS
        )
        told.append(
            f"{called(case, cases)}the laminar flow {laminar}, the turbulent one {turbulent}"
        )
    return [f"In the backbore, {where(cases[0], rate)}: {'; '.join(told)}."]


def _both(case: CaseResults, rate: float) -> bool:
    row = case.rate(rate)
    return is_judged_by_both(row) and all(
        "separations" in solution_row(row, word) for word in SOLUTIONS
    )


def _in_the_backbore(case: CaseResults, row: Mapping[str, Any]) -> str:
    """What the air does at the wall behind the throat."""
    start, end = case.geometry.get("parts", {}).get("backbore", (0.0, math.inf))
    behind = [
        (bubble["separation_mm"], bubble.get("reattachment_mm") or end)
        for bubble in row["separations"]
        if (bubble.get("reattachment_mm") or end) > start + EDGE
    ]
    if not behind:
        return "stays on the wall"
    first, last = behind[0][0], behind[-1][1]
    begun = (
        "has left the wall before it"
        if first < start
        else f"leaves the wall {significant(first - start, 2)} mm behind the throat"
    )
    if last >= end:
        return f"{begun} and does not come back"
    return f"{begun} and is back {significant(last - start, 2)} mm behind it"
