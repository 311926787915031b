"""The picture that shows a study's answer: a row a bore, with its section and what changes."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import isfinite
from typing import Any

import numpy as np
from matplotlib.figure import Figure
from numpy.typing import ArrayLike, NDArray

from borestudy.drawing import looks, style
from borestudy.drawing.bore import Outline, draw_thumb
from borestudy.drawing.lettering import lines_of, text_width_mm, wrapped
from borestudy.drawing.marks import error_line, label_places
from borestudy.rounding import in_short, with_uncertainty

#: Bars from the softest flow rate, or the lowest register, to the loudest or highest: darker.
SHADES = ("#7fb5dc", "#2f7fbf", "#0b3c6f")
#: Bores that have a row each; more are drawn as marks along what is varied.
ROWS = 8
#: Heights of a bar with its number, of the gap between two rows, and of what is above and below
#: the rows [mm]; least height of a row with a section in it.
BAR_MM, GAP_MM, ROUND_MM, SECTION_MM = 4.2, 3.2, 22.0, 12.0
#: Widths of the sections, of a bore's words and of the gaps between them and the bars [mm].
THUMB_MM, WORDS_MM, BETWEEN_MM = 28.0, 34.0, 12.0
#: Width of a narrow figure's sections [mm].
NARROW_THUMB_MM = 16.0
#: What stands in the row of the first bore.
COMPARED = "the others are compared with this one"
IN_SHORT = " (others against it)"
#: The axis ends at most at as many times the longest bar.
MOST = 4.0
#: As often limits are widened for numbers whose width depends on them.
ROUNDS = 20


@dataclass(frozen=True)
class Series:
    """One change of every bore: its words, values and uncertainties, each of shape (n,).

    `key` is the column of a table that tells series apart, and this one's value in it.
    """

    label: str
    value: NDArray[np.float64]
    error: NDArray[np.float64]
    key: tuple[str, Any] = ("of", "")


@dataclass(frozen=True)
class Along:
    """Where bores stand along an axis, shape (n,), its words, and the rows that a line joins.

    `ticks` are words for the places 0, 1, …, None where the places are numbers.
    """

    x: NDArray[np.float64]
    words: str
    ticks: Sequence[str] | None = None
    lines: Sequence[tuple[str, NDArray[np.int64]]] = ()


@dataclass(frozen=True)
class Headline:
    """What the picture shows: bores by their words, sections, and changes of one quantity.

    Parameters
    ----------
    labels : sequence of str
        Words of each of the n bores; the first is what the others are held against.
    series : sequence of Series
        At most three, all in one unit: one for each flow rate, or for each register.
    quantity : str
        What changes, as words within a sentence: ``flow resistance``.
    unit : str
        ``%`` or ``cents``.
    less, more : str
        What a change below and above zero means.
    outlines : sequence of Outline
        The bores' wall lines; none for no sections.
    window : (float, float) or None
        From where to where [mm from the rim plane] sections are drawn; None for all of them.
    along : Along or None
        How more than eight bores are laid out.
    """

    labels: Sequence[str]
    series: Sequence[Series]
    quantity: str
    unit: str
    less: str
    more: str
    outlines: Sequence[Outline] = ()
    window: tuple[float, float] | None = None
    along: Along | None = field(default=None)

    @property
    def words(self) -> str:
        """What is along or across the axis of changes."""
        return f"change of the {self.quantity}, {self.unit}"


def series(label: str, value: ArrayLike, error: ArrayLike, key: tuple[str, Any]) -> Series:
    """A series from anything like an array, NaN for what is not known."""
    return Series(label, np.asarray(value, float), np.asarray(error, float), key)


def headline_figure(found: Headline) -> Figure:
    """The picture of a study's answer; call it inside `borestudy.drawing.style.styled`."""
    if len(found.labels) > ROWS and found.along is not None:
        return _line_figure(found, found.along)
    return _row_figure(found)


def _row_figure(found: Headline) -> Figure:
    """A row a bore: its section, its words, and a bar with its number for each series."""
    bars, rows, narrow = len(found.series), len(found.labels), looks.is_narrow()
    thumb_mm = (NARROW_THUMB_MM if narrow else THUMB_MM) if found.outlines else 0.0
    width = looks.width_mm() - thumb_mm - BETWEEN_MM - (0.0 if narrow else WORDS_MM)
    labels = list(found.labels)
    if narrow:
        labels[0] += IN_SHORT
    words = [wrapped(label, width if narrow else WORDS_MM, 8) for label in labels]
    # words above the bars of a narrow figure take room of the row
    above = looks.line_mm() * lines_of(words) + 1
    bars_mm = looks.points(BAR_MM) * bars
    tall = bars_mm + above if narrow else max(bars_mm, above)
    row_mm = max(tall, SECTION_MM if found.outlines else 0.0) + GAP_MM
    drawing = style.figure(ROUND_MM + row_mm * rows + (5 if bars > 1 else 0) * (1 + narrow))
    if found.outlines:
        grid = drawing.add_gridspec(rows, 2, width_ratios=(thumb_mm, width), hspace=0.12)
        axes = drawing.add_subplot(grid[:, 1])
        for row, outline in enumerate(found.outlines):
            draw_thumb(drawing.add_subplot(grid[row, 0], anchor="E"), outline, _span(found))
    else:
        axes = drawing.subplots()
    handles = []
    step = looks.points(BAR_MM) / row_mm
    for number, one in enumerate(found.series):
        middle = 0.5 * above / row_mm if narrow else 0.0
        places = np.arange(rows) + middle + (number - (bars - 1) / 2) * step
        handles.append(_bars(axes, places, one, found.unit, 0.72 * step, _shade(number, bars)))
    _limit(axes, found, width)
    axes.axvline(0, color="black", linewidth=0.9, zorder=3)
    if not narrow and all(one.value[0] == 0 for one in found.series):
        low, high = axes.get_xlim()
        left = -low > high  # where there is more room
        axes.annotate(
            COMPARED, (0, 0), (-4 if left else 4, 0), textcoords="offset points", va="center",
            ha="right" if left else "left", fontsize=looks.points(8), color=style.GREY,
        )  # fmt: skip
    for edge in np.arange(rows - 1) + 0.5:
        axes.axhline(edge, color="#d0d0d0", linewidth=0.6, zorder=0)
    axes.set_ylim(rows - 0.5, -0.5)
    axes.set_yticks([] if narrow else range(rows), [] if narrow else words)
    for row, label in enumerate(words if narrow else ()):
        where: Any = {"xycoords": ("axes fraction", "data"), "textcoords": "offset points"}
        look: Any = {"va": "top", "fontsize": looks.points(8)}
        axes.annotate(label, (0, row - 0.5), (0, -3), **where, **look)
    axes.tick_params(axis="y", length=0)
    axes.spines["left"].set_visible(False)
    axes.grid(visible=False, axis="y")
    axes.set_xlabel(found.words)
    _ends(axes, found, width / 2 - 1)
    if bars > 1:
        style.legend(drawing, handles, [one.label for one in found.series])
    return drawing


def _shade(number: int, count: int) -> str:
    """The colour of a series: the middle one of one."""
    return SHADES[1] if count == 1 else SHADES[number]


def _span(found: Headline) -> tuple[float, float]:
    """From where to where sections are drawn [mm]."""
    ends = [float(outline.position_mm[-1]) for outline in found.outlines]
    return found.window or (0.0, max(ends))


def _bars(
    axes: Any, places: NDArray[Any], one: Series, unit: str, height: float, colour: str
) -> Any:
    """Bars of one series with their uncertainty, each with its number at its end."""
    known = np.isfinite(one.value)
    error = np.where(np.isfinite(one.error), one.error, 0.0)
    handle = axes.barh(places[known], one.value[known], height, color=colour, zorder=2)
    moved = known & ((one.value != 0) | (error != 0))
    for colour_of, width in (("white", 2.2), ("black", 0.9)):  # seen on light and dark bars
        axes.errorbar(
            one.value[moved], places[moved], xerr=error[moved], fmt="none", ecolor=colour_of,
            elinewidth=width, capthick=width, capsize=2, zorder=4,
        )  # fmt: skip
    for place, value, width in zip(places, one.value, one.error, strict=True):
        if value == 0 and not width:
            continue
        side = -1 if value < 0 else 1
        end = value + side * (width if isfinite(width) else 0.0) if isfinite(value) else 0.0
        axes.annotate(
            _shown(value, width, unit), (end, place), (3 * side, 0),
            textcoords="offset points", va="center", ha="left" if side > 0 else "right",
            fontsize=looks.points(8), color="black" if isfinite(value) else style.GREY,
        )  # fmt: skip
    return handle


def number_text(value: float, error: float, unit: str) -> str:
    """A change with its sign and uncertainty, or why there is none."""
    if not isfinite(value):
        return "no result"
    sign = "+" if value > 0 else ""
    if not isfinite(error):
        return f"{sign}{with_uncertainty(value, None)} {unit}"
    return sign + in_short(value, error, unit)


def _shown(value: float, error: float, unit: str) -> str:
    """The number beside a bar; in a narrow figure the axis alone has the unit."""
    return number_text(value, error, "" if looks.is_narrow() else unit).strip()


def _limit(axes: Any, found: Headline, width_mm: float) -> None:
    """Let all bars and their numbers be seen."""
    ends = [
        (float(value), float(error) if isfinite(error) else 0.0, _shown(value, error, found.unit))
        for one in found.series
        for value, error in zip(one.value, one.error, strict=True)
        if isfinite(value) and (value or error)
    ]
    span = max((abs(value) + error for value, error, _ in ends), default=0.0) or 1.0
    low, high = -0.03 * span, 0.03 * span
    for _ in range(ROUNDS):
        per_mm = (high - low) / width_mm
        for value, error, words in ends:
            room = (text_width_mm(words, 8) + 3) * per_mm
            if value < 0:
                low = min(low, value - error - room)
            else:
                high = max(high, value + error + room)
        # where numbers on both sides leave no room for bars, some of them lie upon bars
        low, high = max(low, -MOST * span), min(high, MOST * span)
    axes.set_xlim(low, high)


def _ends(axes: Any, found: Headline, width_mm: float) -> None:
    """Say above the axes what a change to the left and to the right of zero means."""
    values = np.concatenate([one.value for one in found.series])
    if np.any(values < 0):
        axes.set_title(wrapped(f"← {found.less}", width_mm), loc="left", color=style.GREY)
    if np.any(values > 0):
        axes.set_title(wrapped(f"{found.more} →", width_mm), loc="right", color=style.GREY)


def _line_figure(found: Headline, along: Along) -> Figure:
    """Marks with uncertainties along what is varied, below three bores in section."""
    drawing = style.figure(looks.lower(92) + 26 * bool(found.outlines) + 24 * bool(along.ticks))
    if found.outlines:
        places = style.evenly_spaced(len(found.outlines), 3)
        grid = drawing.add_gridspec(2, len(places), height_ratios=(1, 4))
        axes = drawing.add_subplot(grid[1, :])
        for column, place in enumerate(places):
            small = drawing.add_subplot(grid[0, column])
            draw_thumb(small, found.outlines[place], _span(found))
            small.set_title(
                wrapped(found.labels[place], looks.width_mm() / 3 - 6), fontsize=looks.points(8)
            )
    else:
        axes = drawing.subplots()
    axes.axhline(0, color="black", linewidth=0.9)
    lines = [(words, rows, one) for one in found.series for words, rows in along.lines]
    for number, (words, rows, one) in enumerate(lines):
        look = style.line_style(number, max(len(lines), style.LEGEND_LIMIT))
        if len(along.lines) == 1:
            look |= {"color": _shade(number, len(found.series))}
        label = words or one.label
        error_line(axes, along.x[rows], one.value[rows], one.error[rows], label=label, **look)
    axes.set(xlabel=along.words, ylabel=found.words)
    axes.margins(x=0.06, y=0.08)
    if along.ticks is not None:
        label_places(axes, along.ticks)
    if len(lines) > 1:
        style.legend(drawing, *axes.get_legend_handles_labels())
    return drawing
