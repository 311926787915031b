"""The table of what a workshop's tolerances do: for each of the main quantities a line."""

from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd

from borestudy.report.captions import text
from borestudy.report.sentences.words import listed
from borestudy.report.tables.layout import Cell, Table
from borestudy.results.reported import RESISTANCE, RESONANCE
from borestudy.results.toleranced import ALL
from borestudy.rounding import MINUS, NO_VALUE, is_missing, significant

#: As many lines the table has at most, of which flow rates and peaks of an air column.
MOST, RATES, PEAKS = 12, 4, 4
#: Millimetres of an inch.
INCH = 25.4
UNITS = {"cents": "cents", "percent": "%"}
HEAD = (
    "Quantity", "Change of 95 % of the bores", "Hold tighter first", "Then, with half of it",
    "Known by",
)  # fmt: skip


def printed_tolerances(table: pd.DataFrame) -> Table | None:
    """Where 95 % of the bores lie, and which dimension to hold tighter first."""
    whole = table[table["dimension"] == ALL]
    rows = {str(row["quantity"]): row for row in whole.to_dict("records")}
    labels = dict(zip(table["dimension"], table["dimension_label"], strict=True))
    lines = [_line(name, rows[name], labels) for name in _main(list(rows))]
    stated = stated_tolerances(table)
    caption = text("tables", "tolerances", stated=f" (±{stated})" if stated else "")
    return Table(caption, [Cell(name) for name in HEAD], lines)


def stated_tolerances(table: pd.DataFrame) -> str:
    """How far each length may be off, most of them last: ``0.001 in (0.0254 mm) on every length``.

    Empty where the table has no length.
    """
    rows = table[(table["dimension"] != ALL) & (table["tolerance_unit"] == "mm")]
    of_lengths = dict(zip(rows["dimension_label"], rows["tolerance"], strict=True))
    groups: dict[float, list[str]] = {}
    for label, size in of_lengths.items():
        groups.setdefault(float(size), []).append(str(label))
    if not groups:
        return ""
    *single, common = sorted(groups, key=lambda size: len(groups[size]))
    told = [f"{_both_units(size)} on the {listed(groups[size])}" for size in single]
    return listed([*told, f"{_both_units(common)} on every {'other ' if single else ''}length"])


def _both_units(size: float) -> str:
    return f"{significant(size / INCH, 3)} in ({significant(size, 3)} mm)"


def _line(name: str, row: Mapping[Any, Any], labels: Mapping[str, str]) -> list[Cell]:
    if is_missing(row["span"]):
        note = Cell(str(row["note"]), "missing")
        return [Cell(_capital(name)), note, *[Cell(NO_VALUE, "missing")] * (len(HEAD) - 2)]
    unit = UNITS[str(row["effect_unit"])]
    low, high = (_signed(row[f"percentile_{share}"]) for share in ("2.5", "97.5"))
    tighter = labels.get(str(row["hold_tighter_first"]), NO_VALUE)
    halved = row["span_if_halved"]
    then = NO_VALUE if is_missing(halved) else f"± {significant(halved / 2, 2)} {unit}"
    return [
        Cell(_capital(name)),
        Cell(f"{low} to {high} {unit}"),
        Cell(tighter),
        Cell(then),
        Cell(str(row["method"])),
    ]


def _main(names: Sequence[str]) -> list[str]:
    """The main quantities: the first resonance, some peaks, the flow resistance, the cup."""
    peaks = [name for name in names if name.startswith("peak ") and name.split()[-1].isdigit()]
    flows = [name for name in names if name.startswith(f"{RESISTANCE} at ")]
    sound = [name for name in names if name.split()[0] == RESONANCE]
    chosen = [*sound, *_evenly(peaks[1:], PEAKS), *_evenly(flows, RATES), "cup volume"]
    return [name for name in chosen if name in names][:MOST]


def _evenly(names: Sequence[str], most: int) -> list[str]:
    """So many of some names at most, evenly from the first to the last."""
    if len(names) <= most:
        return list(names)
    return [names[round(place * (len(names) - 1) / (most - 1))] for place in range(most)]


def _signed(value: float) -> str:
    told = significant(value, 2)
    return told if told.startswith(MINUS) or told == "0" else f"+{told}"


def _capital(name: str) -> str:
    return f"{name[:1].upper()}{name[1:]}"
