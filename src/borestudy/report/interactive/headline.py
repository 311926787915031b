"""The chart of the answer: what changes between the bores, a row of bars a bore."""

from typing import Any

from borestudy.drawing.headline import ROWS, SHADES, Headline
from borestudy.report.figures.case import PicturedStudy
from borestudy.report.figures.headline import headline_of
from borestudy.report.interactive.panels import IS_SHOWN, Axis, Panel, Row, Words, panel
from borestudy.report.interactive.points import points_panel, with_errors
from borestudy.report.interactive.trends import LINE, Places, line_channels, rows_of
from borestudy.report.topic import Topic
from borestudy.rounding import with_uncertainty

#: Heights of a bar and of the gap between two bores [px].
BAR, GAP = 15, 16
#: Room for a number beside the longest bar, over what the bars span.
NUMBERS = 0.55
#: Half the height of a line of letters [px].
HALF_LINE = 6.5
WORDS = Words({LINE: "where", "value": "change"})


def headline_panels(study: PicturedStudy, topic: Topic) -> list[Panel]:
    """Bars of the changes, a row a bore, or marks along what is varied of many bores."""
    found = headline_of(study, topic)
    if found is None:
        return []
    title = f"Change of the {found.quantity} against the first bore"
    if len(found.labels) <= ROWS:
        return [_bars(found, f"{title} (left: {found.less}, right: {found.more})")]
    places, rows = Places(study), []
    for one in found.series:
        line = dict.fromkeys(places.group, one.label)
        rows += rows_of(study, places, one.value, one.error, _said(found, one), line)
    channels = line_channels([one.label for one in found.series], "change")
    axes = (places.axis, Axis(f"change, {found.unit}"))
    described = f"{title}: {found.unit} against {places.axis.label}, {len(found.labels)} bores."
    bores = len(study.charted)
    return [points_panel(title, described, bores, rows, axes, WORDS, channels, level_at=0)]


def _said(found: Headline, one: Any) -> list[dict[str, Any]]:
    """What is said of each bore's change in a series."""
    pairs = zip(one.value, one.error, strict=True)
    return [{"value": with_uncertainty(*pair, found.unit)} for pair in pairs]


def _bars(found: Headline, title: str) -> Panel:
    """A panel with a row a bore, and in it a bar each flow rate or register, darker the louder."""
    rows: list[Row] = []
    for one in found.series:
        said = _said(found, one)
        for number, (name, value, error) in enumerate(
            zip(found.labels, one.value, one.error, strict=True)
        ):
            words = {LINE: one.label, **said[number]}
            for row in with_errors(number, name, name, float(value), float(error), words):
                ends = {"low": row.pop("ylow"), "high": row.pop("yhigh")}
                rows.append({**row, **ends, "x": row["y"], "y": name})
    lines = [one.label for one in found.series]
    shades = SHADES[-len(lines) :]
    up = {
        "field": "y",
        "type": "nominal",
        "title": None,
        "sort": None,
        # a line of letters for each of a bore's dimensions that vary
        "axis": {
            "labelLimit": 150,
            "labelExpr": "split(datum.label, ', ')",
            "labelOffset": -HALF_LINE * max(name.count(", ") for name in found.labels),
            "domain": False,
            "ticks": False,
        },
    }
    offset = {"field": LINE, "type": "nominal", "sort": lines, "scale": {"paddingInner": 0.15}}
    # on a telephone three entries do not fit beside one another
    legend = {"title": None, "orient": "top", "columns": 2} if len(lines) > 1 else None
    scale = {"domain": lines, "range": list(shades)}
    colour = {"field": LINE, "type": "nominal", "scale": scale, "legend": legend}
    across = {
        "type": "quantitative",
        "title": f"change, {found.unit}",
        "scale": {"domain": _span(rows)},
    }
    shared = {"data": {"values": rows}, "transform": [IS_SHOWN]}
    bars: Panel = {
        **shared,
        "mark": {"type": "bar"},
        "encoding": {
            "x": {"field": "x", **across},
            "y": up,
            "yOffset": offset,
            "color": colour,
            **WORDS.channels(),
        },
    }
    errors = {
        **shared,
        "mark": {"type": "rule", "strokeWidth": 1.3, "color": "black", "aria": False},
        "encoding": {
            "x": {"field": "low", **across},
            "x2": {"field": "high"},
            "y": up,
            "yOffset": offset,
        },
    }
    numbers = [
        {
            "data": {"values": rows},
            "transform": [IS_SHOWN, {"filter": f"datum.x {sign} 0"}],
            "mark": {"type": "text", "align": side, "dx": gap, "fontSize": 11, "aria": False},
            "encoding": {
                "x": {"field": end, **across},
                "y": up,
                "yOffset": offset,
                "text": {"field": "value", "type": "nominal"},
            },
        }
        for sign, side, gap, end in (("<", "right", -4, "low"), (">", "left", 4, "high"))
    ]
    described = f"{title}, in {found.unit}, of {len(found.labels)} bores, with error bars."
    height = len(found.labels) * (BAR * len(lines) + GAP)
    return panel(title, described, len(found.labels), [bars, errors, *numbers], height=height)


def _span(rows: list[Row]) -> list[float]:
    """From where to where the axis goes: zero and all bars, with room for the numbers at them."""
    low, high = (min(row["low"] for row in rows), max(row["high"] for row in rows))
    low, high = min(low, 0.0), max(high, 0.0)
    room = NUMBERS * (high - low)
    return [low - room * (low < 0), high + room * (high > 0)]
