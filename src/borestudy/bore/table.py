"""Reading a CSV of stations, with messages that name the line."""

import csv
import math
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from borestudy.bore.errors import BoreError

UNITS = {"mm": 1e-3, "in": 25.4e-3}
ALLOWED = "position_mm and diameter_mm, or position_in and diameter_in"


def read_stations(path: Path) -> tuple[NDArray[np.float64], list[int]]:
    """Positions and diameters of a CSV.

    Lines that begin with ``#`` are notes.

    Parameters
    ----------
    path : Path
        In UTF-8, with or without a byte order mark.

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
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as problem:
        reason = getattr(problem, "strerror", None) or "not a text in UTF-8"
        raise BoreError(
            "stations",
            f"{path.name}: cannot be read ({reason}); allowed is a CSV file with {ALLOWED}",
        ) from None
    rows = [
        (number, [cell.strip() for cell in next(csv.reader([line]))])
        for number, line in enumerate(text.splitlines(), start=1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    header = rows[0][1] if rows else []
    unit = next((u for u in UNITS if {f"position_{u}", f"diameter_{u}"} <= set(header)), None)
    if unit is None:
        found = ", ".join(header) or "an empty file"
        raise BoreError(
            "stations",
            f"{path.name}: found the columns {found}; allowed are {ALLOWED}, for example a first "
            "line position_mm,diameter_mm",
        )
    columns = [header.index(f"position_{unit}"), header.index(f"diameter_{unit}")]
    names = [header[column] for column in columns]
    stations = [
        [
            _number(path, number, name, cells, column)
            for name, column in zip(names, columns, strict=True)
        ]
        for number, cells in rows[1:]
    ]
    if len(stations) < 2:
        raise BoreError(
            "stations",
            f"{path.name}: found {len(stations)} station(s); allowed are two or more lines, for "
            "example 0,16.2 and 88,9.0",
        )
    return UNITS[unit] * np.array(stations), [number for number, _ in rows[1:]]


def _number(path: Path, line: int, name: str, cells: list[str], column: int) -> float:
    found = cells[column] if column < len(cells) else ""
    try:
        value = float(found)
    except ValueError:
        value = math.nan
    # A position may be below zero: only differences from the first one count.
    if not math.isfinite(value) or (name.startswith("diameter") and value <= 0):
        allowed = "a number above zero" if name.startswith("diameter") else "a number"
        raise BoreError(
            "stations",
            f"{path.name}, line {line}: {name}: found {found or 'nothing'}; allowed is {allowed}, "
            "for example 3.66",
        )
    return value
