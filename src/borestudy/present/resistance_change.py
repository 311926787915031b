"""How much the flow resistance changes against the first case, one line a flow rate."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from .style import (
    GREY,
    LEGEND_LIMIT,
    FigureRecord,
    evenly_spaced,
    figure,
    line_style,
    save,
    styled,
)
from .trends import LAMINAR, converged_column, error_line, label_cases, positions

CHANGE = "pressure_drop_change_percent"
ENTRY_RADIUS = "entry_radius_mm"


@styled
def draw_resistance_change(
    comparison: pd.DataFrame,
    flow: pd.DataFrame,
    varied: Sequence[str],
    directory: Path,
) -> FigureRecord:
    """Draw the change of the flow resistance in percent; beyond laminar flow its span as a bar."""
    place = positions(comparison, varied)
    rates = sorted(set(flow["flow_rate_L_per_s"]))
    chosen = [rates[index] for index in evenly_spaced(len(rates), LEGEND_LIMIT)]
    columns = min(2, len(chosen))
    rows = -(-len(chosen) // columns)
    drawing = figure(14 + 56 * rows)
    panels = drawing.subplots(rows, columns, sharex=True, squeeze=False)
    for index, (axes, rate) in enumerate(zip(panels.flat, chosen, strict=False)):
        table = flow[flow["flow_rate_L_per_s"] == rate].set_index("case")
        table = table.reindex(comparison["case"])
        axes.axhline(0, color=GREY, linewidth=0.9)
        for _, members in place.groups:
            members = members[np.argsort(place.x[members], kind="stable")]
            _change_line(axes, place.x[members], table.iloc[members], index)
        words = sorted(set(table["regime"].dropna()))
        axes.set_title(f"{rate:g} L/s, {' or '.join(words)}", loc="left", fontweight="bold")
        label_cases(axes, place)
        axes.set_xlabel("")
    for axes in list(panels.flat)[len(chosen) :]:
        axes.set_visible(False)
    if list(varied) == [ENTRY_RADIUS] and "throat_diameter_mm" in comparison:
        _radius_share(panels[0], comparison)
    drawing.supxlabel(place.axis_label, fontsize=8.5)
    drawing.supylabel("change of the flow resistance, %", fontsize=8.5)
    return save(
        drawing,
        directory,
        "resistance-change",
        title=f"Change of the flow resistance with {place.axis_label.split(',')[0].lower()}",
        caption="Against the first case at the same flow rate; below zero is freer blowing. Filled "
        "marks: laminar, as computed, with the change’s own numerical uncertainty. Pale bars: "
        "beyond the laminar range, from the change between both cases’ low values to that between "
        "their high ones; the hollow marks there are what a laminar flow would do. Each panel has "
        "its own scale.",
        alt=f"Change of the flow resistance in percent for {len(comparison)} case(s), one panel "
        f"for each of {len(chosen)} flow rate(s).",
    )


def _change_line(axes: Any, x: np.ndarray, table: pd.DataFrame, index: int) -> None:
    style = line_style(index, LEGEND_LIMIT)
    value = converged_column(table, CHANGE)
    error = converged_column(table, f"{CHANGE}_uncertainty")
    laminar = (table["regime"] == LAMINAR).to_numpy()
    low = converged_column(table, "pressure_drop_change_low_percent")
    high = converged_column(table, "pressure_drop_change_high_percent")
    beyond = ~laminar
    axes.vlines(x[beyond], low[beyond], high[beyond], color=style["color"], alpha=0.28, linewidth=7)
    if beyond.any():
        style["linewidth"] = 0.9
    error_line(axes, x, value, error, **style, markerfacecolor="white")
    axes.plot(x[laminar], value[laminar], **{**style, "linestyle": ""}, zorder=3)


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
