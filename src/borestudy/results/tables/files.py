"""Result tables as CSV files, written and read back alike, and those that files are put into."""

from collections.abc import Collection, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from borestudy.files import FileError, not_whole, refuse_damaged, replacing
from borestudy.quantity import Quantity
from borestudy.results.check import Check

#: A row of a table: the cells by the names of their columns.
Row = dict[str, float | str | bool | None]
#: Columns of text, which reading must leave as it is.
TEXT = (
    "case", "entry", "regime", "check", "quantity", "unit", "verdict", "source", "validity",
    "termination", "inlet", "solution", "note", "model_words", "wall", "part", "wall_resolution",
    "dimension", "dimension_label", "dimension_unit", "effect_unit", "above_noise", "method",
    "tolerance_unit", "hold_tighter_first", "formula", "reason", "where", "written",
    "tolerance_source", "cause", "cause_explained", "other_causes",
    "rule", "stage", "model", "level", "sound", "behind",
)  # fmt: skip
CHECK_COLUMNS = (
    "check", "quantity", "unit", "computed", "reference", "deviation_percent",
    "tolerance_percent", "verdict", "source",
)  # fmt: skip

#: Column of a file of checks that says in each row how many there are.
CHECKS = "checks_in_file"


def frame_of(rows: Sequence[Row]) -> pd.DataFrame:
    """A table in which a column without any number is still one of numbers."""
    table = pd.DataFrame(list(rows))
    empty = [name for name in table.columns if table[name].isna().all()]
    return table.astype(dict.fromkeys(empty, float))


def pair(column: str, found: Quantity | None, factor: float = 1.0) -> Row:
    """A figure and its uncertainty as two columns, empty where there is none."""
    error = None if found is None else found.uncertainty
    return {
        column: None if found is None else factor * found.value,
        f"{column}_uncertainty": None if error is None else factor * error,
    }


def join_impedances(paths: Sequence[Path | str], points: int | None = None) -> pd.DataFrame:
    """All cases' impedance curves below one another, each of so many frequencies."""
    if not paths:
        return pd.DataFrame()
    return pd.concat([read_rows(path, points) for path in paths], ignore_index=True)


def read_rows(path: Path | str, count: int | None = None) -> pd.DataFrame:
    """A result table that has so many rows.

    Raises
    ------
    FileError
        If it has another number, as one that was cut at the end of a line.
    """
    table = read_table(path)
    if count is not None and len(table) != count:
        raise FileError(not_whole(path, f"{len(table)} of {count} rows"))
    return table


def verification_table(
    checks: Sequence[Check | Path | str], unmeshed: Sequence[tuple[str, str, str]] = ()
) -> pd.DataFrame:
    """One row a check, from checks or from the files that hold them, and one a missing solution.

    ``unmeshed`` is case, what it has no solution for, and why; such a row fails without a number.
    """
    frames = [
        pd.DataFrame([{name: getattr(check, name) for name in CHECK_COLUMNS}])
        if isinstance(check, Check)
        else _read_checks(check)
        for check in checks
    ]
    if unmeshed:
        frames.append(pd.DataFrame([_unmeshed_row(*each) for each in unmeshed]))
    if not frames:
        return pd.DataFrame(columns=list(CHECK_COLUMNS))
    return pd.concat(frames, ignore_index=True)[list(CHECK_COLUMNS)]


def _read_checks(path: Path | str) -> pd.DataFrame:
    """A file of checks, all of them where it says how many there are."""
    table = read_table(path)
    if CHECKS in table and set(table[CHECKS]) != {len(table)}:
        raise FileError(not_whole(path, f"{len(table)} checks are left"))
    return table


#: Begins the quantity of a row for a case without a solution, which is no check that failed.
SOLUTION_FOR = "solution for "


def _unmeshed_row(case: str, physics: str, reason: str) -> Row:
    row: Row = {**dict.fromkeys(CHECK_COLUMNS, np.nan), "unit": "", "verdict": "fail"}
    return row | {"check": f"case {case}", "quantity": f"{SOLUTION_FOR}{physics}", "source": reason}


def write_table(table: pd.DataFrame, path: Path | str, float_format: str | None = None) -> None:
    """Write a table as CSV; :func:`read_table` reads the same table back.

    A file with letters beyond ASCII begins with a byte order mark: without it a spreadsheet takes
    them for others.
    """
    text = table.to_csv(index=False, float_format=float_format)
    with replacing(path) as unfinished:
        unfinished.write_text(text, encoding="utf-8" if text.isascii() else "utf-8-sig", newline="")


def is_text(column: str) -> bool:
    """Whether a column of a result table is one of texts."""
    return column in TEXT or column.endswith("_verdict")


def read_table(path: Path | str) -> pd.DataFrame:
    """Read a result table: numbers to the last digit, words as words, empty numbers as NaN.

    Raises
    ------
    FileError
        If the file is missing or not whole.
    """
    refuse_damaged(path)
    try:
        header = list(pd.read_csv(path, nrows=0).columns)
    except pd.errors.EmptyDataError:  # a table without a row has no columns either
        return pd.DataFrame()
    return pd.read_csv(path, **columns_as_written(header, header))


def columns_as_written(header: Collection[str], wanted: Collection[str]) -> dict[str, Any]:
    """How pandas reads some of a table's columns: words as words, and empty numbers as NaN."""
    words = [name for name in wanted if is_text(name)]
    # a case called "nan" or "27" is a name all the same, and an empty unit is a text
    return {
        "dtype": dict.fromkeys(words, str),
        "keep_default_na": False,
        "na_values": {name: [""] for name in header if name not in words},
    }
