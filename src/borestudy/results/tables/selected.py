"""Some columns, or some cases' rows, of a table that may be too large to be read whole."""

from collections.abc import Collection, Sequence
from pathlib import Path

import pandas as pd

from borestudy.files import FileError, not_whole, refuse_damaged
from borestudy.results.tables.files import columns_as_written, is_text, read_table

#: Endings of a table's file, the one that is read first where both are there.
ENDINGS = (".parquet", ".csv")
#: Rows that are looked through at a time.
ROWS = 100_000


def table_file(folder: Path, name: str) -> Path:
    """The file of a table in a folder of results, which may be there in either format."""
    paths = [folder / f"{name}{ending}" for ending in ENDINGS]
    return next((path for path in paths if path.is_file()), paths[-1])


def read_columns(path: Path, columns: Sequence[str]) -> pd.DataFrame:
    """Those of some columns that a table has, in the order asked for.

    Parameters
    ----------
    path : path
        A table as CSV or Parquet.
    columns : sequence of str
        Names of columns; a name that ends in ``*`` is a beginning.

    Raises
    ------
    FileError
        If the file is missing or damaged.
    """
    names = _names(path)
    wanted = dict.fromkeys(
        name
        for asked in columns
        for name in names
        if name == asked or (asked.endswith("*") and name.startswith(asked[:-1]))
    )
    if not wanted:
        return pd.DataFrame()
    if path.suffix == ".parquet":
        return _as_in_csv(pd.read_parquet(path, columns=list(wanted)))
    found = pd.read_csv(path, usecols=list(wanted), **columns_as_written(names, wanted))
    return found[list(wanted)]


def read_all(path: Path, count: int) -> pd.DataFrame:
    """All of a table in Parquet that has so many rows.

    Raises
    ------
    FileError
        If the file is missing or damaged, or has another number of rows.
    """
    table = read_columns(path, ["*"])
    if len(table) != count:
        raise FileError(not_whole(path, f"{len(table)} of {count} rows"))
    return table


def read_cases(path: Path, cases: Collection[str]) -> pd.DataFrame:
    """The rows of some cases, in the table's order.

    Parameters
    ----------
    path : path
        A table as CSV or Parquet with a column ``case``, the rows of each case together.
    cases : collection of str
        The cases' names.

    Raises
    ------
    FileError
        If the file is missing or damaged.
    """
    names = _names(path)
    if "case" not in names:
        return pd.DataFrame(columns=names)
    if path.suffix == ".parquet":
        return _as_in_csv(pd.read_parquet(path, filters=[("case", "in", list(cases))]))
    kept, left = [], set(cases)
    with pd.read_csv(path, chunksize=ROWS, **columns_as_written(names, names)) as parts:
        for part in parts:
            kept.append(part[part["case"].isin(cases)])
            # a case whose rows end before the last row here has no more of them
            left -= set(kept[-1]["case"]) - {part["case"].iloc[-1]}
            if not left:
                break
    return pd.concat(kept, ignore_index=True) if kept else read_table(path)


def _as_in_csv(table: pd.DataFrame) -> pd.DataFrame:
    """A table from Parquet with texts as `read_table` reads them, empty where there is none."""
    return table.fillna({name: "" for name in map(str, table.columns) if is_text(name)})


def _names(path: Path) -> list[str]:
    """The columns of a table."""
    refuse_damaged(path)
    if path.suffix == ".parquet":
        from pyarrow import parquet

        return list(parquet.read_schema(path).names)
    try:
        return list(pd.read_csv(path, nrows=0).columns)
    except pd.errors.EmptyDataError:  # a table without a row has no columns either
        return []
