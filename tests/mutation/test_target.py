"""The mutation target's lists are about modules, tests and lines that exist."""

import csv
import tomllib
from pathlib import Path

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
SOURCES = ROOT / "src" / "borestudy"


def modules() -> dict[str, str]:
    return tomllib.loads((HERE / "modules.toml").read_text(encoding="utf-8"))["modules"]


def test_every_module_and_every_test_file_named_is_there() -> None:
    for module, tests in modules().items():
        assert (SOURCES / module).is_file()
        assert tests.split() == [name for name in tests.split() if (ROOT / name).is_file()]


def test_every_closed_form_is_mutated() -> None:
    """They are what the rest is checked with."""
    forms = {f"closed_form/{path.name}" for path in SOURCES.glob("closed_form/[!_]*.py")}
    assert forms <= set(modules())


def test_every_accepted_survivor_has_a_reason_and_its_line_still_stands_in_the_module() -> None:
    with (HERE / "accepted.csv").open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    for row in rows:
        text = (SOURCES / row["module"]).read_text(encoding="utf-8")
        lines = " ".join(line.strip() for line in text.splitlines())
        assert row["before"] in lines
        assert row["reason"]
