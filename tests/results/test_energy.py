"""The table of where the pressure goes."""

import math
from dataclasses import replace

from borestudy.flow.result import EnergyBudget, FlowAtRate
from borestudy.quantity import Quantity
from borestudy.results.case import CaseResults
from borestudy.results.estimate import EstimatedFlow, EstimatedRate
from borestudy.results.tables.flow import energy_table

from .conftest import scales

SOLVED = FlowAtRate(
    flow_rate_L_per_s=0.05,
    converged=True,
    energy_balance=0.002,
    budget=EnergyBudget(
        loss=Quantity(9.0, 0.1),
        kinetic_energy_rise=Quantity(2.0, 0.05),
        dissipation_by_part={
            "cup": Quantity(1.0, 0.01),
            "throat": Quantity(5.0, 0.02),
            "backbore": Quantity(3.0, 0.03),
        },
    ),
    jet_contraction=Quantity(0.9, 0.01),
)


def case(name: str, *estimates: FlowAtRate, turbulent: FlowAtRate | None = None) -> CaseResults:
    """A case of rates with their estimates, the last perhaps with an extreme beside it."""
    rows = [EstimatedRate(**scales(row.flow_rate_L_per_s), estimate=row) for row in estimates]
    rows[-1] = replace(rows[-1], turbulent=turbulent)
    return CaseResults(name, flow=EstimatedFlow(rates=tuple(rows)))


def test_each_part_has_its_share_and_its_uncertainty() -> None:
    row = energy_table([case("a", SOLVED)]).iloc[0]
    assert row["dissipation_throat_Pa"] == 5.0
    assert row["dissipation_throat_Pa_uncertainty"] == 0.02
    assert row["energy_balance_percent"] == 0.2


def test_each_solution_has_a_row_of_its_own() -> None:
    closed = replace(SOLVED, energy_balance=0.005)
    table = energy_table([case("a", SOLVED, turbulent=closed)])
    assert list(table["solution"]) == ["estimate", "turbulent"]
    assert list(table["energy_balance_percent"]) == [0.2, 0.5]


def test_a_rate_that_did_not_converge_has_no_budget() -> None:
    lost = FlowAtRate(flow_rate_L_per_s=0.3, converged=False)
    table = energy_table([case("a", SOLVED, lost)])
    assert list(table["flow_rate_L_per_s"]) == [0.05]


def test_only_a_solution_with_its_budget_is_told_of() -> None:
    """A lost solve may have left a budget, and a solution may have none."""
    left = replace(SOLVED, flow_rate_L_per_s=0.2, converged=False)
    without = replace(SOLVED, flow_rate_L_per_s=0.3, budget=None)
    table = energy_table([case("a", SOLVED, left, without)])
    assert list(table["flow_rate_L_per_s"]) == [0.05]


def test_parts_stand_in_the_order_of_the_flow_and_a_missing_one_is_empty() -> None:
    parts = {"throat": Quantity(4.0, None), "entry": Quantity(0.5, None)}
    rounded = replace(SOLVED, budget=replace(SOLVED.budget, dissipation_by_part=parts))
    table = energy_table([case("a", SOLVED), case("b", rounded)])
    shares = [name for name in table if name.startswith("dissipation_") and name.endswith("_Pa")]
    assert shares == [f"dissipation_{part}_Pa" for part in ("cup", "entry", "throat", "backbore")]
    assert math.isnan(table["dissipation_entry_Pa"].iloc[0])
    assert math.isnan(table["dissipation_cup_Pa"].iloc[1])
