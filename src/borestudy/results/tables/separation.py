"""Where the air leaves the wall and where it comes back to it, from each solution."""

from collections.abc import Sequence

import pandas as pd

from borestudy.flow.result import Separation
from borestudy.records import columns
from borestudy.results.case import CaseResults
from borestudy.results.merged_flow import SOLUTIONS
from borestudy.results.tables.files import frame_of

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
                "flow_rate_L_per_s": row.flow_rate_L_per_s,
                "regime": row.regime,
                "solution": word,
                "part": _part(case, bubble),
                "wall": _wall(bubble),
                **columns(bubble),
            }
            for case in cases
            for row in case.rates
            for word in SOLUTIONS
            if (figures := row.of(word)) is not None
            for bubble in figures.separations or (Separation(),)
        ]
    )


def _wall(bubble: Separation) -> str:
    if bubble.separation is None:
        return STAYS
    return LEAVES if bubble.reattachment is None else RETURNS


def _part(case: CaseResults, bubble: Separation) -> str:
    """The part of the bore in which the air leaves the wall."""
    if bubble.separation is None or case.geometry is None:
        return ""
    place = bubble.separation.value + EDGE
    inside = [name for name, (start, _) in case.geometry.parts.items() if start <= place]
    return inside[-1] if inside else ""
