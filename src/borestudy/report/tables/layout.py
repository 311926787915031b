"""A result table made readable: value and uncertainty in one cell, units in the header."""

import itertools
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from borestudy.drawing.lettering import POINTS_PER_MM, text_width_mm
from borestudy.report import labels
from borestudy.report.sources import Source
from borestudy.rounding import (
    NO_VALUE,
    is_missing,
    significant,
    with_both_errors,
    with_uncertainty,
)

#: A row of a table, by the names of its columns.
Row = Mapping[Any, Any]

UNCERTAINTY, MODEL_ERROR = "_uncertainty", "_model_error_"
#: Of a measured bore: what the errors of its stations make of a figure.
MEASUREMENT = "_measurement_uncertainty"
#: Units that are unwieldy as the files store them: printed unit and the factor to it.
PRINTED = {"Pa·s/m³": ("MPa·s/m³", 1e-6)}
ROW_LIMIT = 300
#: As many rows of a table are printed on paper.
PAPER_ROWS = 24
#: More rows than this of a narrow table are printed in two columns of the page.
HALVED_FROM = 8
#: As many letters at the beginning of a row are kept in one line on paper.
KEPT_LETTERS = 24
#: Widths up to which a table stands on a page of the named size [rem]: a telephone held upright,
#: half a screen or a printed page, a screen.  In less, and if it is the widest, a row is a list.
SIZES = {"narrow": 21.5, "medium": 46.0, "wide": 59.0}
#: Height of the letters and a column's margins [rem], as in report.css.
LETTERS, PADDING = 0.85, 1.0
#: What stands behind a column's name where a table can be sorted.
SORTED = "\u00a0↕"
#: As many of a column's longest words are measured.
MEASURED = 3


@dataclass(frozen=True)
class Cell:
    """One table cell: its text, and a word for how it looks ('number', 'bad', 'good' or '')."""

    text: str
    look: str = ""

    def parts(self, even: bool = False) -> list[str]:
        """The text, broken wherever it may be; a number not within itself where that is even."""
        text = unbroken(self.text)
        return [text] if even and "number" in self.look else re.split(r" |(?<=_)", text)


@dataclass(frozen=True)
class Table:
    """A table ready to be printed. `note` says what was left out, '' if nothing.

    `groups` are headings above the columns, each with how many columns it stands over; none where
    the columns need none.  `source` says where its numbers are as a file, how they were computed
    and what checked them.
    """

    caption: str
    columns: Sequence[Cell]
    rows: Sequence[Sequence[Cell]]
    note: str = ""
    groups: Sequence[tuple[str, int]] = ()
    source: Source | None = None

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
    def is_kept(self) -> bool:
        """Whether the words that begin each row are short enough to stay in one line on paper."""
        return all(len(row[0].text) <= KEPT_LETTERS for row in self.rows)

    @property
    def is_halved(self) -> bool:
        """Whether it is narrow and long enough to be printed in two columns of the page."""
        return self.size(even=True) == "narrow" and len(self.rows) > HALVED_FROM

    @property
    def paper_rows(self) -> int:
        """As many rows are printed on paper; the file has the rest."""
        return PAPER_ROWS

    def size(self, even: bool = False) -> str:
        """How wide the page must be for the table, in a word of `SIZES`.

        No word or number is broken.  A number may stand above its uncertainty, unless the lines
        are to be even.
        """
        width = 0.0  # rem
        for place, head in enumerate(self.columns):
            below = [part for row in self.rows for part in row[place].parts(even)]
            *words, last = head.parts()
            bold = [*words, f"{last}{SORTED}", *(below if place == 0 else ())]
            width += PADDING + LETTERS * max(_widest(bold, "bold"), _widest(below, "normal"))
        return next((word for word, limit in SIZES.items() if width <= limit), "widest")


@dataclass(frozen=True)
class _Field:
    """Columns that share a cell: a value alone, with its uncertainty, or the ends of a span.

    A value may have a model error as well: how far below and how far above it the truth may lie;
    and what the errors of a measured bore's stations make of it.
    """

    column: str
    uncertainty: str = ""
    high: str = ""
    model: tuple[str, ...] = ()
    measurement: str = ""

    @property
    def unit(self) -> tuple[str, float]:
        """The printed unit, and the factor to it."""
        unit = labels.split_unit(self.column)[1]
        return PRINTED.get(unit, (unit, 1.0))

    @property
    def header(self) -> str:
        """The column's name with its unit."""
        name, unit = labels.name_of(self.column), self.unit[0]
        if self.high:
            name = labels.name_of(self.column.replace("_low_", "_")) + ", low to high"
        signs = " ± model error" * bool(self.model) + " ± measurement" * bool(self.measurement)
        signs = f" ± numerical{signs}" if signs else ""
        return f"{name}, {unit}{signs}" if unit else f"{name}{signs}"

    def cell(self, row: Row, look: str, digits: int) -> Cell:
        """The field's cell of a row."""
        value = row[self.column]
        if isinstance(value, (str, bool)):
            return Cell(labels.plain(value), look)
        if is_missing(value):
            return Cell(NO_VALUE, "missing")
        scaled, other = (
            None if not name or is_missing(row[name]) else self.unit[1] * float(row[name])
            for name in (self.column, self.uncertainty or self.high)
        )
        if self.high:
            # the change at a span's low end may well be the greater one
            known = sorted(end for end in (scaled, other) if end is not None)
            ends = [significant(end, 3) for end in known] + [NO_VALUE] * (2 - len(known))
            return Cell(ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}", "number")
        if self.model:
            sides = [
                None if is_missing(row[side]) else self.unit[1] * row[side] for side in self.model
            ]
            return Cell(with_both_errors(scaled, other, *sides) + self._measured(row), "number")
        if self.uncertainty:
            return Cell(with_uncertainty(scaled, other) + self._measured(row), "number")
        return Cell(labels.plain(scaled, digits), "number")

    def _measured(self, row: Row) -> str:
        """What the errors of the stations make of the value, where the bore was measured."""
        if not self.measurement:
            return ""
        size = row[self.measurement]
        known = "unknown" if is_missing(size) else significant(self.unit[1] * float(size), 2)
        return f" ± {known}"


def build_table(
    frame: pd.DataFrame,
    caption: str,
    *,
    columns: Sequence[str] = (),
    digits: int = 4,
    unsolved: Callable[[Row, str], str] = lambda row, column: "",
    look: Callable[[Row], str] = lambda row: "",
    file_name: str = "",
) -> Table:
    """Make a result table into cells.

    A column that has an `…_uncertainty` beside it is written 'value ± uncertainty', with a pair
    `…_model_error_low_…`, `…_model_error_high_…` as well 'value ± numerical ± model error'; a pair
    `…_low_…`, `…_high_…` of its own becomes one column 'low to high'.  Numbers without an
    uncertainty have that many digits.  Where `unsolved` has words for a row and a column, the cell
    reads these whatever the file holds; `look` gives the text cells of a row their look, and
    `file_name` says where the rest is of a table too long to print.
    """
    fields = _fields(list(columns) or list(frame.columns))
    numeric = [
        pd.api.types.is_numeric_dtype(frame[of.column]) and frame[of.column].dtype != bool
        for of in fields
    ]
    header = [
        Cell(of.header, "number" * aligned) for of, aligned in zip(fields, numeric, strict=True)
    ]
    cells = []
    for row in frame.head(ROW_LIMIT).to_dict("records"):
        line = []
        for of, head in zip(fields, header, strict=True):
            words = unsolved(row, of.column)
            lost = "number bad" if words in (labels.NOT_CONVERGED, labels.NOT_MESHED) else "missing"
            cell = Cell(words, lost) if words else of.cell(row, look(row), digits)
            # a word in place of a number stands where that would
            aligned = head.look == "number" and cell.look == "missing"
            line.append(Cell(cell.text, "number missing") if aligned else cell)
        cells.append(line)
    note = ""
    if len(frame) > ROW_LIMIT:
        where = f"; all are in {file_name}" if file_name else ""
        note = f"The first {ROW_LIMIT} of {len(frame)} rows{where}."
    return Table(caption, header, cells, note, _groups(fields))


def _fields(columns: Sequence[str]) -> list[_Field]:
    """Group columns that share a cell."""
    fields: list[_Field] = []
    for column in columns:
        if MODEL_ERROR in column and without_errors(column) in columns:
            continue
        if column.endswith(MEASUREMENT) and column.removesuffix(MEASUREMENT) in columns:
            continue
        error, low = column + UNCERTAINTY, column.replace("_high_", "_low_")
        high = column.replace("_low_", "_high_")
        of_another = column.endswith(UNCERTAINTY) and column.removesuffix(UNCERTAINTY) in columns
        if of_another or (low != column and low in columns):
            continue
        if high != column and high in columns:
            fields.append(_Field(column, high=high))
        else:
            model = tuple(
                name for name in columns if MODEL_ERROR in name and without_errors(name) == column
            )
            measured = column + MEASUREMENT if column + MEASUREMENT in columns else ""
            # the uncertainty of a change has that in it already
            measured = "" if "_change_" in column else measured
            own = error if error in columns else ""
            fields.append(_Field(column, own, model=model, measurement=measured))
    return fields


def without_errors(column: str) -> str:
    """The column whose uncertainty or model error a column holds; any other as it is."""
    figure = column.removesuffix(MEASUREMENT).removesuffix(UNCERTAINTY)
    return re.sub(rf"{MODEL_ERROR}(?:low|high)(?=_|$)", "", figure)


def _groups(fields: Sequence[_Field]) -> list[tuple[str, int]]:
    """Headings over the columns where changes of more than one quantity stand in a table."""
    names = [labels.quantity_of(of.column) for of in fields]
    if len(set(names) - {""}) < 2:
        return []
    return [(name, len(list(run))) for name, run in itertools.groupby(names)]


def _widest(parts: Iterable[str], weight: str) -> float:
    """Width of the widest of some words over the height of their letters."""
    longest = sorted(set(parts), key=len)[-MEASURED:]
    return max((text_width_mm(part, 1.0, weight) * POINTS_PER_MM for part in longest), default=0.0)


def unbroken(text: str) -> str:
    """A cell's text with spaces that do not break between a sign or a number and its unit."""
    text = text.replace("± ", "±\u00a0").replace(" × ", "\u00a0×\u00a0")
    return re.sub(r"(?<=\d) (?=(?:mm|cm|in|Hz|Pa|L/s|°C|%|K)(?![A-Za-z]))", "\u00a0", text)


def chosen(frame: pd.DataFrame, names: Sequence[str]) -> list[str]:
    """Columns of some names, with their errors; a name ending in * is a beginning."""
    return [
        column
        for name in names
        for column in frame.columns
        for stem in [without_errors(column)]
        if stem == name or (name.endswith("*") and stem.startswith(name[:-1]))
    ]
