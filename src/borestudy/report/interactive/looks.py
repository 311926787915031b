"""What tells lines apart in a chart: colour, dash and shape, as in the figures for print."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from matplotlib.colors import to_hex

from borestudy.drawing import style

#: Dashes in widths of the line, by matplotlib's words for them.
DASHES = {"-": (1, 0), "--": (3.7, 1.6), "-.": (6.4, 1.6, 1, 1.6), ":": (1, 1.65)}
#: Shapes of marks by matplotlib's words, as paths in a square from -1 to 1.
SHAPES = {
    "o": "M-.9,0A.9,.9,0,1,1,.9,0A.9,.9,0,1,1,-.9,0Z",
    "s": "M-.8,-.8L.8,-.8L.8,.8L-.8,.8Z",
    "^": "M0,-1L.95,.75L-.95,.75Z",
    "D": "M0,-1.05L1.05,0L0,1.05L-1.05,0Z",
    "v": "M0,1L.95,-.75L-.95,-.75Z",
    "P": "M-.35,-1L.35,-1L.35,-.35L1,-.35L1,.35L.35,.35"
    "L.35,1L-.35,1L-.35,.35L-1,.35L-1,-.35L-.35,-.35Z",
    "X": "M-1,-.5L-.5,-1L0,-.45L.5,-1L1,-.5L.45,0L1,.5L.5,1L0,.45L-.5,1L-1,.5L-.45,0Z",
    "*": "M0,-1L.25,-.35L.95,-.31L.4,.13L.59,.81L0,.42L-.59,.81L-.4,.13L-.95,-.31L-.25,-.35Z",
}  # fmt: skip
LINE_WIDTH = 1.7


@dataclass(frozen=True)
class Look:
    """Colour, dash [px] and shape of one line with its marks."""

    colour: str
    dash: tuple[float, ...]
    shape: str


def looks(count: int) -> list[Look]:
    """Looks of `count` lines, those of the figures for print (`style.line_style`)."""
    found = []
    for index in range(count):
        line = style.line_style(index, count)
        dash = line["linestyle"]
        lengths = DASHES[dash] if isinstance(dash, str) else dash[1]
        dashes = tuple(round(LINE_WIDTH * length, 2) for length in lengths)
        found.append(Look(to_hex(line["color"]), dashes, SHAPES[line["marker"]]))
    return found


def scales(field: str, names: Sequence[Any], legend: str = "") -> dict[str, dict[str, Any]]:
    """Channels that tell lines apart by a field; with a legend of that title, if there is one.

    Parameters
    ----------
    field : str
        Field of the rows that holds one of the names.
    names : sequence
        All names, in the order of their looks; the looks stay when some are not shown.
    legend : str
        Heading of the legend; no legend without.

    Returns
    -------
    dict
        The channels ``color``, ``strokeDash`` and ``shape`` of Vega-Lite.
    """
    every = looks(len(names))
    ranges: dict[str, list[Any]] = {
        "color": [one.colour for one in every],
        "strokeDash": [list(one.dash) for one in every],
        "shape": [one.shape for one in every],
    }
    key = {"title": legend, "orient": "top", "symbolSize": 60} if legend else None
    kind = {"field": field, "type": "nominal", "legend": key}
    return {
        channel: {**kind, "scale": {"domain": list(names), "range": values}}
        for channel, values in ranges.items()
    }
