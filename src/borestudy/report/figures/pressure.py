"""Pressure: the drop against flow rate with its span, and the pressure along the axis."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from borestudy.drawing.bore import mark_parts
from borestudy.drawing.lettering import lines_of, wrapped
from borestudy.drawing.marks import error_line
from borestudy.drawing.style import (
    COLOURS,
    GREY,
    LINE_LIMIT,
    FigureRecord,
    evenly_spaced,
    figure,
    from_zero,
    hide_unused,
    key,
    line_style,
    save,
    styled,
    without_result,
)
from borestudy.flow.regime import LAMINAR_BELOW, TURBULENT_ABOVE
from borestudy.report.figures.case import CaseView
from borestudy.report.figures.trends import LAMINAR, column_of, converged_column
from borestudy.report.tables.flow import has_turbulent, is_converged, why_unsolved

PANEL_LIMIT = 6
TURBULENT_STYLE: Any = {
    "color": COLOURS[1],
    "linestyle": "--",
    "marker": "s",
    "markerfacecolor": "white",
}


@styled
def draw_pressure_drop(
    flow: pd.DataFrame,
    cases: Sequence[CaseView],
    directory: Path,
    boundaries: Sequence[float] = (LAMINAR_BELOW, TURBULENT_ABOVE),
) -> FigureRecord:
    """Draw pressure drop against flow rate, one panel a case, with the low-high span shaded."""
    solved = [case for case in cases if np.isfinite(_curve(_case_rows(flow, case))[1]).any()]
    shown = [solved[index] for index in evenly_spaced(len(solved), PANEL_LIMIT)]
    columns = min(3, len(shown))
    rows = -(-len(shown) // columns)
    titles = [wrapped(case.label, 140 / columns, weight="bold") for case in shown]
    drawing = figure(30 + (58 + 4 * lines_of(titles)) * rows)
    panels = drawing.subplots(rows, columns, sharex=True, sharey=True, squeeze=False)
    first = _case_rows(flow, shown[0])
    for index, (axes, case) in enumerate(zip(panels.flat, shown, strict=False)):
        if index:
            axes.plot(*_curve(first), color=GREY, linewidth=0.9, linestyle=(0, (2, 2)))
        _drop_panel(axes, _case_rows(flow, case), boundaries)
        axes.set_title(titles[index], loc="left", fontweight="bold")
        axes.set_xlim(0, 1.1 * flow["flow_rate_L_per_s"].max())
        axes.locator_params(axis="x", nbins=4)
    from_zero(list(panels.flat[: len(shown)]))
    hide_unused(panels, len(shown))
    drawing.supxlabel("flow rate, L/s", fontsize=8.5)
    drawing.supylabel("pressure drop rim to shank end, kPa", fontsize=8.5)
    _drop_key(drawing, flow, several=len(shown) > 1)
    some = f" {len(shown)} of {len(cases)} cases are shown." if len(shown) < len(cases) else ""
    some += without_result(cases, solved)
    return save(
        drawing,
        directory,
        "pressure-drop",
        title="Pressure drop against flow rate",
        caption="The pressure it takes to push steady air through the bore. Filled marks: laminar "
        "and trusted. Hollow marks: the flow computed as if it were wholly laminar or wholly "
        "turbulent; the truth lies somewhere in the shaded span. Grey: what handbooks say. "
        "Vertical lines: where the regime changes, by the throat Reynolds number on the upper "
        f"scale.{some}",
        alt=f"Pressure drop against flow rate for {len(shown)} case(s); beyond throat Reynolds "
        f"number {boundaries[0]:.0f} a low-to-high span is shaded.",
    )


def _case_rows(flow: pd.DataFrame, case: CaseView) -> pd.DataFrame:
    return flow[flow["case"] == case.name].sort_values("flow_rate_L_per_s")


def _curve(table: pd.DataFrame) -> tuple[np.ndarray, np.ndarray]:
    """Flow rate and pressure drop [kPa] of one case."""
    rate = table["flow_rate_L_per_s"].to_numpy(float)
    return rate, 1e-3 * converged_column(table, "pressure_drop_Pa")


def _drop_panel(axes: Any, table: pd.DataFrame, boundaries: Sequence[float]) -> None:
    rate, drop = _curve(table)
    error = 1e-3 * converged_column(table, "pressure_drop_Pa_uncertainty")
    low = 1e-3 * converged_column(table, "pressure_drop_low_Pa")
    high = 1e-3 * converged_column(table, "pressure_drop_high_Pa")
    laminar = (table["regime"] == LAMINAR).to_numpy()
    reaching = ~laminar
    # The span opens where the laminar range ends: shade from the last laminar rate on.
    reaching[:-1] |= ~laminar[1:]
    low, high = np.where(laminar, drop, low), np.where(laminar, drop, high)
    book = [1e-3 * column_of(table, f"handbook_pressure_drop_{end}_Pa") for end in ("low", "high")]
    axes.fill_between(rate, *book, where=~laminar, color=GREY, alpha=0.18, linewidth=0)
    axes.fill_between(rate, low, high, where=reaching, color=COLOURS[5], alpha=0.35, linewidth=0)
    mine = np.where(table["solution"] == LAMINAR, drop, np.nan)
    error_line(axes, rate, mine, error, color=COLOURS[0], marker="o", markerfacecolor="white")
    axes.plot(rate[laminar], drop[laminar], color=COLOURS[0], marker="o", linestyle="", zorder=3)
    closed = 1e-3 * column_of(table, "turbulent_pressure_drop_Pa")
    error = 1e-3 * column_of(table, "turbulent_pressure_drop_Pa_uncertainty")
    error_line(axes, rate, closed, error, **TURBULENT_STYLE)
    for missing, row in zip(rate, table.to_dict("records"), strict=True):
        if is_converged(row):
            continue
        axes.annotate(
            why_unsolved(row),
            (missing, 0.04),
            xycoords=("data", "axes fraction"),
            rotation=90,
            ha="center",
            fontsize=8,
            color=GREY,
        )
    _reynolds_scale(axes, table, boundaries)


def _reynolds_scale(axes: Any, table: pd.DataFrame, boundaries: Sequence[float]) -> None:
    """Add the upper scale, throat Reynolds number, and the lines where the regime changes."""
    ratio = (table["throat_reynolds"] / table["flow_rate_L_per_s"]).median()
    if not np.isfinite(ratio):
        return
    scale = axes.secondary_xaxis(
        "top", functions=(lambda rate: rate * ratio, lambda number: number / ratio)
    )
    scale.tick_params(labelsize=8, colors=GREY)
    scale.set_xticks(list(boundaries))
    low, high = scale.get_xticklabels()  # to either side, however near they are
    low.set_horizontalalignment("right")
    high.set_horizontalalignment("left")
    for boundary in boundaries:
        axes.axvline(boundary / ratio, color=GREY, linewidth=0.7, linestyle=(0, (1, 2)))


def _drop_key(drawing: Any, flow: pd.DataFrame, several: bool) -> None:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    laminar = Line2D([], [], color=COLOURS[0], marker="o")
    as_laminar = Line2D([], [], color=COLOURS[0], marker="o", markerfacecolor="white")
    entries = [
        (laminar, "laminar, as computed", (flow["solution"] == LAMINAR).any()),
        (as_laminar, "computed as if laminar", (flow["solution"] == LAMINAR).any()),
        (Line2D([], [], **TURBULENT_STYLE), "computed as if turbulent", has_turbulent(flow)),
        (Patch(color=COLOURS[5], alpha=0.35, linewidth=0), "low to high span", True),
        (Patch(color=GREY, alpha=0.18, linewidth=0), "handbooks", True),
        (Line2D([], [], color=GREY, linewidth=0.7, linestyle=(0, (1, 2))),
         "regime changes (Re above)", True),
        (Line2D([], [], color=GREY, linewidth=0.9, linestyle=(0, (2, 2))), "the first case again",
         several),
    ]  # fmt: skip
    shown = [(handle, label) for handle, label, is_there in entries if is_there]
    drawing.legend(*zip(*shown, strict=True), loc="outside upper center", ncols=3,
                   columnspacing=1.2)  # fmt: skip


@styled
def draw_axis_pressure(
    cases: Sequence[CaseView], flow_rate: float, directory: Path
) -> FigureRecord:
    """Draw the pressure along the axis at one flow rate [L/s], one line a case."""
    drawing = figure(92)
    axes = drawing.subplots()
    shown = [cases[index] for index in evenly_spaced(len(cases), LINE_LIMIT)]
    lines = [case.rate(flow_rate).get("axis") or {} for case in shown]
    values = [abs(value) for line in lines for value in line.get("pressure_Pa", [])]
    unit, scale = ("kPa", 1e-3) if max(values, default=0.0) >= 1000 else ("Pa", 1.0)
    handles: list[Any] = []
    labels: list[str] = []
    for index, (case, along) in enumerate(zip(shown, lines, strict=True)):
        position = np.asarray(along.get("position_mm", []), float)
        value = scale * np.asarray(along.get("pressure_Pa", []), float)
        style = {**line_style(index, len(shown)), "marker": ""}
        (handle,) = axes.plot(position, value, **style)
        handles.append(handle)
        labels.append(case.label if position.size else f"{case.label} ({case.unsolved})")
    axes.set_xlabel("distance from the rim plane, mm")
    axes.set_ylabel(f"pressure on the axis, {unit}")
    axes.set_xlim(0, max(case.outline.position_mm[-1] for case in shown))
    axes.margins(y=0.12)
    mark_parts(axes, shown[0].outline)
    key(drawing, axes, labels, handles)
    regimes = sorted({str(case.rate(flow_rate).get("regime", "")) for case in cases} - {""})
    return save(
        drawing,
        directory,
        "axis-pressure",
        title=f"Pressure along the bore at {flow_rate:g} L/s",
        caption="Air speeds up into the throat and its pressure falls there; a steep fall at the "
        "entry is entry loss, a rise in the backbore is pressure won back. Zero is at the "
        f"shank end. Laminar computation; regime at this rate: {', '.join(regimes) or 'unknown'}. "
        "Vertical lines: the parts of the first case.",
        alt=f"Pressure along the axis from rim to shank end at {flow_rate:g} L/s for "
        f"{len(cases)} case(s).",
    )
