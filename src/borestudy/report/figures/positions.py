"""Where the cases of a study stand along an axis, and their numbers from the tables."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from borestudy.drawing import style
from borestudy.drawing.marks import error_line, label_places
from borestudy.report.labels import label_of, name_of, plain, split_unit

RASTER_LIMIT = 120  # more points than this are stored as a picture, not one by one


@dataclass(frozen=True)
class Positions:
    """Where each case stands on the horizontal axis, shape (n,), and which cases one line joins.

    A group is what is alike in the cases of a line, in words, and their rows along the line.
    """

    x: np.ndarray
    tick_labels: list[str] | None
    axis_label: str
    groups: list[tuple[str, np.ndarray]]

    @property
    def subject(self) -> str:
        """The dimension within a title."""
        return self.axis_label.split(",")[0].lower()


def positions(comparison: pd.DataFrame, varied: Sequence[str]) -> Positions:
    """Lay the cases out along the first numeric varied dimension, else in the study's order.

    With two dimensions, the other one tells the lines apart, as long as there are few of them.
    """
    # A number parsed from "0.5 mm" and a word ("square") in one column stay categories.
    numeric = [name for name in varied if pd.api.types.is_numeric_dtype(comparison[name])]
    every = np.arange(len(comparison))
    if len(varied) in (1, 2):
        along = (numeric or list(varied))[0]
        rows: dict[str, np.ndarray] = {"": every}
        if len(varied) == 2:
            across = next(name for name in varied if name != along)
            rows = {
                _value_text(across, value): np.flatnonzero(comparison[across] == value)
                for value in comparison[across].unique()
            }
        x, words = column_of(comparison, along), None
        if along not in numeric:
            codes, values = pd.factorize(comparison[along], use_na_sentinel=False)
            x, words = codes.astype(float), [plain(value) for value in values]
        if len(rows) <= style.LEGEND_LIMIT:
            label = label_of(along) if words is None else name_of(along)
            groups = [(name, of[np.argsort(x[of], kind="stable")]) for name, of in rows.items()]
            return Positions(x, words, label, groups)
    names = comparison["label" if "label" in comparison else "case"]
    return Positions(every.astype(float), [str(name) for name in names], "case", [("", every)])


def _value_text(column: str, value: Any) -> str:
    unit = split_unit(column)[1]
    return f"{name_of(column).lower()} {plain(value)}{' ' + unit if unit else ''}"


def label_cases(axes: Any, place: Positions) -> None:
    """Label the horizontal axis: numbers with their unit, or the cases' words."""
    axes.set_xlabel(place.axis_label)
    axes.margins(x=0.08)
    if len(place.x) > RASTER_LIMIT:
        for artist in (*axes.lines, *axes.collections):
            artist.set_rasterized(True)
    if place.tick_labels is not None:
        label_places(axes, place.tick_labels)


def column_of(table: pd.DataFrame, name: str) -> np.ndarray:
    """A column as floats, NaN throughout if the table has none of that name."""
    if name not in table:
        return np.full(len(table), np.nan)
    return pd.to_numeric(table[name], errors="coerce").to_numpy(float)


def has_numbers(table: pd.DataFrame, name: str) -> bool:
    """Tell whether a table has a number in a column of that name."""
    return bool(np.isfinite(column_of(table, name)).any())


def is_laminar(table: pd.DataFrame) -> np.ndarray:
    """Which rows of the flow table are laminar to the shank end, shape (n,)."""
    return np.isnan(column_of(table, "transition_position_mm"))


def laminar_line(
    axes: Any, x: np.ndarray, table: pd.DataFrame, name: str, scale: float = 1.0, **line: Any
) -> np.ndarray:
    """Draw a column with error bars; its values.

    The marks are filled where the flow is laminar to the shank end, and hollow where it turns
    turbulent before.
    """
    value, error = (scale * column_of(table, name + end) for end in ("", "_uncertainty"))
    error_line(axes, x, value, error, **line, markerfacecolor="white")
    laminar = is_laminar(table)
    filled = {key: one for key, one in line.items() if key != "label"} | {"linestyle": ""}
    axes.plot(x[laminar], value[laminar], **filled, zorder=3)
    return value
