"""Cells of a measured bore: a figure, its uncertainty, and what the stations' errors make of it."""

from borestudy.quantity import Quantity
from borestudy.results.case import CaseResults
from borestudy.results.measured import ENDING, Effects, in_unit
from borestudy.results.tables.files import Row, pair


def measured_pair(
    column: str,
    found: Quantity | None,
    case: CaseResults,
    effects: Effects | None,
    factor: float = 1.0,
) -> Row:
    """As `pair`, and of a measured bore what its stations' errors make of it as a third column."""
    row = pair(column, found, factor)
    if case.measurement is not None:
        size = in_unit(effects, found)
        row[f"{column}{ENDING}"] = None if size is None else abs(factor) * size
    return row
