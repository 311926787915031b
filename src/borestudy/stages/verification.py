"""The study's mesh settings put to the test, as a table."""

from collections.abc import Sequence
from pathlib import Path

import pandas as pd

from borestudy.compare.check import Check

COLUMNS = ("check", "quantity", "unit", "computed", "reference", "deviation_percent",
           "tolerance_percent", "verdict", "source")  # fmt: skip


def write_checks(checks: Sequence[Check], path: Path | str) -> None:
    """Write one row a check."""
    rows = [{name: getattr(check, name) for name in COLUMNS} for check in checks]
    pd.DataFrame(rows, columns=list(COLUMNS)).to_csv(path, index=False)


def failures(path: Path | str) -> tuple[int, list[str]]:
    """Number of checks in a table, and a sentence for each that failed."""
    table = pd.read_csv(path)
    failed = table[table["verdict"] != "pass"]
    return len(table), [
        f"{row.check}, {row.quantity}: off by {row.deviation_percent:.3g} %, "
        f"allowed is {row.tolerance_percent:.3g} %"
        for row in failed.itertuples()
    ]
