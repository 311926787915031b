"""How much the flow resistance changes against the first case: the maker's figure."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from borestudy.drawing.lettering import legend_columns, wrapped
from borestudy.drawing.marks import error_line
from borestudy.drawing.style import (
    GREY,
    LEGEND_LIMIT,
    FigureRecord,
    evenly_spaced,
    figure,
    hide_unused,
    line_style,
    save,
    styled,
)
from borestudy.report.figures.trends import (
    column_of,
    converged_column,
    label_cases,
    positions,
    rates_with_numbers,
)
from borestudy.results.merged_flow import LAMINAR, TURBULENT

CHANGE = "pressure_drop_change"
ENTRY_RADIUS = "entry_radius_mm"
RATE_LIMIT, PANEL_LIMIT = 5, 4
STYLES: dict[str, Any] = {
    LAMINAR: {"linestyle": "-", "marker": "o"},
    TURBULENT: {"linestyle": (0, (4, 2)), "marker": "s"},
}


@styled
def draw_resistance_change(
    comparison: pd.DataFrame,
    flow: pd.DataFrame,
    varied: Sequence[str],
    directory: Path,
) -> FigureRecord:
    """Draw the change of the flow resistance in percent, a line a flow rate and solution."""
    place = positions(comparison, varied)
    rates = rates_with_numbers(flow)
    chosen = [rates[index] for index in evenly_spaced(len(rates), RATE_LIMIT)]
    tables = {
        rate: flow[flow["flow_rate_L_per_s"] == rate].set_index("case").reindex(comparison["case"])
        for rate in chosen
    }
    groups = [place.groups[index] for index in evenly_spaced(len(place.groups), PANEL_LIMIT)]
    columns = min(2, len(groups))
    rows = -(-len(groups) // columns)
    drawing = figure(40 + 62 * rows if len(groups) > 1 else 108)
    panels = drawing.subplots(rows, columns, sharex=True, sharey=True, squeeze=False)
    # as in the figure of the resistance itself
    colours = [line_style(index, LEGEND_LIMIT)["color"] for index in range(len(chosen))]
    for axes, (name, members) in zip(panels.flat, groups, strict=False):
        members = members[np.argsort(place.x[members], kind="stable")]
        axes.axhline(0, color=GREY, linewidth=0.9)
        _handbook_band(axes, place.x[members], tables[chosen[-1]].iloc[members])
        for rate, colour in zip(chosen, colours, strict=True):
            _rate_lines(axes, place.x[members], tables[rate].iloc[members], colour)
        if name:
            axes.set_title(
                wrapped(name, 150 / columns, weight="bold"), loc="left", fontweight="bold"
            )
        label_cases(axes, place)
        axes.set_xlabel("")
    hide_unused(panels, len(groups))
    if list(varied) == [ENTRY_RADIUS] and "throat_diameter_mm" in comparison:
        _radius_share(panels[0], comparison)
    drawing.supxlabel(place.axis_label, fontsize=8.5)
    drawing.supylabel("change of the flow resistance, %", fontsize=8.5)
    _key(drawing, tables, colours)
    some = (
        f" {len(groups)} of {len(place.groups)} values of the other dimension are shown."
        if len(groups) < len(place.groups)
        else ""
    )
    return save(
        drawing,
        directory,
        "resistance-change",
        title=f"Change of the flow resistance with {place.axis_label.split(',')[0].lower()}",
        caption="Against the first case at the same flow rate, soft to loud; below "
        "zero is freer blowing. Solid: laminar solution, with filled marks where the flow is "
        "laminar. Dashed: turbulent solution. Where the flow is not laminar, believe a direction "
        "that both lines of a rate have; each size is one end of what may be. Bars are the "
        f"change’s own numerical uncertainty.{some}",
        alt=f"Change of the flow resistance in percent for {len(comparison)} case(s) at "
        f"{len(chosen)} flow rate(s), from the laminar and the turbulent solution.",
    )


def _rate_lines(axes: Any, x: np.ndarray, table: pd.DataFrame, colour: Any) -> None:
    """Both solutions' lines of one flow rate."""
    laminar = (table["regime"] == LAMINAR).to_numpy()
    for word, style in STYLES.items():
        name = f"{CHANGE}_{word}_percent"
        value = converged_column(table, name)
        error = converged_column(table, f"{name}_uncertainty")
        error_line(axes, x, value, error, color=colour, **style, markerfacecolor="white")
        if word == LAMINAR:
            filled = {**style, "linestyle": ""}
            axes.plot(x[laminar], value[laminar], color=colour, **filled, zorder=3)


def _handbook_band(axes: Any, x: np.ndarray, table: pd.DataFrame) -> None:
    ends = [column_of(table, f"handbook_{CHANGE}_{end}_percent") for end in ("low", "high")]
    axes.fill_between(x, *np.sort(ends, axis=0), color=GREY, alpha=0.18, linewidth=0)


def _key(drawing: Any, tables: dict[float, pd.DataFrame], colours: Sequence[str]) -> None:
    """What the lines are: the rates that are drawn, both solutions, and the handbooks."""
    handles: list[Any] = []
    labels = []
    for (rate, table), colour in zip(tables.items(), colours, strict=True):
        handles.append(Line2D([], [], color=colour, linewidth=2.5))
        labels.append(f"{rate:g} L/s, {' or '.join(sorted(set(table['regime'].dropna())))}")
    for word, style in STYLES.items():
        if any(_has_number(table, f"{CHANGE}_{word}_percent") for table in tables.values()):
            handles.append(Line2D([], [], color="black", markerfacecolor="white", **style))
            labels.append(f"{word} solution")
    loudest = max(tables)
    if _has_number(tables[loudest], f"handbook_{CHANGE}_low_percent"):
        handles.append(Patch(color=GREY, alpha=0.18, linewidth=0))
        labels.append(f"handbooks, {loudest:g} L/s")
    drawing.legend(
        handles,
        labels,
        loc="outside upper center",
        ncols=legend_columns(labels),
        handlelength=2.8,
        columnspacing=1.4,
    )


def _has_number(table: pd.DataFrame, name: str) -> bool:
    """Tell whether a table has a number in a column of that name."""
    return bool(np.isfinite(column_of(table, name)).any())


def _radius_share(panels: Sequence[Any], comparison: pd.DataFrame) -> None:
    """Add the edge's radius over the throat's diameter as an upper scale, where that is one."""
    diameters = comparison["throat_diameter_mm"].dropna()
    if diameters.empty or np.ptp(diameters) > 1e-6 * diameters.iloc[0]:
        return
    diameter = float(diameters.iloc[0])
    for axes in panels:
        scale = axes.secondary_xaxis(
            "top", functions=(lambda radius: radius / diameter, lambda share: share * diameter)
        )
        scale.set_xlabel("radius over throat diameter", color=GREY, fontsize=8)
        scale.tick_params(labelsize=8, colors=GREY)
