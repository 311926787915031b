"""Result tables made readable: value and uncertainty in one cell, units in the header."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from .columns import (
    ELSEWHERE,
    FLOW_CHANGES,
    FLOW_PRINTED,
    FLOWING,
    GIVEN,
    PEAKS,
    SOLVED,
    SOUNDING,
    STREAM,
    STRENGTH,
    THROAT,
)
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
LAMINAR = "laminar"
#: Units that are unwieldy as the files store them: printed unit and the factor to it.
PRINTED = {"Pa·s/m³": ("MPa·s/m³", 1e-6)}
ROW_LIMIT = 300
PASSED = ("pass", "passed", "ok")


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
    unsolved: Callable[[Mapping[str, Any], str], bool] = lambda row, column: False,
    look: Callable[[Mapping[str, Any]], str] = lambda row: "",
    file_name: str = "",
) -> Table:
    """Turn a result table into cells.

    A column that has an `…_uncertainty` beside it is written 'value ± uncertainty'; a pair
    `…_low_…`, `…_high_…` becomes one column 'low to high'. Where `unsolved` says so, a cell reads
    'did not converge' whatever the file holds.

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
        Tells whether a cell's solve did not converge.
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
    unsolved: Callable[[Mapping[str, Any], str], bool],
    look: str,
    digits: int,
) -> Cell:
    if unsolved(row, field[0]):
        return Cell(NOT_CONVERGED, "number bad")
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


def is_converged(row: Mapping[str, Any]) -> bool:
    """Tell whether a row's solve converged, as its `converged` or `regime` column says."""
    flag = str(row.get("converged", True)).lower()
    return flag in ("true", "1", "1.0") and "converge" not in str(row.get("regime", "")).lower()


def comparison_tables(comparison: pd.DataFrame, flow: pd.DataFrame) -> list[Table]:
    """The comparison in tables narrow enough to read; what is left out is in the file."""
    failed = {
        (row["case"], row["flow_rate_L_per_s"]) for row in records(flow) if not is_converged(row)
    }

    def unsolved(row: Mapping[str, Any], column: str) -> bool:
        return column.startswith(SOLVED) and (
            (row["case"], row.get("flow_rate_L_per_s")) in failed or not is_converged(row)
        )

    columns = list(comparison.columns)
    at_rate = ""
    # `unsolved` looks the rate up in the row, so it leaves the print but not the table.
    if "flow_rate_L_per_s" in columns and comparison["flow_rate_L_per_s"].nunique() == 1:
        at_rate = f" at {plain(comparison['flow_rate_L_per_s'].iloc[0])} L/s"
    flowing: tuple[str, ...] = FLOWING
    if "regime" in columns and (comparison["regime"] == LAMINAR).all():
        # the span is then the computed change itself, which stands there with its uncertainty
        flowing = tuple(name for name in FLOWING if "_low_" not in name and "_high_" not in name)
    families = (
        (flowing, f"Flow{at_rate}. Each change is against the first case."),
        (
            THROAT,
            f"The part of the flow resistance up to the throat’s end{at_rate}, and the slope with "
            "which the whole pressure drop grows with the flow rate.",
        ),
        (SOUNDING, "Resonance. Each change is against the first case."),
        (STRENGTH, "Strength and width of the first resonance against the first case."),
        (PEAKS, "Further peaks against the first case’s same peaks."),
    )
    said = [name for name in columns if name.startswith(("flow_", "resonance", *ELSEWHERE))]
    said += [name for names, _ in families for name in _chosen(columns, names)]
    bores = [name for name in columns if name not in (*said, "case")]
    table = _first_case_said(comparison)
    return [
        build_table(
            table,
            caption,
            columns=["case", *names],
            unsolved=unsolved,
            file_name="comparison.csv",
        )
        for names, caption in (
            *((_chosen(columns, names), caption) for names, caption in families),
            (bores, "The bores."),
        )
        if names
    ]


def _chosen(columns: Sequence[str], names: Sequence[str]) -> list[str]:
    """The columns of that name, with their uncertainties; a name ending in * is a beginning."""
    wanted = []
    for name in names:
        for column in columns:
            stem = column.removesuffix(UNCERTAINTY)
            if stem == name or (name.endswith("*") and stem.startswith(name[:-1])):
                wanted.append(column)
    return wanted


def _first_case_said(comparison: pd.DataFrame) -> pd.DataFrame:
    """The table with the first case's verdicts, which compare it with itself, in other words."""
    verdicts = [name for name in comparison.columns if name.endswith("_verdict")]
    if not verdicts or len(comparison) == 0:
        return comparison
    table = comparison.copy()
    table.loc[table["case"] == table["case"].iloc[0], verdicts] = "the first case"
    return table


def flow_table(flow: pd.DataFrame) -> Table:
    """The table of all cases and flow rates."""
    return _flow_part(
        flow,
        FLOW_PRINTED,
        "Pressure drop at each flow rate. “Low to high” is the span in which the true value is "
        "expected; in laminar flow it is the computed value with its uncertainty.",
    )


def flow_change_table(flow: pd.DataFrame) -> Table | None:
    """The changes against the first case at each flow rate; None without another case."""
    if "pressure_drop_change_percent" not in flow or flow["case"].nunique() < 2:
        return None
    return _flow_part(
        flow[flow["case"] != flow["case"].iloc[0]],
        FLOW_CHANGES,
        "Change of the pressure drop, and so of the flow resistance, against the first case at the "
        "same flow rate. Beyond the laminar range “low to high” are the changes at the two ends of "
        "the span, and a verdict is given where both ends agree.",
    )


def _flow_part(flow: pd.DataFrame, columns: Sequence[str], caption: str) -> Table:
    return build_table(
        flow,
        caption,
        columns=_chosen(list(flow.columns), columns),
        unsolved=lambda row, column: column not in GIVEN and not is_converged(row),
        file_name="flow.csv",
    )


def stream_table(stream: pd.DataFrame) -> Table:
    """The table of resonances on the steady stream."""
    return build_table(
        stream,
        "How the first resonance changes from still air to a steady stream, whose pressure drop "
        "grows with the flow rate and so damps a small oscillation. “Low to high” are the ends of "
        "the span beyond the laminar range. “Not quasi-steady”: the oscillation is too fast for "
        "the stream to follow, and the figures are rough.",
        columns=_chosen(list(stream.columns), STREAM),
        file_name="stream.csv",
    )


def has_passed(row: Mapping[str, Any]) -> bool:
    """Tell whether a verification row passed; one without a clear verdict has not."""
    return str(row.get("verdict", "")).strip().lower() in PASSED


def verification_table(verification: pd.DataFrame) -> Table:
    """The table of checks, failed ones marked."""
    table = verification.copy()
    if "deviation_percent" in table:
        table["deviation_percent"] = [
            NO_VALUE if is_missing(value) else significant(float(value), 2)
            for value in table["deviation_percent"]
        ]
    if "unit" in table:
        table["unit"] = ["–" if is_missing(unit) else unit for unit in table["unit"]]
    return build_table(
        table,
        "What the program computed for cases whose answer is known, solved with this study's own "
        "mesh settings.",
        digits=7,
        look=lambda row: "" if has_passed(row) else "bad",
        file_name="verification.csv",
    )


def failed_checks(verification: pd.DataFrame) -> list[str]:
    """What failed, in words; empty if every check passed."""
    return [
        f"{row.get('check', 'unnamed check')}: {row.get('quantity', '')}".rstrip(": ")
        for row in records(verification)
        if not has_passed(row)
    ]
