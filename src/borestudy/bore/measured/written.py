"""The readings that a file has, in metres, in the order in which it has them."""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from borestudy.bore.measured.cells import (
    ALLOWED,
    EXAMPLE,
    NUMBER,
    SEPARATORS,
    Row,
    content_lines,
    read_text,
    refused,
    separator_of,
    split,
)
from borestudy.bore.measured.columns import (
    Column,
    Columns,
    factor,
    is_header,
    named,
    nameless,
    with_units,
)
from borestudy.bore.measured.findings import Finding
from borestudy.units import LONGEST_SHOWN, UnitError, parse_length, quoted

#: A position and a diameter in each unit, for messages.
EXAMPLES = {"mm": ("11", "3.66"), "in": ("0.43", "0.144")}
COMMAS = "allowed is a comma between cells and a point in numbers"
#: What brass mouthpieces are between, from memory of common ones of all classes: overall length,
#: throat, and no diameter above [m].  A file in the other unit is beyond by far.
PLAUSIBLE_LENGTHS, PLAUSIBLE_THROATS, WIDEST = (0.015, 0.2), (0.0015, 0.015), 0.05
_DIGITS_BEHIND = re.compile(r"[.,](\d*)")


@dataclass(frozen=True, eq=False)
class Written:
    """Readings of a file in the order written, shape (n, 2): position and diameter [m].

    `lines` are the lines that they stand in, `last_digit` the least step of a diameter as written
    [m], `counted_from` the end (``rim``, ``shank`` or nothing) that the columns' names give.
    """

    readings: NDArray[np.float64]
    lines: tuple[int, ...]
    last_digit: float
    counted_from: str
    unit: str
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class _Cell:
    """A number in a cell: in metres where its unit stands behind it."""

    value: float
    in_metres: bool
    text: str


def read_written(path: Path, unit: str = "", plausible: bool = True) -> Written:
    """The readings of a file in any of the ways people write them.

    Parameters
    ----------
    path : Path
        A text: cells between semicolons, tabs, bars, commas or spaces; decimal points or commas;
        notes and columns of other names are passed over, and told.
    unit : {"", "mm", "in"}
        The unit of numbers without one, against what the file says.
    plausible : bool
        Whether the unit of a file that names none is that in which it is a mouthpiece.

    Raises
    ------
    BoreError
        Naming the line, what was found and what is allowed.
    """
    text, findings = read_text(path)
    lines, declared, notes = content_lines(text)
    findings += notes
    if not lines:
        problem = f"found no line in it; allowed are the columns {ALLOWED}"
        raise refused(path, problem, EXAMPLE)
    separator = separator_of(path.name, lines, declared, is_header)
    if separator != ",":
        word = SEPARATORS.get(separator, quoted(separator))
        findings.append(Finding("separator", (), f"{word} between cells"))
    rows = [split(path.name, number, line, separator) for number, line in lines]
    columns, rows, more = _columns(path, rows)
    findings += [*columns.findings, *more]
    cells = [_cells(path.name, row, columns) for row in rows]
    findings += _decimal_signs(path.name, rows, cells)
    chosen, told = _unit(path, columns, rows, cells, unit, plausible)
    findings += told
    along, across = (factor(unit or one.unit or chosen) for one in
                     (columns.position, columns.across[0]))  # fmt: skip
    across *= columns.factor_across
    readings, at, digits = [], [], []
    for row, (position, diameters) in zip(rows, cells, strict=True):
        for cell in diameters:
            # A unit behind a radius' number does not make it a diameter.
            size = columns.factor_across if cell.in_metres else across
            readings.append((position.value * (1.0 if position.in_metres else along),
                             cell.value * size))  # fmt: skip
            at.append(row.line)
            if not cell.in_metres:
                digits.append(len((_DIGITS_BEHIND.search(cell.text) or ["", ""])[1]))
    if len(readings) < 2:
        raise refused(path, f"found {len(readings)} station(s); allowed are two or more lines",
                      "0,16.2 and 88,9.0")  # fmt: skip
    digit = across * 10.0 ** -max(digits) if digits else 0.0
    return Written(np.array(readings), tuple(at), digit, columns.counted_from, chosen,
                   tuple(findings))  # fmt: skip


def _columns(path: Path, rows: list[Row]) -> tuple[Columns, list[Row], list[Finding]]:
    """The columns, the rows behind their names, and what stands before those."""
    first = next((k for k, row in enumerate(rows) if _has_numbers(row)), len(rows))
    known = [k for k, row in enumerate(rows[:first]) if is_header(row)]
    before = rows[: known[-1]] if known else rows[:first]
    if known:
        header = known[-1]
        names = rows[header]
        if header + 1 < first and (joined := with_units(names, rows[header + 1])):
            names, header = joined, header + 1
        columns = named(names, path.name)
    elif (first and len(rows[first - 1].cells) > 1) or first == len(rows):
        header = first - 1
        columns = named(rows[header], path.name)
    else:
        header = first - 1
        columns = nameless(rows[first], path.name)
    lines = tuple(row.line for row in before)
    told = [Finding("note", lines, "before the columns' names, not read")] if lines else []
    return columns, rows[header + 1 :], told


def _has_numbers(row: Row) -> bool:
    """Whether two cells of a row are numbers, with units or without."""
    return sum(_parsed(cell) is not None for cell in row.cells) >= 2


def _parsed(text: str) -> _Cell | None:
    """The number in a cell, None if there is none."""
    if NUMBER.fullmatch(text):
        value = float(text.replace(",", "."))
        return _Cell(value, False, text) if math.isfinite(value) else None
    try:
        # Of a decimal comma with a unit behind it as well.
        return _Cell(parse_length(re.sub(r"(?<=\d),(?=\d)", ".", text)), True, text)
    except UnitError:
        return None


def _cells(name: str, row: Row, columns: Columns) -> tuple[_Cell, list[_Cell]]:
    """Position and diameters of a row, which has as many cells as the columns' names."""
    where = f"{name}, line {row.line}"
    unit = "in" if columns.units == ("in",) else "mm"
    if len(row.cells) != columns.width:
        example = dict(zip(("position", "diameter"), EXAMPLES[unit], strict=True))
        read = dict.fromkeys((c.number for c in columns.across), "diameter")
        read[columns.position.number] = "position"
        found = ",".join(row.cells)
        more = len(row.cells) > columns.width
        cause = " (is a decimal sign a comma and not a point?)" if more else ""
        for sign, word in list(SEPARATORS.items())[:4]:
            if sign in found and (sign != "," or not more) and len(row.cells) == 1:
                cause = f", with {word} between them"
                break
        raise refused(
            where,
            f"found {len(row.cells)} cell(s) in {quoted(found)} for {columns.width} columns{cause}"
            f"; {COMMAS}, one cell a column",
            ",".join(example.get(read.get(k, ""), "") for k in range(columns.width)),
        )
    position = _number(where, columns.position, row.cells, unit)
    several = len(columns.across) > 1
    filled = [c for c in columns.across if row.cells[c.number] or not several]
    if not filled:
        filled = list(columns.across[:1])
    return position, [_number(where, column, row.cells, unit) for column in filled]


def _number(where: str, column: Column, cells: Sequence[str], unit: str) -> _Cell:
    """The number of a column, above zero where it is a diameter."""
    found = cells[column.number]
    across = column.kind != "position"
    cell = _parsed(found)
    # A position may be below zero: only differences from the first one count.
    if cell is None or (across and cell.value <= 0):
        # Without quotes, unless it is long or has what cannot be seen.
        shown = found if found.isprintable() and len(found) <= LONGEST_SHOWN else quoted(found)
        allowed = "a number above zero" if across else "a number"
        raise refused(where, f"{column.name}: found {shown or 'nothing'}; allowed is {allowed}",
                      EXAMPLES[unit][across])  # fmt: skip
    return cell


def _decimal_signs(
    name: str, rows: Sequence[Row], cells: Sequence[tuple[_Cell, list[_Cell]]]
) -> list[Finding]:
    """Decimal commas, told; refused where the file has points as well."""
    signs: dict[str, list[tuple[int, str]]] = {",": [], ".": []}
    for row, (position, across) in zip(rows, cells, strict=True):
        for cell in (position, *across):
            for sign in signs:
                if sign in cell.text:
                    signs[sign].append((row.line, cell.text))
    commas, points = signs[","], signs["."]
    if commas and points:
        few, many = sorted((commas, points), key=len)
        (line, text), (other, shown) = few[0], many[0]
        raise refused(
            f"{name}, line {line}",
            f"found the number {text}, where line {other} has {shown}; allowed is one decimal "
            "sign in a file, and no sign between thousands",
            text.replace(",", "#").replace(".", ",").replace("#", "."),
        )
    if not commas:
        return []
    line, text = commas[0]
    lines = tuple(dict.fromkeys(line for line, _ in commas))
    return [Finding("decimal comma", lines, f"decimal commas ({text} in line {line})")]


def _unit(
    path: Path,
    columns: Columns,
    rows: Sequence[Row],
    cells: Sequence[tuple[_Cell, list[_Cell]]],
    asked: str,
    plausible: bool,
) -> tuple[str, list[Finding]]:
    """The unit of numbers without one, and how it is known."""
    told = []
    behind = [row.line for row, (x, across) in zip(rows, cells, strict=True)
              if any(cell.in_metres for cell in (x, *across))]  # fmt: skip
    if behind:
        told.append(Finding("unit", tuple(behind), "the unit stands behind the number"))
    plain = [(x.value, d.value) for x, across in cells for d in across
             if not (x.in_metres or d.in_metres)]  # fmt: skip
    units = columns.units
    if asked:
        if units and asked not in units:
            text = f"in {asked} as the study says, against the columns' names ({units[0]})"
            told.append(Finding("unit", (), text))
        return asked, told
    if units:
        # One name may leave it out, and thousandths may stand beside inches.
        missing = [c.name for c in (columns.position, *columns.across) if not c.unit]
        if missing:
            text = f"{missing[0]}: without a unit, taken for {units[0]} like the other column"
            told.append(Finding("unit", (), text))
        return units[0], told
    if not plain:
        return "mm", told
    if not plausible:
        raise refused(path, "found no unit in the columns' names; allowed are "
                      f"{ALLOWED}", EXAMPLE)  # fmt: skip
    values = np.array(plain) * [1.0, columns.factor_across]
    fits = [unit for unit in ("mm", "in") if _is_mouthpiece(values * factor(unit))]
    length, least, most = np.ptp(values[:, 0]), values[:, 1].min(), values[:, 1].max()
    sizes = f"a length of {length:g} and diameters from {least:g} to {most:g}"
    if not fits:
        raise refused(
            path,
            f"found no unit in it, and {sizes}, which make a mouthpiece neither in mm nor in "
            f"inches; allowed are {ALLOWED}, or 'unit: mm' or 'unit: in' in the study's bore",
            EXAMPLE,
        )
    text = f"no unit is named: {sizes} make a mouthpiece in {fits[0]} alone"
    return fits[0], [*told, Finding("unit", (), text)]


def _is_mouthpiece(stations: NDArray[np.float64]) -> bool:
    """Whether positions and diameters [m] are of a size that a brass mouthpiece has."""
    length, across = float(np.ptp(stations[:, 0])), stations[:, 1]
    fits = PLAUSIBLE_LENGTHS[0] <= length <= PLAUSIBLE_LENGTHS[1]
    least, most = float(across.min()), float(across.max())
    return fits and PLAUSIBLE_THROATS[0] <= least <= PLAUSIBLE_THROATS[1] and most <= WIDEST
