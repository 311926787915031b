"""Where the pressure goes: what each part dissipates, and what becomes kinetic energy."""

from collections.abc import Sequence
from typing import Any

import pandas as pd

from borestudy.flow.result import FlowAtRate
from borestudy.results.case import CaseResults
from borestudy.results.merged_flow import SOLUTIONS
from borestudy.results.tables.files import frame_of, pair

#: In the order of the flow.
PARTS = ("cup", "entry", "throat", "backbore")


def energy_table(cases: Sequence[CaseResults]) -> pd.DataFrame:
    """One row a case, flow rate and converged solution: the budget of mechanical energy.

    What the air loses from rim plane to shank end is dissipated in the parts; the static pressure
    falls besides by the rise of its kinetic energy.
    """
    rows = [
        {
            "case": case.name,
            "flow_rate_L_per_s": row.flow_rate_L_per_s,
            "regime": row.regime,
            "solution": word,
            **_budget(figures),
        }
        for case in cases
        for row in case.rates
        for word in SOLUTIONS
        if (figures := row.of(word)) is not None and figures.budget is not None
    ]
    table = frame_of(rows)
    shares = [name for name in map(str, table.columns) if name.startswith("dissipation_")]
    return table.drop(columns=[name for name in shares if table[name].isna().all()])


def _budget(figures: FlowAtRate) -> dict[str, Any]:
    budget = figures.budget
    assert budget is not None
    shares = budget.dissipation_by_part or {}
    found: dict[str, Any] = pair("loss_Pa", budget.loss)
    found |= pair("kinetic_energy_rise_Pa", budget.kinetic_energy_rise)
    # A part that one case has and another has not is none of nothing, in its place all the same.
    for part in (*PARTS, *(name for name in shares if name not in PARTS)):
        found |= pair(f"dissipation_{part}_Pa", shares.get(part))
    balance = figures.energy_balance
    found["energy_balance_percent"] = None if balance is None else 100 * balance
    return found | pair("jet_contraction", figures.jet_contraction)
