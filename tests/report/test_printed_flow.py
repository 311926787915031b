"""The report's flow tables give each drop both of its errors, and say what is missing and why."""

from dataclasses import replace

import numpy as np

from borestudy.bore import BoreDescription
from borestudy.report.figures.case import PicturedStudy
from borestudy.report.tables.flow import (
    printed_extremes,
    printed_flow,
    printed_flow_changes,
    printed_flow_parts,
    with_transitions,
)
from borestudy.report.tables.layout import Table

DROP = "Pressure drop, Pa ± numerical ± model error"


def texts(table: Table | None) -> list[dict[str, str]]:
    """A table's rows by the names of their columns."""
    assert table is not None
    names = [cell.text for cell in table.columns]
    return [dict(zip(names, (cell.text for cell in row), strict=True)) for row in table.rows]


def test_a_pressure_drop_has_its_numerical_and_then_its_model_error(study: PicturedStudy) -> None:
    soft, loud, *_ = texts(printed_flow(study.flow))
    assert soft[DROP] == "50.0 ± 0.5 ± 5"
    assert loud[DROP] == "800 ± 8 +160/−80"
    assert loud["Pressure drop, low to high, Pa"] == "720 to 960"
    assert not any("aminar" in name or "urbulent" in name for name in loud)


def test_a_drop_without_a_known_model_error_says_so(study: PicturedStudy) -> None:
    flow = study.flow.assign(pressure_drop_model_error_low_Pa=np.nan)
    assert texts(printed_flow(flow))[0][DROP] == "50.0 ± 0.5 (model error unknown)"


def test_the_place_of_transition_is_said_in_millimetres_and_throat_diameters(
    study: PicturedStudy,
) -> None:
    bore = BoreDescription(
        length_mm=20.0, rim_diameter_mm=8.0, throat_diameter_mm=4.0, throat_length_mm=4.0,
        end_diameter_mm=4.0, cup_volume_cm3=1.0, throat_volume_cm3=1.0, backbore_volume_cm3=1.0,
        parts={"cup": (0.0, 5.0), "throat": (5.0, 9.0), "backbore": (9.0, 20.0)},
    )  # fmt: skip
    cases = [replace(case.results, geometry=bore) for case in study.cases]
    flow = study.flow.copy()
    flow.loc[3, "transition_position_mm"] = 7.0
    flow.loc[2, "converged"] = False
    rows = [row["Turns turbulent"] for row in texts(printed_flow(with_transitions(flow, cases)))]
    assert rows == [
        "nowhere",
        "12.0 mm, 0.75 throat diameters behind the throat",
        "none",
        "7.0 mm, 0.5 throat diameters into the throat",
    ]


def test_extremes_stand_in_a_table_of_their_own_where_a_study_asked_for_them(
    study: PicturedStudy,
) -> None:
    soft, loud, *_ = texts(printed_extremes(study.flow))
    assert loud[DROP] == "800 ± 8 +160/−80"
    assert loud["Wholly laminar, Pa"] == "1200 ± 12"
    assert loud["Wholly turbulent, Pa"] == "640 ± 6"
    assert soft["Wholly turbulent, Pa"] == "not solved"
    asked = study.flow.drop(columns=["turbulent_converged"])
    assert "Wholly turbulent, Pa" not in texts(printed_extremes(asked))[0]
    assert printed_extremes(asked.drop(columns=["laminar_converged"])) is None


def test_an_extreme_that_was_lost_does_not_take_the_estimate_with_it(study: PicturedStudy) -> None:
    flow = study.flow.copy()
    flow.loc[1, "turbulent_converged"] = False
    flow.loc[1, "turbulent_pressure_drop_Pa"] = 777.7
    row = texts(printed_extremes(flow))[1]
    assert row["Wholly turbulent, Pa"] == "did not converge"
    assert row[DROP] == "800 ± 8 +160/−80"


def test_both_parts_of_the_drop_have_both_errors(study: PicturedStudy) -> None:
    row = texts(printed_flow_parts(study.flow))[1]
    assert row["Pressure drop to the throat’s end, Pa ± numerical ± model error"] == (
        "960 ± 10 +190/−100"
    )
    assert row["Backbore, Pa ± numerical ± model error"] == "−160.0 ± 1.6 +32/−16"
    assert printed_flow_parts(study.flow.assign(backbore_pressure_drop_Pa=np.nan)) is None


def test_a_change_has_one_number_one_uncertainty_and_one_verdict(study: PicturedStudy) -> None:
    rows = texts(printed_flow_changes(study.flow))
    assert [row["Change, %"] for row in rows] == ["−5.0 ± 0.5", "−8.0 ± 0.5"]
    assert {row["Result"] for row in rows} == {"lower"}
    assert len(rows[0]) == 4


def test_what_lies_outside_the_measurements_stands_below_the_table(study: PicturedStudy) -> None:
    note = printed_flow(study.flow).note
    assert note.endswith("cone angle below those measured (2 of 4 rows).")
    inside = study.flow.assign(model_words="")
    assert printed_flow(inside).note == ""
