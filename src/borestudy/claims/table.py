"""Judged claims as a table, in the authors' own units."""

from collections.abc import Sequence

import pandas as pd

from borestudy.claims.judge import Judgement
from borestudy.claims.trial import Trial
from borestudy.results.tables.files import Row, frame_of


def claims_table(judgements: Sequence[Judgement]) -> pd.DataFrame:
    """One row a claim, in the order of the file."""
    return frame_of([_row(number, one) for number, one in enumerate(judgements, start=1)])


def _row(number: int, one: Judgement) -> Row:
    claim, factor = one.claim, one.claim.written_factor
    row: Row = {
        "claim": number,
        "line": claim.line,
        "where": claim.where,
        "case": claim.case,
        "quantity": claim.quantity,
        "written": claim.written,
        "claimed": factor * claim.value,
        "tolerance": factor * claim.tolerance,
        "tolerance_source": claim.tolerance_source,
        "unit": claim.written_unit,
    }
    found, distance = one.found, one.distance
    if isinstance(found, str) or distance is None:
        row |= dict.fromkeys(
            ("computed", "uncertainty", "low", "high", "distance", "distance_percent")
        )
    else:
        row |= {
            "computed": factor * found.value,
            "uncertainty": factor * found.numerical,
            "low": factor * found.low,
            "high": factor * found.high,
            "distance": factor * distance,
            "distance_percent": 100 * distance / abs(found.value) if found.value else None,
        }
    nearest, *others = one.causes or (None,)
    row |= {
        "verdict": one.verdict,
        "cause": None if nearest is None else nearest.cause,
        "cause_explained": None if nearest is None else nearest.how,
        "cause_value": None if nearest is None else factor * nearest.value,
        "other_causes": "; ".join(map(_told, others)) or None,
        "note": found if isinstance(found, str) else None,
    }
    return row


def _told(trial: Trial) -> str:
    return f"{trial.cause} ({trial.how})"
