"""The study's mesh settings put to the test, as a table."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pandas as pd

from borestudy.results.check import Check
from borestudy.results.tables.files import CHECK_COLUMNS, CHECKS, read_table, write_table


def write_checks(checks: Sequence[Check], path: Path | str) -> None:
    """Write one row a check, each with their number, so that a lost row is seen."""
    rows = [{name: getattr(check, name) for name in CHECK_COLUMNS} for check in checks]
    table = pd.DataFrame(rows, columns=list(CHECK_COLUMNS))
    write_table(table.assign(**{CHECKS: len(rows)}), path)


def failures(path: Path | str) -> tuple[int, list[str]]:
    """Number of checks in a table, and a sentence for each that failed."""
    table = read_table(path)
    failed = table[table["verdict"] != "pass"]
    return len(table), [
        f"{row.check}, {row.quantity}: {row.source}"
        if np.isnan(float(str(row.computed)))
        else f"{row.check}, {row.quantity}: off by {row.deviation_percent:.3g} %, "
        f"allowed is {row.tolerance_percent:.3g} %"
        for row in failed.itertuples()
    ]
