"""The table of checks, and what failed of them in words."""

import pandas as pd

from borestudy.report.captions import text
from borestudy.report.tables.layout import Row, Table, build_table
from borestudy.results.tables.files import MESH_FOR
from borestudy.rounding import NO_VALUE, is_missing, significant

PASSED = ("pass", "passed", "ok")


def has_passed(row: Row) -> bool:
    """Tell whether a verification row passed; one without a clear verdict has not."""
    return str(row.get("verdict", "")).strip().lower() in PASSED


def printed_verification(verification: pd.DataFrame) -> Table:
    """The table of checks, failed ones marked."""
    table = verification.copy()
    if "deviation_percent" in table:
        table["deviation_percent"] = [
            NO_VALUE if is_missing(value) else significant(float(value), 2)
            for value in table["deviation_percent"]
        ]
    if "unit" in table:
        table["unit"] = ["–" if is_missing(unit) else unit for unit in table["unit"]]
    return build_table(
        table,
        text("tables", "verification"),
        digits=7,
        look=lambda row: "" if has_passed(row) else "bad",
        file_name="verification.csv",
    )


def not_passed(verification: pd.DataFrame) -> tuple[list[str], list[str]]:
    """What failed of the checks, and which cases have no mesh for what, both in words."""
    failed: list[str] = []
    unmeshed: list[str] = []
    for row in verification.to_dict("records"):
        if not has_passed(row):
            quantity = str(row.get("quantity", ""))
            words = f"{row.get('check', 'unnamed check')}: {quantity}".rstrip(": ")
            (unmeshed if quantity.startswith(MESH_FOR) else failed).append(words)
    return failed, unmeshed
