"""The data of a figure as a table: what is drawn and nothing else, a case called by its words."""

from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd

from borestudy.report.figures.case import CaseView


def of_cases(cases: Sequence[CaseView], data: Sequence[Mapping[str, Any]]) -> pd.DataFrame:
    """One table of the columns of each case, which may be of any length, with the case's words."""
    tables = [
        pd.DataFrame({name: column for name, column in columns.items()}).assign(case=case.label)
        for case, columns in zip(cases, data, strict=True)
    ]
    found = pd.concat(tables, ignore_index=True)
    return found[["case", *found.columns.drop("case")]]


def columns_of(table: pd.DataFrame, names: Sequence[str], labels: Sequence[str]) -> pd.DataFrame:
    """The columns of these names that a table has, and uncertainties behind them.

    Rows are called by the words given, in the table's order.
    """
    wanted = [part for name in names for part in (name, f"{name}_uncertainty")]
    shown = table[[name for name in wanted if name in table]].reset_index(drop=True)
    shown.insert(0, "case", list(labels))
    return shown
