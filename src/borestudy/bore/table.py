"""Reading a CSV of stations, with messages that name the line."""

import csv
import math
import re
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from borestudy.bore.errors import BoreError
from borestudy.units import LONGEST_SHOWN, quoted

UNITS = {"mm": 1e-3, "in": 25.4e-3}
ALLOWED = "position_mm and diameter_mm, or position_in and diameter_in"
#: A position and a diameter in each unit, for messages.
EXAMPLES = {"mm": ("11", "3.66"), "in": ("0.43", "0.144")}
#: What some programs put between cells, and what it is called.
OTHER_SEPARATORS = {";": "semicolons", "\t": "tabs", "|": "bars"}
#: Bound of a file of stations: those that can be meshed need a fiftieth of it.
MAX_CHARACTERS = 1_000_000
COMMAS = "allowed is a comma between cells and a point in numbers"
# Not `float`, which also takes 1_6 for 16.
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)


def read_stations(path: Path) -> tuple[NDArray[np.float64], list[int]]:
    """Positions and diameters of a CSV in UTF-8, with or without a byte order mark.

    Lines that begin with ``#`` are notes, and columns of other names are passed over.  Every line
    has as many cells as the first: one more or less is the trace of a decimal comma, which would
    be read as other data.

    Returns
    -------
    stations : ndarray, shape (n, 2) [m]
        Position and diameter.
    lines : list of int
        Line of the file that each station stands in.

    Raises
    ------
    BoreError
        If the file cannot be read or a line is no station.
    """
    try:
        with open(path, encoding="utf-8-sig") as stream:
            text = stream.read(MAX_CHARACTERS + 1)
    except (OSError, UnicodeDecodeError) as problem:
        reason = getattr(problem, "strerror", None) or "not a text in UTF-8"
        raise refused(path, f"cannot be read ({reason}); allowed is a CSV file with {ALLOWED}",
                      "a first line position_mm,diameter_mm") from None  # fmt: skip
    if len(text) > MAX_CHARACTERS:
        raise refused(path, f"found more than {MAX_CHARACTERS:,} characters; allowed are as many",
                      "a station every tenth of a millimetre")  # fmt: skip
    rows = [
        (number, _cells(f"{path.name}, line {number}", line))
        for number, line in enumerate(text.splitlines(), start=1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    header = rows[0][1] if rows else []
    unit = _unit(path, header)
    columns = [header.index(f"{word}_{unit}") for word in ("position", "diameter")]
    stations = []
    for number, cells in rows[1:]:
        where = f"{path.name}, line {number}"
        _check_cells(where, cells, header, unit)
        stations.append([_number(where, header[c], cells[c], unit) for c in columns])
    if len(stations) < 2:
        raise refused(path, f"found {len(stations)} station(s); allowed are two or more lines",
                      "0,16.2 and 88,9.0")  # fmt: skip
    return UNITS[unit] * np.array(stations), [number for number, _ in rows[1:]]


def refused(where: Path | str, problem: str, example: str) -> BoreError:
    """The error of a file, or of a place in it that a text names."""
    name = where.name if isinstance(where, Path) else where
    return BoreError("stations", f"{name}: {problem}, for example {example}")


def _separators(found: str) -> list[str]:
    """Names of what else than commas stands between cells."""
    return [word for separator, word in OTHER_SEPARATORS.items() if separator in found]


def _cells(where: str, line: str) -> list[str]:
    """The cells of one line."""
    try:
        return [cell.strip() for cell in next(csv.reader([line]))]
    except csv.Error:
        raise refused(where, f"found {quoted(line)}, which is no line of a CSV file; {COMMAS}",
                      "11,3.66") from None  # fmt: skip


def _unit(path: Path, header: list[str]) -> str:
    """The unit that the columns' names give."""
    pairs = {unit: {f"position_{unit}", f"diameter_{unit}"} for unit in UNITS}
    units = [unit for unit, names in pairs.items() if names <= set(header)]
    found = ", ".join(header)
    shown = found if len(found) <= LONGEST_SHOWN else f"{found[:LONGEST_SHOWN]} ..."
    twice = [name for unit in units for name in sorted(pairs[unit]) if header.count(name) > 1]
    problem = ""
    if not header:
        problem = f"found no line in it; allowed are the columns {ALLOWED}"
    elif not units and (words := _separators(found)):
        problem = f"found {words[0]} between the columns {quoted(found)}; {COMMAS}"
    elif all(_NUMBER.fullmatch(cell) for cell in header):
        names = "where the first line names the columns"
        problem = f"found the numbers {shown} {names}; allowed are {ALLOWED}"
    elif len(units) > 1:
        problem = f"found the columns {shown}, in both units; allowed is one unit, {ALLOWED}"
    elif not units:
        problem = f"found the columns {shown}; allowed are {ALLOWED}"
    elif twice:
        problem = f"found the column {twice[0]} twice; allowed is each once"
    if problem:
        raise refused(path, problem, "a first line position_mm,diameter_mm")
    return units[0]


def _check_cells(where: str, cells: list[str], header: list[str], unit: str) -> None:
    """Refuse a line that has not one cell for each column."""
    if len(cells) == len(header):
        return
    example = dict(zip((f"position_{unit}", f"diameter_{unit}"), EXAMPLES[unit], strict=True))
    found = ",".join(cells)
    more = len(cells) > len(header)
    cause = " (is a decimal sign a comma and not a point?)" if more else ""
    for word in _separators(found):
        cause = f", with {word} between them"
    raise refused(
        where,
        f"found {len(cells)} cell(s) in {quoted(found)} for {len(header)} columns{cause}; "
        f"{COMMAS}, one cell a column",
        ",".join(example.get(name, "") for name in header),
    )


def _number(where: str, name: str, found: str, unit: str) -> float:
    value = float(found) if _NUMBER.fullmatch(found) else math.nan
    diameter = name.startswith("diameter")
    # A position may be below zero: only differences from the first one count.
    if not math.isfinite(value) or (diameter and value <= 0):
        # Without quotes, unless it is long or has what cannot be seen.
        shown = found if found.isprintable() and len(found) <= LONGEST_SHOWN else quoted(found)
        allowed = "a number above zero" if diameter else "a number"
        comma = re.fullmatch(r"[+-]?\d*,\d+", found)
        cause = ", whose decimal sign is a comma and not a point" if comma else ""
        raise refused(where, f"{name}: found {shown or 'nothing'}{cause}; allowed is {allowed}",
                      EXAMPLES[unit][diameter])  # fmt: skip
    return value
