"""What is won in one figure against what it costs in another, for every case of a study."""

from collections.abc import Sequence
from difflib import get_close_matches
from pathlib import Path

import numpy as np
import pandas as pd

from borestudy.drawing import looks, style
from borestudy.drawing import trade_off as drawing_of
from borestudy.drawing.trade_off import Better, Column
from borestudy.report.captions import text
from borestudy.report.figures.case import PicturedStudy
from borestudy.report.figures.drawn_data import columns_of
from borestudy.report.figures.positions import column_of, has_numbers
from borestudy.report.labels import name_of, quantity_of, split_unit

#: Columns of the comparison that are drawn unless others are asked for.
RESISTANCE, RESONANCE = "flow_resistance_change_percent", "resonance_change_cents"
#: Parts of the names of columns of the flow, of which less is counted as better.
STEADY = ("resistance", "pressure_drop")
NEAR_OR_LOWER: tuple[Better, Better] = ("near", "lower")
NAME = "trade-off"


def draw_study(study: PicturedStudy, directory: Path) -> style.FigureRecord | None:
    """Draw change of the resonance against change of the flow resistance, from the first case."""
    table = study.comparison
    if len(table) < 2 or not all(has_numbers(table, name) for name in (RESISTANCE, RESONANCE)):
        return None
    return draw_trade_off(table, RESISTANCE, RESONANCE, directory)


@style.styled
def draw_trade_off(
    table: pd.DataFrame,
    x: str,
    y: str,
    directory: Path,
    *,
    better: Sequence[Better | None] = (None, None),
    name: str = NAME,
) -> style.FigureRecord:
    """Draw two columns of a study's comparison against each other, as NAME.svg and NAME.png.

    Parameters
    ----------
    table : DataFrame
        ``comparison.csv``, the base case first; cases are called by the column ``label`` where
        there is one.
    x, y : str
        Columns with numbers; their uncertainties are in ``X_uncertainty``, where there are any.
    directory : path
        Where the files go.
    better : pair of {'lower', 'higher', 'near'} or None
        What is counted as better in x and in y: lower or higher values, or near to the first
        case's.  None: lower for resistances and pressure drops, near for all else.
    name : str
        The files' name.

    Raises
    ------
    ValueError
        If the table has no such column, or a word for better is unknown.
    """
    along, across = (axis_of(table, *pair) for pair in zip((x, y), better, strict=True))
    labels = [str(word) for word in table["label" if "label" in table else "case"]]
    drawing = style.figure(looks.lower(112))
    kept = drawing_of.draw_trade_off(drawing, {**table}, along, across, labels)
    aims = [text(NAME, one.better, quantity=_quantity(one.name)) for one in (along, across)]
    words = {
        "across": across.words.rpartition(",")[0] or across.words,
        "along": along.words.rpartition(",")[0] or along.words,
        "aims": " and ".join(dict.fromkeys(aims)),
        "count": len(table),
        "kept": int(kept.sum()),
    }
    told = {part: text(NAME, part, **words) for part in ("title", "caption", "alt")}
    data = columns_of(table, [along.name, across.name], labels)
    data["no_other_is_better_in_both"] = kept
    return style.save(drawing, directory, name, **told, data=data)


def axis_of(table: pd.DataFrame, name: str, better: Better | None) -> Column:
    """A column of numbers as an axis, with its flow rate in words where all rows have one."""
    numbers = [one for one in table.columns if has_numbers(table, one)]
    if name not in numbers:
        near = get_close_matches(name, numbers, n=1)
        hint = f"did you mean {near[0]}? " if near else ""
        raise ValueError(f"no numbers in column {name!r}: {hint}Allowed: {', '.join(numbers)}")
    steady = any(part in name for part in STEADY)
    rates = np.unique(column_of(table, "flow_rate_L_per_s"))
    change, rate = "change of " if _is_change(name) else "", ""
    if steady and len(rates) == 1 and np.isfinite(rates[0]):
        rate = f" at {rates[0]:g} L/s"
    unit = split_unit(name)[1]
    words = f"{change}{_quantity(name)}{rate}"
    return Column(name, f"{words}, {unit}" if unit else words, better or NEAR_OR_LOWER[steady])


def _is_change(name: str) -> bool:
    """Whether a column holds changes against the first case."""
    return split_unit(name)[0].endswith("_change")


def _quantity(name: str) -> str:
    """What a column is about, within a sentence: ``flow resistance``."""
    words = quantity_of(name) or name_of(name)
    return words if words.startswith("Q ") else words[:1].lower() + words[1:]
