"""The report's flow tables show both solutions, and say what each missing number is for."""

from borestudy.report.figures.case import PicturedStudy
from borestudy.report.tables.flow import printed_flow, printed_flow_parts
from borestudy.report.tables.layout import Table
from borestudy.results.merged_flow import REFUSED


def texts(table: Table) -> list[dict[str, str]]:
    """A table's rows by the names of their columns."""
    names = [cell.text for cell in table.columns]
    return [dict(zip(names, (cell.text for cell in row), strict=True)) for row in table.rows]


def test_both_solutions_stand_beside_each_other_and_the_span(study: PicturedStudy) -> None:
    loud = texts(printed_flow(study.flow))[1]
    assert loud["Laminar solution, Pa"] == "800 ± 8"
    assert loud["Turbulent solution, Pa"] == "560 ± 6"
    assert loud["Pressure drop, low to high, Pa"] == "560 to 1120"
    assert loud["Handbooks, low to high, Pa"] == "640 to 960"


def test_a_turbulent_solution_that_was_lost_is_not_hidden_behind_the_laminar_one(
    study: PicturedStudy,
) -> None:
    flow = study.flow.copy()
    flow.loc[1, "turbulent_converged"] = False
    flow.loc[1, "turbulent_pressure_drop_Pa"] = 777.7
    row = texts(printed_flow(flow))[1]
    assert row["Laminar solution, Pa"] == "800 ± 8"
    assert row["Turbulent solution, Pa"] == "did not converge"


def test_a_rate_too_slow_to_be_turbulent_is_not_said_to_have_failed(study: PicturedStudy) -> None:
    flow = study.flow.assign(
        converged=False, span_note=REFUSED, laminar_converged=None, turbulent_converged=None
    )
    table = printed_flow(flow)
    assert "below a throat Reynolds number of 2500" in table.caption
    for row in texts(table):
        assert row["Turbulent solution, Pa"] == "too slow"
        assert "Laminar solution, Pa" not in row


def test_the_parts_table_has_the_rates_with_both_solutions_alone(study: PicturedStudy) -> None:
    table = printed_flow_parts(study.flow)
    assert table is not None
    rows = texts(table)
    assert [row["Flow rate, L/s"] for row in rows] == ["0.2", "0.2"]
    assert rows[0]["Backbore, laminar, Pa"] == "−160.0 ± 1.6"
    assert printed_flow_parts(study.flow.assign(turbulent_converged=None)) is None


def test_a_laminar_study_keeps_its_tables_without_columns_for_a_second_solution(
    study: PicturedStudy,
) -> None:
    flow = study.flow.assign(turbulent_converged=None)
    names = [cell.text for cell in printed_flow(flow).columns]
    assert "Pressure drop, Pa" in names
    assert not any("solution" in name.lower() for name in names)
