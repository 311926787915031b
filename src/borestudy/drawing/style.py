"""What all figures share: print sizes, colours for colour-blind readers too, stable files."""

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import wraps
from math import ceil
from pathlib import Path
from typing import Any, ParamSpec, TypeVar

import matplotlib
import matplotlib.style
import numpy as np
from matplotlib.colors import ListedColormap
from matplotlib.figure import Figure

from borestudy.drawing import looks
from borestudy.drawing.lettering import FAMILIES, legend_columns, lines_of, wrapped
from borestudy.files import replacing

MILLIMETRE = 1 / 25.4  # inches, matplotlib's unit of length
FULL_WIDTH = looks.FULL_MM * MILLIMETRE
DPI = 200  # of the PNG files and of pictures inside the SVG files

#: Okabe & Ito (2008), without the yellow, which is too pale for lines on white paper.
COLOURS = ("#0072B2", "#D55E00", "#009E73", "#CC79A7", "#000000", "#E69F00", "#56B4E9", "#777777")
DASHES = ("-", "--", "-.", ":", (0, (5, 1, 1, 1, 1, 1)), (0, (3, 1)), (0, (1, 1)), (0, (8, 2)))
MARKERS = ("o", "s", "^", "D", "v", "P", "X", "*")
#: More cases than this are coloured along a sequence with a colour bar instead of a legend.
LEGEND_LIMIT = 8
#: More lines than this cannot be told apart: evenly spaced ones stand for all.
LINE_LIMIT = 40

#: As many cases without a result are named.
NAMED = 3
Item = TypeVar("Item")
Arguments = ParamSpec("Arguments")
Drawn = TypeVar("Drawn")
#: What a legend's entry has not of the width, and the widest line beside a colour bar, also of
#: a narrow figure.
LEGEND_MM, BAR_MM, NARROW_BAR_MM = 30.0, 34.0, 20.0

GREY = "#5a5a5a"
METAL = "#d9d5cc"

#: Letters of the usual look [pt].
SIZES = {
    "font.size": 8.5,
    "figure.labelsize": 8.5,
    "axes.titlesize": 8.5,
    "axes.labelsize": 8.5,
    "xtick.labelsize": 8,
    "ytick.labelsize": 8,
    "legend.fontsize": 8,
}
SETTINGS: Any = {
    "font.sans-serif": [FAMILIES["sans-serif"], "Arial", "Helvetica"],
    "font.serif": [FAMILIES["serif"], "Times New Roman", "Times"],
    "font.monospace": [FAMILIES["monospace"], "Courier New", "Courier"],
    "legend.frameon": False,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.linewidth": 0.7,
    "lines.linewidth": 1.3,
    "lines.markersize": 4.5,
    "errorbar.capsize": 2.5,
    "axes.grid": True,
    "grid.color": "#e3e3e3",
    "grid.linewidth": 0.5,
    "axes.axisbelow": True,
    "figure.facecolor": "white",
    "text.parse_math": False,  # a dollar sign in a case's name is a dollar sign
    "svg.hashsalt": "borestudy",
    "svg.fonttype": "none",
    "pdf.fonttype": 42,  # letters stay letters, to be searched and edited
    "image.composite_image": False,
}


def styled(draw: Callable[Arguments, Drawn]) -> Callable[Arguments, Drawn]:
    """Run a drawing function under the settings and the look, whatever the user's own are."""

    @wraps(draw)
    def run(*arguments: Arguments.args, **keywords: Arguments.kwargs) -> Drawn:
        letters = {name: looks.points(size) for name, size in SIZES.items()}
        chosen: Any = {"font.family": looks.current().font}
        with matplotlib.style.context(["default", SETTINGS | letters | chosen]):
            return draw(*arguments, **keywords)

    return run


@dataclass(frozen=True)
class FigureRecord:
    """One finished figure: where its files are and the words that go with it.

    `on_paper` tells whether a printed report needs it; others only add to what it shows.  The
    drawn data is at `csv_path`.
    """

    name: str
    title: str
    caption: str
    alt: str
    svg_path: Path
    png_path: Path
    on_paper: bool = True
    csv_path: Path | None = None


def figure(height_mm: float) -> Figure:
    """Make an empty figure as wide as the look says, of a height [mm]; call inside `styled`."""
    size = (looks.width_mm() * MILLIMETRE, height_mm * MILLIMETRE)
    return Figure(figsize=size, layout="constrained")


def save(
    drawing: Figure,
    directory: Path,
    name: str,
    *,
    title: str,
    caption: str,
    alt: str,
    data: Any = None,
) -> FigureRecord:
    """Write a figure in the look's formats, the same bytes for the same figure on every run.

    The drawn `data`, a DataFrame with one header row, is written beside it as ``NAME.csv``.
    """
    record = FigureRecord(
        name, title, caption, alt, directory / f"{name}.svg", directory / f"{name}.png"
    )
    if looks.current().only and name not in looks.current().only:
        return record
    drawing.draw_without_rendering()  # lay out once, not once a file
    drawing.set_layout_engine("none")
    for ending in looks.current().formats:
        save_as(drawing, directory / f"{name}.{ending}")
    if data is None:
        return record
    csv_path = directory / f"{name}.csv"
    words = data.to_csv(index=False, lineterminator="\n")
    with replacing(csv_path) as file:
        # a spreadsheet takes letters beyond ASCII for others without a byte order mark
        encoding = "utf-8" if words.isascii() else "utf-8-sig"
        file.write_text(words, encoding=encoding, newline="")
    return replace(record, csv_path=csv_path)


def save_as(drawing: Figure, path: Path) -> None:
    """Write one file in the format of its ending, without a time stamp."""
    stamps: dict[str, dict[str, Any]] = {
        ".svg": {"Date": None, "Creator": "borestudy"},
        ".pdf": {"CreationDate": None, "Creator": "borestudy"},
        ".png": {"Software": None},
    }
    kind = path.suffix.lower()
    with replacing(path) as file:
        drawing.savefig(file, dpi=DPI, metadata=stamps.get(kind), format=kind[1:])
        if kind == ".svg":
            file.write_text(shorten_paths(file.read_text(encoding="utf-8")), encoding="utf-8")


def shorten_paths(svg: str) -> str:
    """Cut path coordinates to hundredths of a point, which print cannot show; halves the file."""
    number = re.compile(r"(\.\d\d)\d+")
    return re.sub(r' d="[^"]*"', lambda match: number.sub(r"\1", match.group(0)), svg)


def evenly_spaced(count: int, limit: int) -> list[int]:
    """Indices of at most `limit` of `count` items: first, last and evenly spaced others."""
    if count <= limit:
        return list(range(count))
    return sorted({int(index) for index in np.linspace(0, count - 1, limit).round()})


def sample(items: Sequence[Item], limit: int = LINE_LIMIT) -> list[Item]:
    """At most `limit` of some items, evenly spaced."""
    return [items[index] for index in evenly_spaced(len(items), limit)]


def left_out(shown: Sequence[Any], every: Sequence[Any], what: str = "bores") -> str:
    """A sentence that says how many are shown, where those are not all."""
    return f" {len(shown)} of {len(every)} {what} are shown." if len(shown) < len(every) else ""


def line_style(index: int, count: int) -> dict[str, Any]:
    """Colour, dash and marker of line `index` of `count`, from the short or the long palette."""
    if count <= LEGEND_LIMIT:
        return {"color": COLOURS[index], "linestyle": DASHES[index], "marker": MARKERS[index]}
    return {"color": sequence_colours(count)[index], "linestyle": "-", "marker": "o"}


def plain_line(index: int, count: int, **more: Any) -> dict[str, Any]:
    """The same without a marker."""
    return {**line_style(index, count), "marker": "", **more}


def sequence_colours(count: int) -> np.ndarray:
    """`count` colours along cividis, shape (count, 4), without its palest end."""
    return matplotlib.colormaps["cividis"](np.linspace(0.0, 0.88, count))


def legend(drawing: Figure, handles: Iterable[Any], labels: Sequence[str]) -> None:
    """Explain lines and marks above a figure, in as many columns as fit."""
    widths: Any = {"handlelength": 2.8, "columnspacing": 1.4, "ncols": legend_columns(labels)}
    drawing.legend(list(handles), labels, loc="outside upper center", **widths)


def key(drawing: Figure, axes: Any, labels: Sequence[str], handles: Iterable[Any]) -> None:
    """Explain the colours: a legend above for few cases, a colour bar beside for many."""
    count = len(labels)
    if count == 1:
        return
    if count <= LEGEND_LIMIT:
        legend(
            drawing, handles, [wrapped(label, looks.width_mm() - LEGEND_MM, 8) for label in labels]
        )
        return
    norm = matplotlib.colors.BoundaryNorm(np.arange(count + 1) - 0.5, count)
    mappable = matplotlib.cm.ScalarMappable(norm, ListedColormap(sequence_colours(count)))
    beside = NARROW_BAR_MM if looks.is_narrow() else BAR_MM
    words = [wrapped(label, beside, 8) for label in labels]
    segment = (drawing.get_figheight() / MILLIMETRE - 20) / count
    apart = ceil(looks.line_mm() * (lines_of(words) + 0.5) / segment)
    ticks = evenly_spaced(count, 1 + (count - 1) // apart)
    bar = drawing.colorbar(mappable, ax=axes, ticks=ticks, pad=0.015, aspect=30)
    bar.ax.set_yticklabels([words[tick] for tick in ticks])
    bar.ax.tick_params(length=0)
    bar.ax.minorticks_off()


def from_zero(panels: Sequence[Any]) -> None:
    """Let the vertical axis of panels of one scale begin at zero, with room above what is drawn.

    Matplotlib's own margin is a share of what the data span, which is nothing beside an axis from
    zero where all values are alike: their marks would be cut in half by the frame.
    """
    top = max(float(axes.dataLim.y1) for axes in panels)
    for axes in panels:
        axes.set_ylim(0, 1.07 * top if np.isfinite(top) and top > 0 else 1)


def without_result(cases: Sequence[Any], shown: Sequence[Any]) -> str:
    """A sentence that names the cases a figure leaves out since they have nothing to show."""
    missing = [case.label for case in cases if case not in shown]
    if not missing:
        return ""
    more = f" and {len(missing) - NAMED} more" if len(missing) > NAMED else ""
    return f" Without a result: {'; '.join(missing[:NAMED])}{more}."


def hide_unused(panels: Any, count: int) -> None:
    """Hide the panels after the first `count` and number the axes that are now the lowest."""
    for axes in panels.flat[count:]:
        axes.set_visible(False)
    for axes in panels.flat[max(0, count - panels.shape[1]) : count]:
        axes.tick_params(labelbottom=True)
