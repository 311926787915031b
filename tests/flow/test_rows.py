"""What a row says of its own certainty."""

import pytest

from borestudy.flow.balances import guard_against_chance


@pytest.mark.parametrize(
    ("halves", "imbalance", "expected"),
    [((0.3, 0.4), 0.0, 0.5), ((0.0, 0.0), -0.01, 0.6), ((0.0, 0.0), 0.0, 0.001)],
)
def test_a_chance_agreement_of_two_grids_is_not_believed(
    halves: tuple[float, float], imbalance: float, expected: float
) -> None:
    row = {
        "pressure_drop_Pa_uncertainty": 0.001,
        "pressure_drop_to_throat_end_Pa_uncertainty": halves[0],
        "backbore_pressure_drop_Pa_uncertainty": halves[1],
        "loss_coefficient_uncertainty": 0.001,
        "dynamic_pressure_Pa": 20.0,
    }
    balances = {"energy_balance": imbalance, "budget": {"dissipation_Pa": 60.0}}
    guard_against_chance(row, balances)
    assert row["pressure_drop_Pa_uncertainty"] == pytest.approx(expected)
    assert row["loss_coefficient_uncertainty"] == pytest.approx(max(0.001, abs(imbalance) * 3))
