"""All families of flows become two tables and the figures, without solving anything again."""

import pytest

from borestudy.records import write_record
from borestudy.results.check import Check
from borestudy.results.tables.files import read_table
from borestudy.stages.validation import compare_validation
from borestudy.validation import VALIDATIONS
from borestudy.validation.bores import BoreChecks

from .made import ENTRIES, PIPE, WIDENINGS, made_flow

IDENTITY = Check("mass flux", "1 + greatest error", "1", 1.0, 1.0, 0.01, "identity")
RECORDS = {
    "pipe": PIPE,
    "entry": ENTRIES,
    "widening": WIDENINGS,
    "nozzle-laminar": made_flow(),
    "nozzle-turbulent": made_flow(model="turbulent"),
    "bores": BoreChecks((IDENTITY,)),
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("validation")
    paths = {flow: folder / f"{flow}.json" for flow in RECORDS}
    for flow, path in paths.items():
        write_record(path, RECORDS[flow])
    compare_validation(paths, folder / "checks.csv", folder / "nozzle.csv", folder / "figures")
    return folder


def test_every_family_has_a_made_up_record():
    assert set(RECORDS) == set(VALIDATIONS)


def test_table_of_checks_has_every_familys_in_order(folder):
    table = read_table(folder / "checks.csv")
    expected = [check for flow in VALIDATIONS for check in VALIDATIONS[flow].checks(RECORDS[flow])]
    assert list(table["check"]) == [check.check for check in expected]
    assert list(table["verdict"]) == [check.verdict for check in expected]
    assert list(table.columns)[3:5] == ["computed", "uncertainty"]


def test_table_of_the_nozzle_has_both_models(folder):
    table = read_table(folder / "nozzle.csv")
    assert table.groupby("model").size().to_dict() == {"laminar": 24, "turbulent": 24}
    assert set(table["verdict"]) == {"pass"}


def test_six_figures_are_drawn(folder):
    names = {path.stem for path in (folder / "figures").glob("*.svg")}
    assert names == {"pipe-friction", "law-of-the-wall", "entry-losses", "widening",
                     "nozzle-benchmark", "nozzle-segments"}  # fmt: skip
