"""The table of reference figures that the package carries, and figures held against it."""

import csv
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Literal

from borestudy.files import replacing

#: The table, and its columns.
SHIPPED = "reference.csv"
COLUMNS = ("figure", "unit", "expected", "tolerance", "tolerance_from")


@dataclass(frozen=True)
class Figure:
    """A figure as it was computed.

    Attributes
    ----------
    name : str
        In words, unique.
    unit : str
        As table columns spell it; empty for a pure number.
    value : float
        In `unit`; NaN where nothing was found.
    tolerance : float
        How far the figure of another machine may be from this one, in `unit`.
    tolerance_from : str
        Words for the error that the tolerance is made of.
    """

    name: str
    unit: str
    value: float
    tolerance: float
    tolerance_from: str


@dataclass(frozen=True)
class Compared:
    """An expected figure beside the one obtained here, NaN where none was."""

    expected: Figure
    obtained: float

    @property
    def verdict(self) -> Literal["agrees", "differs"]:
        """Whether they are within the tolerance; what is not a number differs."""
        apart = abs(self.obtained - self.expected.value)
        return "agrees" if apart <= self.expected.tolerance else "differs"

    @property
    def is_same(self) -> bool:
        """Whether they are the same to the last digit."""
        return self.obtained == self.expected.value


def shipped_figures() -> list[Figure]:
    """The figures that the package carries."""
    return read_figures(Path(str(files("borestudy.reference").joinpath(SHIPPED))))


def read_figures(path: Path) -> list[Figure]:
    """Figures of a table that `write_figures` wrote."""
    with open(path, encoding="utf-8", newline="") as stream:
        return [
            Figure(
                row["figure"],
                row["unit"],
                float(row["expected"]),
                float(row["tolerance"]),
                row["tolerance_from"],
            )
            for row in csv.DictReader(stream)
        ]


def write_figures(figures: Iterable[Figure], path: Path) -> None:
    """Write figures to the last digit, tolerances to three.

    Raises
    ------
    ValueError
        If a figure is not a number, since every other one would then be as wrong.
    """
    rows = []
    for one in figures:
        if not (math.isfinite(one.value) and math.isfinite(one.tolerance)):
            raise ValueError(f"{one.name}: found {one.value} ± {one.tolerance}, which is no figure")
        value, tolerance = repr(float(one.value)), f"{one.tolerance:.2e}"
        rows.append((one.name, one.unit, value, tolerance, one.tolerance_from))
    with replacing(path) as unfinished, open(unfinished, "w", encoding="utf-8", newline="") as out:
        table = csv.writer(out, lineterminator="\n")
        table.writerow(COLUMNS)
        table.writerows(rows)


def compare(expected: Sequence[Figure], obtained: Iterable[Figure]) -> list[Compared]:
    """Hold figures against expected ones of the same names, in the order of those.

    Raises
    ------
    ValueError
        If there is a figure that is not expected: the table was not renewed.
    """
    found = {one.name: one for one in obtained}
    names = {one.name for one in expected}
    for name in found.keys() - names:
        raise ValueError(f"found the figure {name!r}, which the reference table does not have")
    none = float("nan")
    return [Compared(one, found[one.name].value if one.name in found else none) for one in expected]
