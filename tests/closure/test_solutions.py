"""Both solutions beside each other."""

import pytest

from borestudy.compare.changes import NO_RESULT
from borestudy.compare.solutions import BOTH, LAMINAR_ALONE, ONE, solution_answers, solution_rows


def found(*ladders, rate=0.3):
    rows = [
        {
            "flow_rate_L_per_s": rate,
            "throat_reynolds": 7000.0,
            "converged": bool(ladder),
            "pressure_drop_Pa": ladder[-1] if ladder else None,
            "pressure_drop_Pa_uncertainty": abs(ladder[-1] - ladder[0]) if ladder else None,
            "levels": {"pressure_drop_Pa": ladder} if ladder else {},
        }
        for ladder in ladders
    ]
    return {"rates": rows}


def table(laminar, turbulent):
    laminar = {"a": found([400.0, 401.0]), "b": found(laminar)}
    turbulent = {"a": found([200.0, 201.0]), "b": found(turbulent)}
    return solution_rows(laminar, turbulent)


def test_a_change_that_both_solutions_have_is_named_with_its_direction():
    row = table([360.0, 361.0], [150.0, 151.0])[1]
    assert row["change"] == f"{BOTH}: lower"
    assert row["resistance_change_laminar_percent"] == pytest.approx(100 * (361 / 401 - 1))
    assert row["resistance_change_turbulent_percent"] == pytest.approx(100 * (151 / 201 - 1))


def test_a_change_that_one_solution_denies_is_not_claimed():
    assert table([440.0, 441.0], [150.0, 151.0])[1]["change"].startswith(ONE)


def test_a_rate_without_a_turbulent_solution_has_its_laminar_figures_alone():
    rows = solution_rows({"a": found([400.0, 401.0])}, {"a": {"rates": []}})
    assert rows[0]["pressure_drop_laminar_Pa"] == 401.0
    assert rows[0]["pressure_drop_turbulent_Pa"] is None
    assert rows[0]["change"] == LAMINAR_ALONE


def test_a_solution_that_did_not_converge_leaves_the_change_unknown():
    row = table([360.0, 361.0], [])[1]
    assert row["converged_turbulent"] is False
    assert row["change"] == NO_RESULT


def test_the_sentence_gives_each_solutions_change_and_whether_they_agree():
    row = {
        "case": "b", "flow_rate_L_per_s": 0.2, "change": "both solutions agree: lower",
        "resistance_change_laminar_percent": -25.4,
        "resistance_change_laminar_percent_uncertainty": 2.0,
        "resistance_change_turbulent_percent": -10.1,
        "resistance_change_turbulent_percent_uncertainty": 0.5,
    }  # fmt: skip
    rows = [row | {"case": "a"}, row, row | {"flow_rate_L_per_s": 0.05, "change": "laminar alone"}]
    (sentence,) = solution_answers(rows, {"a": "square", "b": "rounded"})
    assert "rounded differs from that of square at 0.2 L/s" in sentence
    assert "laminar −25 ± 2 % and turbulent −10.1 ± 0.5 %" in sentence
    assert "0.05" not in sentence


def test_without_two_solutions_nothing_is_said():
    assert solution_answers([]) == []
