"""What formulas worked out by hand say of the first case, beside what was computed, and why."""

import pandas as pd

from borestudy.report.captions import text
from borestudy.report.labels import plain
from borestudy.report.sources import HAND
from borestudy.report.tables.layout import Cell, Row, Table
from borestudy.rounding import NO_VALUE, is_missing, significant, with_uncertainty

#: Layer of the page to the beginnings of the quantities that stand there.
LAYERS = {
    "comparison": ("cup volume", "throat volume", "backbore volume"),
    "resonance": ("resonance",),
    "flow": ("pressure drop", "friction"),
}
HEAD = (
    ("Quantity", ""), ("Formula", ""), ("By hand", "number"), ("Computed", "number"),
    ("Difference, %", "number"), ("Why", ""),
)  # fmt: skip
UNITS = {"cm3": "cm³"}


def printed_by_hand(formulas: pd.DataFrame, layer: str, rate: float | None = None) -> Table | None:
    """The formulas of a layer, of the first case and at one flow rate [L/s]; None without any."""
    if formulas.empty:
        return None
    first = formulas["case"].iloc[0]
    rows = [
        row
        for row in formulas[formulas["case"] == first].to_dict("records")
        if str(row["quantity"]).startswith(LAYERS[layer])
        and (is_missing(row["flow_rate_L_per_s"]) or row["flow_rate_L_per_s"] == rate)
    ]
    if not rows:
        return None
    head = [Cell(words, look) for words, look in HEAD]
    caption = text("tables", "by_hand", case=first)
    return Table(caption, head, [_line(row) for row in rows], source=HAND)


def _line(row: Row) -> list[Cell]:
    unit = UNITS.get(str(row["unit"]), str(row["unit"]))
    known = not is_missing(row["computed"])
    error = None if is_missing(row["uncertainty"]) else float(row["uncertainty"])
    computed = f"{_value(float(row['computed']), error)} {unit}" if known else NO_VALUE
    off = row["difference_percent"]
    name = str(row["quantity"])
    return [
        Cell(f"{name[:1].upper()}{name[1:]}"),
        Cell(str(row["formula"])),
        Cell(f"{plain(float(row['hand_value']), 4)} {unit}", "number"),
        Cell(computed, "number" if known else "number missing"),
        Cell(_percent(off), "number missing" if is_missing(off) else "number"),
        Cell(str(row["reason"])),
    ]


def _value(value: float, error: float | None) -> str:
    """A value with its uncertainty, where it has one that is not nothing."""
    return with_uncertainty(value, error) if error else significant(value, 4)


def _percent(value: float) -> str:
    """A difference in percent; what rounding leaves of none is none."""
    if is_missing(value):
        return NO_VALUE
    told = "0" if abs(value) < 1e-3 else significant(value, 2)
    return f"+{told}" if value >= 1e-3 else told
