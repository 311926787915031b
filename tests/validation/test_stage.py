"""All families of flows become two tables and the figures, without solving anything again."""

import pytest

from borestudy.records import write_record
from borestudy.results.check import Check
from borestudy.results.comparison_errors import COLUMNS, read_comparisons
from borestudy.results.tables.files import read_table
from borestudy.stages.validation import Tables, compare_validation
from borestudy.validation import VALIDATIONS
from borestudy.validation.bores import BoreChecks

from .made import (
    ENTRIES,
    PIPE,
    WIDENINGS,
    made_flow,
    made_jet,
    made_orifices,
    made_playing,
)

IDENTITY = Check("mass flux", "1 + greatest error", "1", 1.0, 1.0, 0.01, "identity")
RECORDS = {
    "pipe": PIPE,
    "entry": ENTRIES,
    "orifices": made_orifices(),
    "widening": WIDENINGS,
    "nozzle-estimate": made_flow(),
    "nozzle-laminar": made_flow(model="laminar"),
    "nozzle-turbulent": made_flow(model="turbulent"),
    "reversed-nozzle": made_jet(),
    "playing": made_playing(),
    "bores": BoreChecks((IDENTITY,)),
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("validation")
    paths = {flow: folder / f"{flow}.json" for flow in RECORDS}
    for flow, path in paths.items():
        write_record(path, RECORDS[flow])
    names = ("checks", "nozzle", "errors", "places")
    tables = Tables(
        *(folder / f"{name}.csv" for name in names), differences=folder / "differences.txt"
    )
    compare_validation(paths, tables, folder / "figures")
    return folder


def test_every_family_has_a_made_up_record():
    assert set(RECORDS) == set(VALIDATIONS)


def test_table_of_checks_has_every_familys_in_order(folder):
    table = read_table(folder / "checks.csv")
    expected = [check for flow in VALIDATIONS for check in VALIDATIONS[flow].checks(RECORDS[flow])]
    assert list(table["check"]) == [check.check for check in expected]
    assert list(table["verdict"]) == [check.verdict for check in expected]
    assert list(table.columns)[3:5] == ["computed", "uncertainty"]


def test_table_of_the_nozzle_has_every_model(folder):
    table = read_table(folder / "nozzle.csv")
    sizes = {"estimate": 24, "laminar": 24, "turbulent": 24}
    assert table.groupby("model").size().to_dict() == sizes
    assert set(table["verdict"]) == {"pass"}


def test_figures_are_drawn(folder):
    names = {path.stem for path in (folder / "figures").glob("*.svg")}
    assert names == {"pipe-friction", "law-of-the-wall", "entry-losses", "widening",
                     "nozzle-benchmark", "nozzle-segments", "comparison-errors"}  # fmt: skip


def test_table_of_errors_has_every_pressure_compared_and_nothing_else(folder):
    table = read_table(folder / "errors.csv")
    assert list(table.columns) == [*COLUMNS, "stated_low", "stated_high", "verdict"]
    # two pipes, one step and three cones; four orifices and 18 segments
    by_kind = {"handbook": 2 + 4, "measurement": 4 + 18, "simulation": 3}
    assert table.groupby("kind").size().to_dict() == by_kind
    assert table["error"].to_numpy() == pytest.approx(
        (table["estimate"] - table["measured"]).to_numpy(), abs=2e-4
    )
    rows = read_comparisons((folder / "errors.csv").read_text(encoding="utf-8").splitlines())
    assert len(rows) == len(table)
    assert len({row.key for row in rows}) == len(rows)


def test_what_differs_from_the_shipped_errors_is_said(folder):
    lines = (folder / "differences.txt").read_text(encoding="utf-8").splitlines()
    # the made-up orifices have the measured drops, which the estimate does not
    assert any("long orifice, L/D 2" in line and "shipped" in line for line in lines)


def test_moved_places_stand_beside_what_the_derivative_foretells(folder):
    table = read_table(folder / "places.csv").set_index("place")
    farther = table.loc["1.4 of the rule"]
    assert farther["change"] == pytest.approx(0.75 - 0.70, abs=1e-6)
    assert farther["change_by_derivative"] == pytest.approx(0.1 * 0.336472, rel=1e-4)
    assert table.loc["rim plane", "change"] == pytest.approx(0.52 - 0.54)
