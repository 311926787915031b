"""Where the pressure goes: what each part dissipates, and what becomes kinetic energy."""

from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd

from borestudy.results.case import CaseResults
from borestudy.results.tables.files import frame_of, pair

#: In the order of the flow.
PARTS = ("cup", "entry", "throat", "backbore")


def energy_table(cases: Sequence[CaseResults]) -> pd.DataFrame:
    """One row a case and converged flow rate: the budget of mechanical energy.

    What the air loses from rim plane to shank end is dissipated in the parts; the static pressure
    falls besides by the rise of its kinetic energy.
    """
    rows = [
        _row(case, row)
        for case in cases
        for row in case.flow.get("rates", [])
        if row.get("converged") and row.get("budget")
    ]
    table = frame_of(rows)
    shares = [name for name in map(str, table.columns) if name.startswith("dissipation_")]
    return table.drop(columns=[name for name in shares if table[name].isna().all()])


def _row(case: CaseResults, row: Mapping[str, Any]) -> dict[str, Any]:
    budget = row["budget"]
    columns: dict[str, Any] = {
        "case": case.name,
        "flow_rate_L_per_s": row["flow_rate_L_per_s"],
        "regime": row["regime"],
    }
    for key in ("loss_Pa", "kinetic_energy_rise_Pa"):
        columns |= pair(key, budget, key)
    errors = budget.get("dissipation_by_part_Pa_uncertainty", {})
    shares = budget["dissipation_by_part_Pa"]
    # A part that one case has and another has not is none of nothing, in its place all the same.
    for part in (*PARTS, *(name for name in shares if name not in PARTS)):
        columns[f"dissipation_{part}_Pa"] = shares.get(part)
        columns[f"dissipation_{part}_Pa_uncertainty"] = errors.get(part)
    columns["energy_balance_percent"] = 100 * row["energy_balance"]
    return columns | pair("jet_contraction", row, "jet_contraction")
