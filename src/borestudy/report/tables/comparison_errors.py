"""The best estimate against measurements, in a table of a row a part and in one of all rows."""

import pandas as pd

from borestudy.report.captions import text
from borestudy.report.tables.layout import Table, build_table, chosen
from borestudy.results.comparison_errors import KINDS, PARTS
from borestudy.rounding import significant

#: Columns of the table of all rows.
EVERY = ("flow", "part", "kind", "throat_reynolds", "estimate", "measured", "error")


def printed_comparison_errors(rows: pd.DataFrame) -> Table:
    """One row a part and what it is compared with: how many, at which rates, and how far apart."""
    table = pd.DataFrame(
        [
            {
                "part": part,
                "kind": kind,
                "throat_reynolds": _between(group["throat_reynolds"], 3),
                "comparisons": len(group),
                "within_uncertainty": int(
                    (group["error"].abs() <= group["validation_uncertainty"]).sum()
                ),
                "error": _between(group["error"].round(3), 2),
            }
            for part in PARTS
            for kind in KINDS
            if len(group := rows[(rows["part"] == part) & (rows["kind"] == kind)])
        ]
    )
    return build_table(table, text("tables", "comparison_errors"))


def printed_every_comparison(rows: pd.DataFrame) -> Table:
    """Every comparison."""
    table = rows.rename(columns={"validation_uncertainty": "error_uncertainty"})
    wanted = chosen(table, EVERY)
    return build_table(
        table,
        text("tables", "all_comparison_errors"),
        columns=wanted,
        file_name="comparison_errors.csv",
    )


def _between(values: pd.Series, digits: int) -> str:
    """The least and the greatest of some numbers."""
    ends = dict.fromkeys(significant(float(end), digits) for end in (values.min(), values.max()))
    return " to ".join(ends)
