"""The table of where the pressure goes."""

import math

from borestudy.results.case import CaseResults
from borestudy.results.tables.energy import energy_table

SOLVED = {
    "flow_rate_L_per_s": 0.05,
    "regime": "laminar",
    "converged": True,
    "energy_balance": 0.002,
    "budget": {
        "loss_Pa": 9.0,
        "loss_Pa_uncertainty": 0.1,
        "kinetic_energy_rise_Pa": 2.0,
        "kinetic_energy_rise_Pa_uncertainty": 0.05,
        "dissipation_by_part_Pa": {"cup": 1.0, "throat": 5.0, "backbore": 3.0},
        "dissipation_by_part_Pa_uncertainty": {"cup": 0.01, "throat": 0.02, "backbore": 0.03},
    },
    "jet_contraction": 0.9,
    "jet_contraction_uncertainty": 0.01,
}


def test_each_part_has_its_share_and_its_uncertainty() -> None:
    table = energy_table([CaseResults("a", flow={"rates": [SOLVED]})])
    row = table.iloc[0]
    assert row["dissipation_throat_Pa"] == 5.0
    assert row["dissipation_throat_Pa_uncertainty"] == 0.02
    assert row["energy_balance_percent"] == 0.2


def test_a_rate_that_did_not_converge_has_no_budget() -> None:
    lost = {"flow_rate_L_per_s": 0.3, "converged": False}
    table = energy_table([CaseResults("a", flow={"rates": [SOLVED, lost]})])
    assert list(table["flow_rate_L_per_s"]) == [0.05]


def test_only_a_solution_with_its_budget_is_told_of() -> None:
    """A lost solve may have left a budget, and the turbulent solution has none."""
    left = SOLVED | {"flow_rate_L_per_s": 0.2, "converged": False}
    closed = SOLVED | {"flow_rate_L_per_s": 0.3, "budget": None}
    table = energy_table([CaseResults("a", flow={"rates": [SOLVED, left, closed]})])
    assert list(table["flow_rate_L_per_s"]) == [0.05]


def test_parts_stand_in_the_order_of_the_flow_and_a_missing_one_is_empty() -> None:
    rounded = SOLVED | {
        "budget": SOLVED["budget"] | {"dissipation_by_part_Pa": {"throat": 4.0, "entry": 0.5}}
    }
    cases = [
        CaseResults(name, flow={"rates": [row]}) for name, row in (("a", SOLVED), ("b", rounded))
    ]
    table = energy_table(cases)
    shares = [name for name in table if name.startswith("dissipation_") and name.endswith("_Pa")]
    assert shares == [f"dissipation_{part}_Pa" for part in ("cup", "entry", "throat", "backbore")]
    assert math.isnan(table["dissipation_entry_Pa"].iloc[0])
    assert math.isnan(table["dissipation_cup_Pa"].iloc[1])
