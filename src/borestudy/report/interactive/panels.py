"""One panel of a chart in Vega-Lite: lines, marks with bars, and words where the pointer is."""

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from borestudy.report.interactive.looks import LINE_WIDTH

#: A panel as Vega-Lite reads it, and a row of its data.
Panel = dict[str, Any]
Row = dict[str, Any]
#: Fields of every row: the number of the bore, and its words.
NUMBER, BORE = "i", "bore"
#: The signal that holds the numbers of the bores that are shown.
SHOWN = "shown"
ROW = "(datum.datum || datum)"
IS_SHOWN = {"filter": f"indexof({SHOWN}, datum.{NUMBER}) >= 0"}
HEIGHT = 260
#: More marks than this are not read out one by one: the tables have them all.
READ_OUT = 60
#: Digits of a place on a chart; words have the digits of the table.
DIGITS = 6


@dataclass(frozen=True, kw_only=True)
class StudyCharts:
    """The panels of each chart by its figure's name, and the words of the bores by number."""

    bores: Sequence[str]
    panels: Mapping[str, Sequence[Panel]]


@dataclass(frozen=True)
class Axis:
    """An axis: its label, and how it is laid out; words instead of numbers where it has `names`.

    A scale that is linear below a value and logarithmic beyond it, on both sides of zero, has that
    value as `linear_below`.  `room` is what is left free beyond the outermost marks [px].
    """

    label: str
    is_log: bool = False
    from_zero: bool = False
    names: Sequence[str] = ()
    room: float = 0.0
    linear_below: float = 0.0

    def drawn(self, values: NDArray[np.float64]) -> NDArray[np.float64]:
        """Values as they lie along the axis, but for a factor and an offset."""
        if self.linear_below:
            return np.sign(values) * np.log1p(np.abs(values) / self.linear_below)
        return np.log(values) if self.is_log else values

    def channel(self, name: str) -> dict[str, Any]:
        """The channel of Vega-Lite, of the rows' field of that name."""
        if self.names:
            words = {"labelLimit": 95, "labelAngle": -50, "labelOverlap": "greedy"}
            kind = {"type": "nominal", "sort": None, "scale": {"domain": list(self.names)}}
            return {"field": name, "title": self.label, "axis": words, **kind}
        scale: dict[str, Any] = {"zero": self.from_zero, "nice": not self.is_log}
        scale |= {"padding": self.room} if self.room else {}
        if self.is_log:
            scale = {"type": "log", "nice": False}
        if self.linear_below:
            scale = {"type": "symlog", "constant": self.linear_below, "nice": False}
        # few and whole labels: on a telephone the axis is 300 px long
        axis = {"tickCount": 6, "labelOverlap": "greedy", "labelSeparation": 4}
        scaled = {"type": "quantitative", "scale": scale, "axis": axis}
        return {"field": name, "title": self.label, **scaled}


@dataclass(frozen=True)
class Words:
    """What is said of a mark: fields of its row with what stands before each."""

    fields: Mapping[str, str] = field(default_factory=dict)

    def channels(self) -> dict[str, Any]:
        """What Vega-Lite shows under the pointer and reads out: the bore, and then the fields.

        Where the pointer is merely near, a mark's row is that of the mark within the datum.
        """
        named = {BORE: BORE, **self.fields}
        pairs = [f"{json.dumps(title)}: {ROW}[{json.dumps(of)}]" for of, title in named.items()]
        read_out = " + ', ' + ".join(f"datum[{json.dumps(of)}]" for of in named)
        return {
            "tooltip": {"value": {"expr": f"{{{', '.join(pairs)}}}"}},
            "description": {"value": {"expr": read_out}},
        }


def rounded(value: float) -> float | None:
    """A place on a chart with as many digits as can be seen; None for what is no number."""
    return float(f"{value:.{DIGITS}g}") if np.isfinite(value) else None


def lines_data(lines: Iterable[tuple[int, Iterable[float], Iterable[float]]]) -> list[Row]:
    """Rows of lines, each a number of its bore and the places of all its points."""
    return [
        {NUMBER: number, "x": [rounded(x) for x in across], "y": [rounded(y) for y in up]}
        for number, across, up in lines
    ]


def zoom(*channels: str) -> dict[str, Any]:
    """The parameter that moves and stretches axes: drag, or the wheel with the shift key.

    The wheel alone scrolls the page, as everywhere else.
    """
    select = {"type": "interval", "encodings": list(channels), "zoom": "wheel![event.shiftKey]"}
    return {"name": "zoom", "select": select, "bind": "scales"}


def panel(title: str, description: str, bores: int, layers: Sequence[Panel], **more: Any) -> Panel:
    """A panel as wide as its place, in which bores can be switched off."""
    return {
        "title": {"text": title, "anchor": "start", "fontSize": 12},
        "description": description,
        "width": "container",
        "height": HEIGHT,
        "params": [{"name": SHOWN, "value": list(range(bores))}],
        "layer": list(layers),
        **more,
    }


def line_layer(rows: Sequence[Row], encoding: dict[str, Any], **mark: Any) -> Panel:
    """Lines, which are not read out one by one: the panel's description says what they are.

    A row is a point, or a whole line, with the places of all its points.
    """
    whole = any(isinstance(row["x"], list) for row in rows)
    look = {"type": "line", "clip": True, "strokeWidth": LINE_WIDTH, "aria": False, **mark}
    return {
        "data": {"values": list(rows)},
        "transform": [IS_SHOWN, *([{"flatten": ["x", "y"]}] if whole else [])],
        "mark": look,
        "encoding": encoding,
    }


def level(value: float) -> Panel:
    """A thin line across a panel at a value, such as no change."""
    mark = {"type": "rule", "color": "#5a5a5a", "strokeWidth": 1, "aria": False}
    channel = {"field": "y", "type": "quantitative"}
    return {"data": {"values": [{"y": value}]}, "mark": mark, "encoding": {"y": channel}}


def bars_layer(rows: Sequence[Row], encoding: dict[str, Any], ends: str = "y") -> Panel:
    """Bars from the fields `ENDSlow` to `ENDShigh` of rows that have both."""
    channels = {**encoding, ends: {**encoding[ends], "field": f"{ends}low"}}
    channels[f"{ends}2"] = {"field": f"{ends}high"}
    known = f"isValid(datum.{ends}low) && isValid(datum.{ends}high)"
    return {
        "data": {"values": list(rows)},
        "transform": [IS_SHOWN, {"filter": known}],
        "mark": {"type": "rule", "strokeWidth": 1.4, "clip": True, "aria": False},
        "encoding": channels,
    }


def marks_layer(
    rows: Sequence[Row], encoding: dict[str, Any], words: Words, visible: bool = True
) -> Panel:
    """Marks that say their words where the pointer is near; hidden ones are seen only then.

    A row whose field `hollow` is true has a mark that is white inside.
    """
    seen = {"condition": {"param": "near", "empty": False, "value": 1}, "value": float(visible)}
    size = {"condition": {"param": "near", "empty": False, "value": 130}, "value": 60}
    hollow = {"test": "datum.hollow === true", "value": "#ffffff"}
    fill = {**encoding["color"], "condition": hollow}
    near = {"type": "point", "on": "pointerover", "nearest": True, "clear": "pointerout"}
    mark = {"type": "point", "strokeWidth": LINE_WIDTH, "clip": True, "aria": len(rows) <= READ_OUT}
    more = {"opacity": seen, "size": size, "fill": fill, **words.channels()}
    return {
        "data": {"values": list(rows)},
        "transform": [IS_SHOWN],
        "params": [{"name": "near", "select": near}],
        "mark": mark,
        "encoding": {**encoding, **more},
    }


def without(encoding: Mapping[str, Any], *channels: str) -> dict[str, Any]:
    """An encoding without some channels, which a kind of mark does not have."""
    return {name: channel for name, channel in encoding.items() if name not in channels}
