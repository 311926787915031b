"""A result table made readable: value and uncertainty in one cell, units in the header."""

import itertools
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from borestudy.drawing.lettering import POINTS_PER_MM, text_width_mm
from borestudy.report.tables.numbers import (
    NO_VALUE,
    NOT_CONVERGED,
    NOT_MESHED,
    is_missing,
    name_of,
    plain,
    quantity_of,
    significant,
    split_unit,
    with_uncertainty,
)

UNCERTAINTY = "_uncertainty"
#: Units that are unwieldy as the files store them: printed unit and the factor to it.
PRINTED = {"Pa·s/m³": ("MPa·s/m³", 1e-6)}
ROW_LIMIT = 300
#: Widths up to which a table stands on a page of the named size [rem]: a telephone held upright,
#: half a screen or a printed page, a screen.  In less, and if it is the widest, a row is a list.
SIZES = {"narrow": 21.5, "medium": 46.0, "wide": 59.0}
#: Height of the letters and a column's margins [rem], as in report.css.
LETTERS, PADDING = 0.85, 1.0
#: As many of a column's longest words are measured.
MEASURED = 3


@dataclass(frozen=True)
class Cell:
    """One table cell: its text, and a word for how it looks ('number', 'bad', 'good' or '')."""

    text: str
    look: str = ""


@dataclass(frozen=True)
class Table:
    """A table ready to be printed. `note` says what was left out, '' if nothing.

    `groups` are headings above the columns, each with how many columns it stands over; none where
    the columns need none.
    """

    caption: str
    columns: Sequence[Cell]
    rows: Sequence[Sequence[Cell]]
    note: str = ""
    groups: Sequence[tuple[str, int]] = ()

    @property
    def labels(self) -> list[str]:
        """What each cell of a row is, where it stands without the table's head."""
        above = [name for name, count in self.groups for _ in range(count)]
        names = above or [""] * len(self.columns)
        return [
            f"{name}: {column.text[:1].lower()}{column.text[1:]}" if name else column.text
            for name, column in zip(names, self.columns, strict=True)
        ]

    @property
    def size(self) -> str:
        """How wide the page must be for the table, in a word; see `SIZES`."""
        return _size(least_width(self))

    @property
    def even(self) -> str:
        """How wide the page must be for every number to have its uncertainty on its line."""
        return _size(least_width(self, even=True))


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
    header = [Cell(_header(field), "" if _is_text(frame, field) else "number") for field in fields]
    cells = []
    for row in records(frame.head(ROW_LIMIT)):
        line = [_cell(row, field, unsolved, look(row), digits) for field in fields]
        cells.append([_under(head, cell) for head, cell in zip(header, line, strict=True)])
    note = ""
    if len(frame) > ROW_LIMIT:
        where = f"; all are in {file_name}" if file_name else ""
        note = f"The first {ROW_LIMIT} of {len(frame)} rows{where}."
    return Table(caption, header, cells, note, _groups(fields))


def _under(head: Cell, cell: Cell) -> Cell:
    """A cell aligned as its column is: a word in place of a number stands where that would."""
    if head.look == "number" and cell.look == "missing":
        return Cell(cell.text, "number missing")
    return cell


def _groups(fields: Sequence[tuple[str, ...]]) -> list[tuple[str, int]]:
    """Headings over the columns where changes of more than one quantity stand in a table."""
    names = [quantity_of(field[0]) for field in fields]
    if len(set(names) - {""}) < 2:
        return []
    return [(name, len(list(run))) for name, run in itertools.groupby(names)]


def _size(width: float) -> str:
    return next((word for word, limit in SIZES.items() if width <= limit), "widest")


def least_width(table: Table, *, even: bool = False) -> float:
    """The narrowest the table can be without breaking a word or a number [rem].

    A number may stand above its uncertainty, unless the lines are to be even.
    """
    width = 0.0
    for place, head in enumerate(table.columns):
        below = (part for row in table.rows for part in _parts(row[place], even))
        bold = [*_parts(head, False), *(below if place == 0 else ())]
        width += PADDING + LETTERS * max(_widest(bold, "bold"), _widest(below, "normal"))
    return width


def _widest(parts: Iterable[str], weight: str) -> float:
    """Width of the widest of some words over the height of their letters."""
    longest = sorted(set(parts), key=len)[-MEASURED:]
    return max((text_width_mm(part, 1.0, weight) * POINTS_PER_MM for part in longest), default=0.0)


def _parts(cell: Cell, even: bool) -> list[str]:
    """A cell's text, broken wherever it may be."""
    text = unbroken(cell.text)
    return [text] if even and "number" in cell.look else re.split(r" |(?<=_)", text)


def unbroken(text: str) -> str:
    """A cell's text with spaces that do not break between a sign or a number and its unit."""
    text = text.replace("± ", "±\u00a0").replace(" × ", "\u00a0×\u00a0")
    return re.sub(r"(?<=\d) (?=(?:mm|cm|in|Hz|Pa|L/s|°C|%|K)(?![A-Za-z]))", "\u00a0", text)


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
        return Cell(words, "number bad" if words in (NOT_CONVERGED, NOT_MESHED) else "missing")
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
