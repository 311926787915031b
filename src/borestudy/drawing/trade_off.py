"""Two figures of every case against each other, and which cases no other one beats in both."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal, get_args

import numpy as np
from matplotlib.figure import Figure
from numpy.typing import ArrayLike, NDArray

from borestudy.drawing import looks
from borestudy.drawing.lettering import legend_columns, lines_of, wrapped
from borestudy.drawing.style import COLOURS, GREY, evenly_spaced

#: What is counted as better: a lower value, a higher one, or one nearer to the base case's.
Better = Literal["lower", "higher", "near"]
UNCERTAINTY = "_uncertainty"
#: Widest line of a case's words beside the axes, also of a narrow figure, and how many have words.
WORDS_MM, NARROW_MM, WORDS_LIMIT = 40.0, 22.0, 12
#: Height of the page that axes' labels and the legend take, and the least gap of two cases' words.
OUTSIDE_MM, GAP_MM = 26.0, 1.6
#: More marks than these have no bars, and are stored as a picture.
BARS_LIMIT = 300
BASE: Any = {"marker": "*", "markersize": 13, "color": "black", "zorder": 5}
KEPT: Any = {"marker": "o", "markersize": 6, "color": COLOURS[0], "zorder": 4}
BEATEN: Any = {
    "marker": "o", "markersize": 5, "color": "#8a8a8a", "markerfacecolor": "white", "zorder": 3,
}  # fmt: skip


@dataclass(frozen=True)
class Column:
    """A column of a table as an axis: its words with the unit, and what is better in it."""

    name: str
    words: str
    better: Better = "lower"


def non_dominated(values: ArrayLike, better: Sequence[Better], base: int = 0) -> NDArray[np.bool_]:
    """Tell which cases no other case dominates.

    One case dominates another where it is at least as good in every column and better in one.
    Uncertainties play no part in it.

    Parameters
    ----------
    values : array_like, shape (n, k)
        A row a case; one with a value that is not finite is neither marked nor dominates another.
    better : sequence of {'lower', 'higher', 'near'}, length k
        What is better in each column; near is near to the value of the base case.
    base : int
        Row of the base case.

    Returns
    -------
    array of bool, shape (n,)

    Raises
    ------
    ValueError
        If the number of columns is another, or a word is not one of the three.
    """
    rows = np.asarray(values, float)
    if rows.ndim != 2 or rows.shape[1] != len(better):
        raise ValueError(f"better: found {len(better)} words for values of shape {rows.shape}")
    if unknown := [word for word in better if word not in get_args(Better)]:
        allowed = ", ".join(get_args(Better))
        raise ValueError(f"better: found {unknown[0]!r}, allowed: {allowed}, such as 'lower'")
    costs = np.empty_like(rows)
    for place, word in enumerate(better):
        column = rows[:, place]
        costs[:, place] = {
            "lower": column, "higher": -column, "near": abs(column - column[base])
        }[word]  # fmt: skip
    known = np.isfinite(costs).all(axis=1)
    found = known.copy()
    for row in np.flatnonzero(known):
        others = costs[known]
        no_worse = (others <= costs[row]).all(axis=1)
        found[row] = not (no_worse & (others < costs[row]).any(axis=1)).any()
    return found


def draw_trade_off(
    drawing: Figure,
    table: Mapping[str, Any],
    x: Column,
    y: Column,
    labels: Sequence[str],
    base: int = 0,
) -> NDArray[np.bool_]:
    """Draw two columns of a table against each other on an empty figure, a mark a case.

    A column's uncertainties are in the column of its name with ``_uncertainty`` behind it, where
    there is one, and are bars.  Call it inside `borestudy.drawing.style.styled`.

    Parameters
    ----------
    drawing : Figure
        An empty figure.
    table : mapping of str to array_like, shape (n,)
        Such as a table of pandas; what is no number is not drawn.
    x, y : Column
        What is along the foot and along the side.
    labels : sequence of str, length n
        Each case in words.
    base : int
        Row of the base case.

    Returns
    -------
    array of bool, shape (n,)
        Which cases are marked as non-dominated.
    """
    axes = drawing.subplots()
    values = np.column_stack([_numbers(table, one.name) for one in (x, y)])
    errors = np.column_stack([_errors(table, one.name) for one in (x, y)])
    kept = non_dominated(values, (x.better, y.better), base)
    drawn = np.array([np.isfinite(pair).all() for pair in values])
    others = np.array([row != base for row in range(len(values))])
    for rows, look in ((drawn & ~kept & others, BEATEN), (kept & others, KEPT)):
        _marks(axes, values[rows], errors[rows], look)
    if drawn[base]:
        for line, place in ((axes.axvline, values[base, 0]), (axes.axhline, values[base, 1])):
            line(place, color=GREY, linewidth=0.7, linestyle=(0, (4, 3)), zorder=1)
        _marks(axes, values[[base]], errors[[base]], BASE)
    axes.margins(0.1)
    axes.set(xlabel=x.words, ylabel=y.words)
    height_mm = 25.4 * drawing.get_figheight() - OUTSIDE_MM
    _name(axes, values, _chosen(drawn, kept, base), labels, base, height_mm)
    _legend(drawing, bool((kept & others).any()), bool((drawn & ~kept & others).any()))
    return kept


def _numbers(table: Mapping[str, Any], name: str) -> NDArray[np.float64]:
    """A column as floats, shape (n,), NaN where it holds none."""

    def number(value: Any) -> float:
        try:
            return float(value)
        except (TypeError, ValueError):
            return np.nan

    return np.array([number(value) for value in table[name]])


def _errors(table: Mapping[str, Any], name: str) -> NDArray[np.float64]:
    """Half lengths of a column's bars, shape (n,), none where it has no uncertainty."""
    if name + UNCERTAINTY not in table:
        return np.zeros(len(table[name]))
    return np.nan_to_num(abs(_numbers(table, name + UNCERTAINTY)), posinf=0.0)


def _marks(
    axes: Any, values: NDArray[np.float64], errors: NDArray[np.float64], look: Mapping[str, Any]
) -> None:
    """Marks with bars both ways."""
    bars: Any = {"linestyle": "", "elinewidth": 0.9, "capsize": 2.0, **look}
    if len(values) == 0:
        return
    if len(values) <= BARS_LIMIT:
        axes.errorbar(*values.T, xerr=errors[:, 0], yerr=errors[:, 1], **bars)
        return
    # so many bars are a grey cloud, and a picture is smaller than as many marks
    axes.plot(*values.T, rasterized=True, linestyle="", **look)


def _chosen(drawn: NDArray[np.bool_], kept: NDArray[np.bool_], base: int) -> list[int]:
    """Rows that are named: the base case, then those not dominated, then others while few."""
    first = [base] if drawn[base] else []
    front = [int(row) for row in np.flatnonzero(kept) if row != base]
    rest = [int(row) for row in np.flatnonzero(drawn & ~kept) if row != base]
    room = WORDS_LIMIT - len(first)
    found = first + [front[place] for place in evenly_spaced(len(front), room)]
    return found + (rest if len(rest) <= WORDS_LIMIT - len(found) else [])


def _name(
    axes: Any,
    values: NDArray[np.float64],
    chosen: Sequence[int],
    labels: Sequence[str],
    base: int,
    height_mm: float,
) -> None:
    """Write cases' words in a column beside the axes, each with a thin line to its mark."""
    low, high = axes.get_ylim()
    width = NARROW_MM if looks.is_narrow() else WORDS_MM
    words = {row: wrapped(labels[row], width, 8, "bold") for row in chosen}
    sizes = {row: (looks.line_mm() * lines_of([words[row]]) + GAP_MM) / height_mm for row in chosen}
    named = [row for row, end in zip(chosen, np.cumsum([*sizes.values()]), strict=True) if end <= 1]
    named.sort(key=lambda row: (values[row, 1], -values[row, 0]))
    wanted = [(values[row, 1] - low) / (high - low) for row in named]
    to_mark: Any = {"arrowstyle": "-", "color": "#8a8a8a", "linewidth": 0.6, "linestyle": ":"}
    to_mark |= {"shrinkA": 0, "shrinkB": 4, "zorder": 2}
    for row, place in zip(named, _spread(wanted, [sizes[row] for row in named]), strict=True):
        look: Any = {"va": "center", "fontsize": looks.points(8)} | (
            {"fontweight": "bold"} if row == base else {}
        )
        axes.text(1.04, place, words[row], transform=axes.transAxes, **look)
        beside: Any = {"xytext": (1.03, place), "textcoords": "axes fraction"}
        axes.annotate("", values[row], **beside, arrowprops=to_mark, annotation_clip=False)


def _spread(wanted: Sequence[float], sizes: Sequence[float]) -> list[float]:
    """Middles of boxes of these sizes, in order and apart, near to where they are wanted."""
    places: list[float] = []
    floor = 0.0
    for middle, size in zip(wanted, sizes, strict=True):
        places.append(max(middle, floor + size / 2))
        floor = places[-1] + size / 2
    ceiling = 1.0
    for index in range(len(places) - 1, -1, -1):
        places[index] = min(places[index], ceiling - sizes[index] / 2)
        ceiling = places[index] - sizes[index] / 2
    return places


def _legend(drawing: Figure, any_kept: bool, any_beaten: bool) -> None:
    """Explain the marks that are there."""
    (axes,) = drawing.axes
    shown = {"the first bore": BASE}
    if any_kept:
        shown["no other is better in both"] = KEPT
    if any_beaten:
        shown["another is better in both"] = BEATEN
    handles = [axes.plot([], [], linestyle="", **look)[0] for look in shown.values()]
    columns = legend_columns(list(shown))
    drawing.legend(handles, list(shown), loc="outside upper center", ncols=columns)
