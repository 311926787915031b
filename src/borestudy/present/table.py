"""A result table made readable: value and uncertainty in one cell, units in the header."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from .numbers import (
    NO_VALUE,
    NOT_CONVERGED,
    is_missing,
    name_of,
    plain,
    significant,
    split_unit,
    with_uncertainty,
)

UNCERTAINTY = "_uncertainty"
#: Units that are unwieldy as the files store them: printed unit and the factor to it.
PRINTED = {"Pa·s/m³": ("MPa·s/m³", 1e-6)}
ROW_LIMIT = 300


@dataclass(frozen=True)
class Cell:
    """One table cell: its text, and a word for how it looks ('number', 'bad', 'good' or '')."""

    text: str
    look: str = ""


@dataclass(frozen=True)
class Table:
    """A table ready to be printed. `note` says what was left out, '' if nothing."""

    caption: str
    columns: Sequence[Cell]
    rows: Sequence[Sequence[Cell]]
    note: str = ""


def build_table(
    frame: pd.DataFrame,
    caption: str,
    *,
    columns: Sequence[str] = (),
    digits: int = 4,
    unsolved: Callable[[Mapping[str, Any], str], str] = lambda row, column: "",
    look: Callable[[Mapping[str, Any]], str] = lambda row: "",
    file_name: str = "",
) -> Table:
    """Turn a result table into cells.

    A column that has an `…_uncertainty` beside it is written 'value ± uncertainty'; a pair
    `…_low_…`, `…_high_…` becomes one column 'low to high'. Where `unsolved` has words for it, a
    cell reads these whatever the file holds.

    Parameters
    ----------
    frame : DataFrame
        One row a table row; columns named as in the result files.
    caption : str
        What the table shows.
    columns : sequence of str
        The columns to print; all by default.
    digits : int
        Significant digits of numbers without an uncertainty.
    unsolved : callable of (row, column name)
        Why a cell has no number though it might have one, '' where it has.
    look : callable of row
        A word for the whole row, given to its text cells.
    file_name : str
        Where the rest is to be found, if the table is too long to print.
    """
    fields = _fields(list(columns) or list(frame.columns))
    cells = []
    for row in records(frame.head(ROW_LIMIT)):
        cells.append([_cell(row, field, unsolved, look(row), digits) for field in fields])
    header = [Cell(_header(field), "" if _is_text(frame, field) else "number") for field in fields]
    note = ""
    if len(frame) > ROW_LIMIT:
        where = f"; all are in {file_name}" if file_name else ""
        note = f"The first {ROW_LIMIT} of {len(frame)} rows{where}."
    return Table(caption, header, cells, note)


def chosen(columns: Sequence[str], names: Sequence[str]) -> list[str]:
    """The columns of that name, with their uncertainties; a name ending in * is a beginning."""
    wanted = []
    for name in names:
        for column in columns:
            stem = column.removesuffix(UNCERTAINTY)
            if stem == name or (name.endswith("*") and stem.startswith(name[:-1])):
                wanted.append(column)
    return wanted


def records(frame: pd.DataFrame) -> list[dict[str, Any]]:
    """The rows of a table, each by column name."""
    return [{str(name): value for name, value in row.items()} for row in frame.to_dict("records")]


def _fields(columns: list[str]) -> list[tuple[str, ...]]:
    """Group columns: (value,), (value, uncertainty) or (low, high)."""
    fields: list[tuple[str, ...]] = []
    for column in columns:
        high = column.replace("_low_", "_high_")
        if column.endswith(UNCERTAINTY) and column.removesuffix(UNCERTAINTY) in columns:
            continue
        if "_high_" in column and column.replace("_high_", "_low_") in columns:
            continue
        if high != column and high in columns:
            fields.append((column, high))
        elif column + UNCERTAINTY in columns:
            fields.append((column, column + UNCERTAINTY))
        else:
            fields.append((column,))
    return fields


def _is_span(field: tuple[str, ...]) -> bool:
    return len(field) == 2 and not field[1].endswith(UNCERTAINTY)


def _header(field: tuple[str, ...]) -> str:
    unit = split_unit(field[0])[1]
    unit = PRINTED.get(unit, (unit, 1.0))[0]
    name = name_of(field[0])
    if _is_span(field):
        name = name_of(field[0].replace("_low_", "_")) + ", low to high"
    return f"{name}, {unit}" if unit else name


def _is_text(frame: pd.DataFrame, field: tuple[str, ...]) -> bool:
    return not pd.api.types.is_numeric_dtype(frame[field[0]]) or frame[field[0]].dtype == bool


def _cell(
    row: Mapping[str, Any],
    field: tuple[str, ...],
    unsolved: Callable[[Mapping[str, Any], str], str],
    look: str,
    digits: int,
) -> Cell:
    words = unsolved(row, field[0])
    if words:
        return Cell(words, "number bad" if words == NOT_CONVERGED else "missing")
    value = row[field[0]]
    if isinstance(value, (str, bool)):
        return Cell(plain(value), look)
    if is_missing(value):
        return Cell(NO_VALUE, "missing")
    factor = PRINTED.get(split_unit(field[0])[1], ("", 1.0))[1]
    scaled = [None if is_missing(row[name]) else factor * float(row[name]) for name in field]
    if _is_span(field):
        # the change at a span's low end may well be the greater one
        known = sorted(end for end in scaled if end is not None)
        ends = [significant(end, 3) for end in known] + [NO_VALUE] * (2 - len(known))
        return Cell(ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}", "number")
    if len(field) == 2:
        return Cell(with_uncertainty(*scaled), "number")
    return Cell(plain(scaled[0], digits), "number")


def rows_table(rows: Sequence[Mapping[str, Any]], caption: str) -> Table | None:
    """Turn a list of dicts into a table, None if there is nothing in it."""
    return build_table(pd.DataFrame(list(rows)), caption) if rows else None
