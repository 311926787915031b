"""Charts of what a thousandth of an inch on each dimension does, a panel a quantity."""

from typing import Any

from borestudy.report.effects import UNITS, Effect, Effects
from borestudy.report.figures.case import PicturedStudy
from borestudy.report.figures.sensitivities import BARS, LESS, MORE, quantities_shown, rate_shown
from borestudy.report.interactive.panels import HEIGHT, Panel, rounded
from borestudy.rounding import with_uncertainty

#: Height of a bar with its words [px].
STEP = 22
#: What is said of a bar: fields of its row.
SAID = ("dimension", "step", "effect")


def sensitivity_panels(study: PicturedStudy) -> list[Panel]:
    """Ranked bars of the largest effects on each quantity of the first bore."""
    return [_panel(one) for one in quantities_shown(study.sensitivities, rate_shown(study))]


def _panel(effects: Effects) -> Panel:
    unit = UNITS.get(effects.unit, effects.unit)
    shown = effects.effects[:BARS]
    rows = [_row(one, unit) for one in shown]
    title = f"{effects.words[:1].upper()}{effects.words[1:]} {effects.at_rate}".strip()
    across = {"field": "x", "type": "quantitative", "title": f"effect, {unit}"}
    words: dict[str, Any] = {"sort": None, "title": None, "axis": {"labelLimit": 150}}
    up = {"field": "name", "type": "nominal", **words}
    told = [{"field": name, "title": name, "type": "nominal"} for name in SAID]
    colour = {"condition": {"test": "datum.x < 0", "value": LESS}, "value": MORE}
    layers: list[Panel] = []
    if effects.noise:
        noise = {"low": rounded(-effects.noise), "high": rounded(effects.noise)}
        layers.append(
            {
                "data": {"values": [noise]},
                "mark": {"type": "rect", "color": "#b5b5b5", "opacity": 0.5, "aria": False},
                "encoding": {
                    "x": {"field": "low", "type": "quantitative"},
                    "x2": {"field": "high"},
                },
            }
        )
    data = {"values": rows}
    layers.append(
        {
            "data": data,
            "mark": {"type": "bar", "height": {"band": 0.7}},
            "encoding": {
                "x": across,
                "y": up,
                "color": colour,
                "fillOpacity": {"condition": {"test": "datum.length", "value": 1}, "value": 0.5},
                "tooltip": told,
            },
        }
    )
    layers.append(
        {
            "data": data,
            "mark": {"type": "rule", "color": "black", "aria": False},
            "encoding": {
                "x": {"field": "low", "type": "quantitative"},
                "x2": {"field": "high"},
                "y": up,
            },
        }
    )
    described = f"Ranked bars: effect of 0.001 in on each dimension, on {effects.words}."
    return {
        "title": {"text": title, "anchor": "start", "fontSize": 12},
        "description": described,
        "width": "container",
        "height": max(HEIGHT // 3, STEP * len(rows)),
        "layer": layers,
    }


def _row(effect: Effect, unit: str) -> dict[str, Any]:
    """A bar with the ends of its uncertainty, and its words."""
    error = effect.uncertainty or 0.0
    step = "0.001 in more" if effect.is_of_length else "1 % of its range more"
    return {
        "name": effect.label if effect.is_of_length else f"{effect.label} (1 %)",
        "x": rounded(effect.value),
        "low": rounded(effect.value - error),
        "high": rounded(effect.value + error),
        "length": effect.is_of_length,
        "dimension": effect.label,
        "step": step,
        "effect": with_uncertainty(effect.value, effect.uncertainty, unit),
    }
