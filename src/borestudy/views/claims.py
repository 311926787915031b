"""The claims of a text, judged: how many agree, and why the others do not."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class JudgedClaims:
    """Judged claims.

    Attributes
    ----------
    table : DataFrame
        As ``claims.csv``: a row a claim.
    labels : mapping of str to str
        Words for each case by its name.
    """

    table: "pd.DataFrame"
    labels: Mapping[str, str] = field(default_factory=dict)

    def to_frame(self) -> "pd.DataFrame":
        """The columns of ``claims.csv``: a row a claim."""
        return self.table

    def lines(self) -> list[str]:
        """What people read: how many agree, then a line a claim."""
        from borestudy.report.claims import AGREES, page_row, sentence, summary

        rows = [page_row(row, self.labels) for row in self.table.to_dict("records")]
        told = [f"  {row['verdict']}: {sentence(row)}" for row in rows if row["verdict"] != AGREES]
        agree = [
            f"  {AGREES}: {row['where']}: {row['quantity']}, {row['case']}: {row['claimed']}"
            for row in rows
            if row["verdict"] == AGREES
        ]
        return [summary(self.table), *told, *agree]
