"""The table of checks, and what failed of them in words."""

import pandas as pd

from borestudy.report.captions import text
from borestudy.report.tables.layout import Cell, Row, Table, build_table
from borestudy.results.tables.files import SOLUTION_FOR
from borestudy.rounding import NO_VALUE, is_missing, significant

#: Heads of the summary, and how they look.
SUMMARY = (
    ("What was solved", ""), ("Checks", "number"), ("Largest deviation", "number"),
    ("Allowed", "number"), ("Verdict", ""),
)  # fmt: skip
PASSED = ("pass", "passed", "ok")


def has_passed(row: Row) -> bool:
    """Tell whether a verification row passed; one without a clear verdict has not."""
    return str(row.get("verdict", "")).strip().lower() in PASSED


def failed_rows(verification: pd.DataFrame) -> pd.DataFrame:
    """The rows that have not passed."""
    passed = [has_passed(row) for row in verification.to_dict("records")]
    return verification[[not one for one in passed]]


def printed_failed(failed: pd.DataFrame) -> Table:
    """The table of the checks that failed, in full."""
    return printed_verification(failed, "failed")


def printed_verification(verification: pd.DataFrame, caption: str = "verification") -> Table:
    """The table of checks, failed ones marked, under a caption by its name."""
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
        text("tables", caption),
        digits=7,
        look=lambda row: "" if has_passed(row) else "bad",
        file_name="verification.csv",
    )


def printed_summary(verification: pd.DataFrame) -> Table:
    """One row a field that was solved: its checks, the nearest to its tolerance, and the failed."""
    rows = []
    for name, group in verification.groupby("check", sort=False, dropna=False):
        checks = group.to_dict("records")
        known = [row for row in checks if not is_missing(_share(row))]
        worst = max(known, key=_share, default=None)
        lost = [row for row in checks if not has_passed(row)]
        verdict = f"{len(lost)} failed" if lost else "pass"
        rows.append(
            [
                Cell(str(name)),
                Cell(str(len(checks)), "number"),
                *(
                    [Cell(NO_VALUE, "missing")] * 2
                    if worst is None
                    else [
                        Cell(f"{significant(float(worst['deviation_percent']), 2)} %", "number"),
                        Cell(f"{significant(float(worst['tolerance_percent']), 2)} %", "number"),
                    ]
                ),
                Cell(verdict, "bad" if lost else "good"),
            ]
        )
    return Table(text("tables", "checks"), [Cell(head, look) for head, look in SUMMARY], rows)


def told_checks(verification: pd.DataFrame) -> str:
    """Say in a sentence how many checks passed, and which came nearest to its tolerance."""
    checks = verification.to_dict("records")
    passed = [row for row in checks if has_passed(row)]
    known = [row for row in checks if not is_missing(_share(row))]
    if not known:
        return ""
    worst = max(known, key=_share)
    sizes = ("deviation_percent", "tolerance_percent")
    off, allowed = (significant(abs(float(worst[name])), 2) for name in sizes)
    words = f"{worst.get('check', '')}: {worst.get('quantity', '')}"
    return text(
        "tables", "told_checks", passed=len(passed), count=len(checks), off=off, allowed=allowed,
        worst=words,
    )  # fmt: skip


def _share(row: Row) -> float:
    """How much of its tolerance a check's deviation takes."""
    try:
        return abs(float(row["deviation_percent"])) / float(row["tolerance_percent"])
    except (KeyError, TypeError, ValueError, ZeroDivisionError):
        return float("nan")


def not_passed(verification: pd.DataFrame) -> tuple[list[str], list[str]]:
    """What failed of the checks, and which cases have no solution for what, both in words."""
    failed: list[str] = []
    unmeshed: list[str] = []
    for row in verification.to_dict("records"):
        if not has_passed(row):
            quantity = str(row.get("quantity", ""))
            words = f"{row.get('check', 'unnamed check')}: {quantity}".rstrip(": ")
            (unmeshed if quantity.startswith(SOLUTION_FOR) else failed).append(words)
    return failed, unmeshed
