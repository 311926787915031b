"""How much the flow resistance changes against the first case: the maker's figure."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from borestudy.drawing import style
from borestudy.drawing.lettering import wrapped
from borestudy.drawing.marks import second_scale
from borestudy.report.captions import save
from borestudy.report.figures import positions as of
from borestudy.report.figures.case import PicturedStudy
from borestudy.results.merged_flow import LAMINAR, TURBULENT

CHANGE = "pressure_drop_change"
ENTRY_RADIUS = "entry_radius_mm"
RATE_LIMIT, PANEL_LIMIT = 5, 4
STYLES: dict[str, Any] = {
    LAMINAR: {"linestyle": "-", "marker": "o"},
    TURBULENT: {"linestyle": (0, (4, 2)), "marker": "s"},
}
BAND: dict[str, Any] = {"color": style.GREY, "alpha": 0.18, "linewidth": 0}


@style.styled
def draw_resistance_change(study: PicturedStudy, directory: Path) -> style.FigureRecord | None:
    """Draw the change of the flow resistance in percent, a line a flow rate and solution."""
    comparison, varied = study.comparison, study.varied
    names = [f"{CHANGE}_{word}_percent" for word in STYLES]
    if len(comparison) < 2 or not any(of.has_numbers(study.flow, name) for name in names):
        return None
    place = of.positions(comparison, varied)
    rates = style.sample(study.rates, RATE_LIMIT)
    tables = study.at_rates(rates)
    groups = style.sample(place.groups, PANEL_LIMIT)
    columns = min(2, len(groups))
    rows = -(-len(groups) // columns)
    drawing = style.figure(40 + 62 * rows if len(groups) > 1 else 108)
    panels = drawing.subplots(rows, columns, sharex=True, sharey=True, squeeze=False)
    # as in the figure of the resistance itself
    colours = dict(zip(tables, style.COLOURS, strict=False))
    for axes, (name, members) in zip(panels.flat, groups, strict=False):
        x = place.x[members]
        axes.axhline(0, color=style.GREY, linewidth=0.9)
        loudest = tables[rates[-1]].iloc[members]
        names = [f"handbook_{CHANGE}_{end}_percent" for end in ("low", "high")]
        ends = [of.column_of(loudest, name) for name in names]
        axes.fill_between(x, *np.sort(ends, axis=0), **BAND)
        for rate, table in tables.items():
            _rate_lines(axes, x, table.iloc[members], colours[rate])
        if name:
            title = wrapped(name, 150 / columns, weight="bold")
            axes.set_title(title, loc="left", fontweight="bold")
        of.label_cases(axes, place)
        axes.set_xlabel("")
    style.hide_unused(panels, len(groups))
    if list(varied) == [ENTRY_RADIUS] and "throat_diameter_mm" in comparison:
        _radius_share(panels[0], comparison)
    drawing.supxlabel(place.axis_label)
    drawing.supylabel("change of the flow resistance, %")
    _key(drawing, tables, colours)
    some = style.left_out(groups, place.groups, "values of the other dimension")
    words = {"dimension": place.subject, "count": len(comparison), "rates": len(rates)}
    return save(drawing, directory, "resistance-change", some=some, **words)


def _rate_lines(axes: Any, x: np.ndarray, table: pd.DataFrame, colour: Any) -> None:
    """Both solutions' lines of one flow rate."""
    for word, line in STYLES.items():
        rows = table if word == LAMINAR else table.assign(regime=word)  # never filled
        of.laminar_line(axes, x, rows, f"{CHANGE}_{word}_percent", color=colour, **line)


def _key(drawing: Any, tables: Mapping[float, pd.DataFrame], colours: Mapping[float, Any]) -> None:
    """What the lines are: the rates that are drawn, both solutions, and the handbooks."""
    entries: list[tuple[Any, str]] = []
    for rate, table in tables.items():
        regimes = " or ".join(sorted(set(table["regime"].dropna())))
        handle = Line2D([], [], color=colours[rate], linewidth=2.5)
        entries.append((handle, f"{rate:g} L/s, {regimes}"))
    for word, line in STYLES.items():
        if any(of.has_numbers(table, f"{CHANGE}_{word}_percent") for table in tables.values()):
            handle = Line2D([], [], color="black", markerfacecolor="white", **line)
            entries.append((handle, f"{word} solution"))
    loudest = max(tables)
    if of.has_numbers(tables[loudest], f"handbook_{CHANGE}_low_percent"):
        entries.append((Patch(**BAND), f"handbooks, {loudest:g} L/s"))
    handles, words = zip(*entries, strict=True)
    style.legend(drawing, handles, words)


def _radius_share(panels: Sequence[Any], comparison: pd.DataFrame) -> None:
    """Add the edge's radius over the throat's diameter as an upper scale, where that is one."""
    diameters = comparison["throat_diameter_mm"].dropna()
    if diameters.empty or np.ptp(diameters) > 1e-6 * diameters.iloc[0]:
        return
    diameter = float(diameters.iloc[0])
    for axes in panels:
        scale = second_scale(axes, lambda radius: radius / diameter, lambda share: share * diameter)
        scale.set_xlabel("radius over throat diameter", color=style.GREY, fontsize=8)
