"""What a thousandth of an inch on the dimensions that matter most does, in one table."""

import pandas as pd

from borestudy.report.captions import text
from borestudy.report.effects import RESISTANCE, RESONANCE, Effect, Effects, effects_of
from borestudy.report.tables.layout import Cell, Table
from borestudy.rounding import NO_VALUE, significant, with_uncertainty

#: As many dimensions are in the table.
STRONGEST = 6


def printed_dimensions(table: pd.DataFrame, rate: float | None = None) -> Table | None:
    """The dimensions with the largest effects on resonance and flow resistance at a rate [L/s].

    How large an effect is, is told by its share of the largest one on the same quantity; a
    dimension counts by the larger of its shares.  None without a derivative of either quantity.
    """
    found = [effects_of(table, RESONANCE)]
    found += [] if rate is None else [effects_of(table, RESISTANCE, rate)]
    known = [one for one in found if one is not None and one.lengths]
    shares: dict[str, float] = {}
    dimensions: dict[str, Effect] = {}
    for one in known:
        largest = max(abs(effect.value) for effect in one.lengths)
        for effect in one.lengths:
            share = abs(effect.value) / largest if largest else 0.0
            shares[effect.key] = max(share, shares.get(effect.key, 0.0))
            dimensions[effect.key] = effect
    if not dimensions:
        return None
    strongest = sorted(dimensions, key=lambda key: -shares[key])[:STRONGEST]
    head = [Cell("Dimension"), Cell("Size, mm", "number")]
    head += [Cell(_head(one), "number") for one in known]
    rows = [
        [
            Cell(dimensions[key].label),
            Cell(significant(dimensions[key].size), "number"),
            *(_effect(one.of(key)) for one in known),
        ]
        for key in strongest
    ]
    return Table(text("tables", "dimensions", case=table["case"].iloc[0]), head, rows)


def _head(found: Effects) -> str:
    words = f"{found.words} {found.at_rate}".strip()
    return f"{words[:1].upper()}{words[1:]}, {found.unit}"


def _effect(effect: Effect | None) -> Cell:
    """An effect with its sign and uncertainty."""
    if effect is None:
        return Cell(NO_VALUE, "number missing")
    plus = "+" if effect.value > 0 else ""
    return Cell(f"{plus}{with_uncertainty(effect.value, effect.uncertainty)}", "number")
