"""Marks on axes: points with error bars, and words in places that no other mark takes."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.collections import LineCollection
from numpy.typing import NDArray

from borestudy.drawing import looks
from borestudy.drawing.lettering import wrapped
from borestudy.drawing.style import GREY, evenly_spaced

#: Gaps that are named one by one.
WORDS_LIMIT = 8
#: How near a mark has to be to be met, along the axis, and what it takes up of it across.
NEAR, MARK = 0.03, 0.03
#: Widest line of words under a horizontal axis, and as many places that have some.
TICK_MM, TICK_LIMIT = 38.0, 12


def error_line(axes: Any, x: Any, value: Any, error: NDArray[np.float64], **style: Any) -> Any:
    """Draw points joined by a line, with capped bars of the given half height."""
    return axes.errorbar(x, value, yerr=np.where(np.isfinite(error), error, 0.0), **style)


def write_beside(
    axes: Any, place: tuple[float, float], words: str, gap: float, **style: Any
) -> None:
    """Write small words to the right of a place, a gap of some points away."""
    beside: Any = {"xytext": (gap, 0), "textcoords": "offset points", "va": "center"}
    axes.annotate(words, place, **beside, fontsize=looks.points(8), **style)


def write_above(axes: Any, position: float, words: str) -> None:
    """Write small words above axes, at a place along them."""
    above: Any = {"xytext": (0, 3), "textcoords": "offset points", "va": "bottom"}
    _small(axes, words, (position, 1), **above)


def write_upright(axes: Any, position: float, height: float, words: str, va: str) -> None:
    """Write small words that turn upward, at a place along axes and at a share of their height."""
    _small(axes, words, (position, height), rotation=90, va=va)


def _small(axes: Any, words: str, place: tuple[float, float], **how: Any) -> None:
    where = ("data", "axes fraction")
    axes.annotate(
        words, place, xycoords=where, ha="center", fontsize=looks.points(8), color=GREY, **how
    )


def label_places(axes: Any, words: Sequence[str]) -> None:
    """Write words under the places 0, 1, … along axes, slanted where they are long."""
    shown = evenly_spaced(len(words), TICK_LIMIT)
    texts = [wrapped(words[index], TICK_MM, 8) for index in shown]
    long = sum(len(text) for text in texts) > 20
    axes.set_xticks(shown, texts, rotation=38 if long else 0, ha="right" if long else "center")
    for text in axes.get_xticklabels():
        text.set_rotation_mode("anchor")


def second_scale(axes: Any, forward: Any, back: Any) -> Any:
    """A scale along the top, of what follows from what is along the foot."""
    scale = axes.secondary_xaxis("top", functions=(forward, back))
    scale.tick_params(labelsize=looks.points(8), colors=GREY)
    return scale


def mark_missing(axes: Any, x: NDArray[np.float64], missing: NDArray[np.bool_], words: str) -> None:
    """Write words where a case has no value, so that a gap is not taken for an oversight.

    The cases stand at x, shape (n,); `missing`, shape (n,), tells which have no value.  Everything
    else is to be drawn before, and both limits are to stay.
    """
    if missing.sum() > WORDS_LIMIT:
        axes.set_title(f"{missing.sum()} of {len(x)}: {words}", loc="right", color=GREY)
        return
    for position in np.unique(x[missing]):
        low, high = _widest_gap(axes, float(position))
        place, va = (0.03, "bottom") if low == 0.0 else ((low + high) / 2, "center")
        write_upright(axes, position, place, words, va)


def _widest_gap(axes: Any, position: float) -> tuple[float, float]:
    """The longest stretch across the axes at a place along them that no mark or bar takes."""
    to_axes = axes.transData - axes.transAxes
    along = to_axes.transform((position, axes.get_ylim()[0]))[0]
    pieces = [
        np.column_stack([line.get_xdata(), line.get_ydata()])[:, None]
        for line in axes.lines
        if line.get_transform() == axes.transData
    ]
    pieces += [
        np.array(segment)[None]
        for collection in axes.collections
        if isinstance(collection, LineCollection)
        for segment in collection.get_segments()
    ]
    taken = [(0.0, 0.0), (1.0, 1.0)]
    for points in (points for piece in pieces for points in piece if len(points)):
        across = to_axes.transform(np.asarray(points, float))
        if np.isfinite(across).all() and (abs(across[:, 0] - along) < NEAR).all():
            taken.append((across[:, 1].min() - MARK, across[:, 1].max() + MARK))
    best, reached = (0.0, 0.0), 0.0
    for start, stop in sorted(taken):
        if start - reached > best[1] - best[0]:
            best = (reached, start)
        reached = max(reached, stop)
    return best
