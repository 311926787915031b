"""Comparison errors part by part against the Reynolds number, on what is stated of them."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, NullFormatter

from borestudy.drawing import looks
from borestudy.drawing.lettering import legend_columns, wrapped
from borestudy.drawing.style import COLOURS, GREY

#: Mark and colour of each kind of what the computed value is compared with.
LOOKS: dict[str, dict[str, Any]] = {
    "measurement": {"marker": "o", "color": COLOURS[0]},
    "handbook": {"marker": "s", "color": COLOURS[2]},
    "simulation": {"marker": "D", "color": COLOURS[1], "markerfacecolor": "white"},
}
#: Panels from left to right and down, each of a part.
PANELS = [["entry", "entry", "whole"], ["throat friction", "sudden enlargement", "slow cone"]]
NARROW = [["entry", "entry"], ["whole", "throat friction"], ["sudden enlargement", "slow cone"]]
ALONG, ACROSS = "throat Reynolds number", "computed less measured, q"
TICKS = (500, 2000, 10000, 50000)
#: Marks at one Reynolds number are drawn this far apart, as a ratio.
APART = 1.07
#: Pale bars behind the marks.
STATED: Any = {"color": "#f0c36d", "linewidth": 5.5, "alpha": 0.45, "zorder": 1}
STATED_LABEL = "stated model error"


@dataclass(frozen=True)
class Mark:
    """One comparison, and how far below and above 0 its error is stated to be [q], where it is."""

    part: str
    kind: str
    reynolds: float
    error: float
    uncertainty: float
    stated: tuple[float, float] | None = None


def marks_of(rows: Iterable[Any], stated: Callable[[Any], Any]) -> list[Mark]:
    """Marks of rows with the fields of a comparison error, and what is stated for each.

    `stated` gives how far below and above the computed value the truth may lie (``low``,
    ``high``), so that its error is stated to be from -high to low.
    """
    found = []
    for row in rows:
        sides = stated(row)
        ends = (sides.high, sides.low)
        found.append(
            Mark(
                row.part, row.kind, row.throat_reynolds, row.error, row.validation_uncertainty, ends
            )
        )
    return found


def draw_comparison_errors(drawing: Figure, marks: Sequence[Mark]) -> dict[str, Any]:
    """Draw a panel a part on an empty figure, with a legend above; returns the panels by part.

    Call it inside `borestudy.drawing.style.styled`.
    """
    panels: dict[str, Any] = drawing.subplot_mosaic(_rows(), sharex=True, sharey=True)  # type: ignore[arg-type]
    for part, axes in panels.items():
        axes.set_title(
            wrapped(part, 24 if looks.is_narrow() else 60, weight="bold"),
            loc="left",
            fontweight="bold",
        )
        axes.axhline(0, color=GREY, linewidth=0.9)
        mine = [mark for mark in marks if mark.part == part]
        _draw_part(axes, mine)
        axes.set_visible(bool(mine))
    _label(panels)
    kinds = [kind for kind in LOOKS if any(mark.kind == kind for mark in marks)]
    first = next(iter(panels.values()))
    handles: list[Any] = [first.errorbar([], [], [], linestyle="", **LOOKS[kind]) for kind in kinds]
    labels = list(kinds)
    if any(mark.stated for mark in marks):
        (bar,) = first.plot([], [], **STATED)
        handles, labels = [*handles, bar], [*labels, STATED_LABEL]
    if looks.is_narrow():
        drawing.supxlabel(ALONG)
        drawing.supylabel(ACROSS)
    columns = legend_columns(labels)
    drawing.legend(handles, labels, loc="outside upper center", ncols=columns)
    return panels


def _rows() -> list[list[str]]:
    """The panels row by row."""
    return NARROW if looks.is_narrow() else PANELS


def _draw_part(axes: Any, marks: Sequence[Mark]) -> None:
    """Draw one part's comparisons side by side where their Reynolds numbers are the same."""
    for place, mark in _side_by_side(marks):
        if mark.stated is not None:
            below, above = mark.stated
            axes.plot([place, place], [-below, above], solid_capstyle="butt", **STATED)
        axes.errorbar(place, mark.error, mark.uncertainty, linestyle="", **LOOKS[mark.kind])


def _side_by_side(marks: Iterable[Mark]) -> list[tuple[float, Mark]]:
    """Where along the axis each mark is drawn."""
    groups: dict[float, list[Mark]] = {}
    for mark in marks:
        groups.setdefault(mark.reynolds, []).append(mark)
    return [
        (reynolds * APART ** (index - 0.5 * (len(group) - 1)), mark)
        for reynolds, group in groups.items()
        for index, mark in enumerate(group)
    ]


def _label(panels: dict[str, Any]) -> None:
    """Scale the shared axes and say what is along them."""
    first = next(iter(panels.values()))
    first.set_xscale("log")
    low, high = first.get_xlim()
    for part, axes in panels.items():
        ticks = TICKS[::2] if looks.is_narrow() else TICKS
        axes.set_xticks([tick for tick in ticks if low <= tick <= high])
        axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
        axes.xaxis.set_minor_formatter(NullFormatter())
        # the panels above are not as wide as those below
        axes.tick_params(labelbottom=True)
        if part in _rows()[-1] and not looks.is_narrow():
            axes.set_xlabel(ALONG)
        if part in [row[0] for row in _rows()] and not looks.is_narrow():
            axes.set_ylabel(ACROSS)
