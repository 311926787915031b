"""The pressure drop against flow rate, with its span."""

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from borestudy.drawing import style
from borestudy.drawing.lettering import lines_of, wrapped
from borestudy.drawing.marks import error_line, second_scale, write_upright
from borestudy.flow.regime import LAMINAR_BELOW, TURBULENT_ABOVE
from borestudy.report.captions import save
from borestudy.report.figures import positions as of
from borestudy.report.figures.case import PicturedStudy
from borestudy.report.tables.flow import has_turbulent, is_converged, why_unsolved
from borestudy.results.merged_flow import LAMINAR

PANEL_LIMIT = 6
LAMINAR_STYLE: Any = {"color": style.COLOURS[0], "marker": "o"}
HOLLOW: Any = {**LAMINAR_STYLE, "markerfacecolor": "white"}
TURBULENT_STYLE: Any = {**HOLLOW, "color": style.COLOURS[1], "linestyle": "--", "marker": "s"}
SPAN: Any = {"color": style.COLOURS[5], "alpha": 0.35, "linewidth": 0}
HANDBOOKS: Any = {"color": style.GREY, "alpha": 0.18, "linewidth": 0}
BOUNDARY: Any = {"color": style.GREY, "linewidth": 0.7, "linestyle": (0, (1, 2))}
FIRST_CASE: Any = {"color": style.GREY, "linewidth": 0.9, "linestyle": (0, (2, 2))}
#: Throat Reynolds numbers at which the regime word changes.
REGIME_BOUNDARIES = (LAMINAR_BELOW, TURBULENT_ABOVE)


@style.styled
def draw_pressure_drop(study: PicturedStudy, directory: Path) -> style.FigureRecord:
    """Draw pressure drop against flow rate, one panel a case, with the low-high span shaded."""
    cases = study.cases
    rows_of = dict(tuple(study.solved.sort_values("flow_rate_L_per_s").groupby("case")))
    solved = [case for case in cases if of.has_numbers(rows_of[case.name], "pressure_drop_Pa")]
    shown = style.sample(solved, PANEL_LIMIT)
    columns = min(3, len(shown))
    rows = -(-len(shown) // columns)
    titles = [wrapped(case.label, 140 / columns, weight="bold") for case in shown]
    drawing = style.figure(30 + (58 + 4 * lines_of(titles)) * rows)
    panels = drawing.subplots(rows, columns, sharex=True, sharey=True, squeeze=False)
    for index, (axes, case) in enumerate(zip(panels.flat, shown, strict=False)):
        if index:
            axes.plot(*_curve(rows_of[shown[0].name]), **FIRST_CASE)
        _drop_panel(axes, rows_of[case.name])
        axes.set_title(titles[index], loc="left", fontweight="bold")
        axes.set_xlim(0, 1.1 * study.flow["flow_rate_L_per_s"].max())
        axes.locator_params(axis="x", nbins=4)
    style.from_zero(list(panels.flat[: len(shown)]))
    style.hide_unused(panels, len(shown))
    drawing.supxlabel("flow rate, L/s")
    drawing.supylabel("pressure drop rim to shank end, kPa")
    _key(drawing, study.flow, several=len(shown) > 1)
    some = style.left_out(shown, cases) + style.without_result(cases, solved)
    words = {"count": len(shown), "reynolds": LAMINAR_BELOW, "some": some}
    return save(drawing, directory, "pressure-drop", **words)


def _curve(table: pd.DataFrame) -> tuple[np.ndarray, np.ndarray]:
    """Flow rate and pressure drop [kPa] of one case."""
    rate = table["flow_rate_L_per_s"].to_numpy(float)
    return rate, 1e-3 * of.column_of(table, "pressure_drop_Pa")


def _drop_panel(axes: Any, table: pd.DataFrame) -> None:
    rate, drop = _curve(table)

    def kilo(name: str) -> np.ndarray:
        return 1e-3 * of.column_of(table, name)

    low, high = kilo("pressure_drop_low_Pa"), kilo("pressure_drop_high_Pa")
    books = [kilo(f"handbook_pressure_drop_{end}_Pa") for end in ("low", "high")]
    laminar = of.is_laminar(table)
    reaching = ~laminar
    # The span opens where the laminar range ends: shade from the last laminar rate on.
    reaching[:-1] |= ~laminar[1:]
    low, high = np.where(laminar, drop, low), np.where(laminar, drop, high)
    axes.fill_between(rate, *books, where=~laminar, **HANDBOOKS)
    axes.fill_between(rate, low, high, where=reaching, **SPAN)
    mine = table.where(table["solution"] == LAMINAR)
    of.laminar_line(axes, rate, mine, "pressure_drop_Pa", 1e-3, **LAMINAR_STYLE)
    turbulent = [kilo(f"turbulent_pressure_drop_Pa{end}") for end in ("", "_uncertainty")]
    error_line(axes, rate, *turbulent, **TURBULENT_STYLE)
    for missing, row in zip(rate, table.to_dict("records"), strict=True):
        if not is_converged(row):
            write_upright(axes, missing, 0.04, why_unsolved(row), "baseline")
    _reynolds_scale(axes, table)


def _reynolds_scale(axes: Any, table: pd.DataFrame) -> None:
    """Add the upper scale, throat Reynolds number, and the lines where the regime changes."""
    ratio = (table["throat_reynolds"] / table["flow_rate_L_per_s"]).median()
    if not np.isfinite(ratio):
        return
    scale = second_scale(axes, lambda rate: rate * ratio, lambda number: number / ratio)
    scale.set_xticks(list(REGIME_BOUNDARIES))
    low, high = scale.get_xticklabels()  # to either side, however near they are
    low.set_horizontalalignment("right")
    high.set_horizontalalignment("left")
    for boundary in REGIME_BOUNDARIES:
        axes.axvline(boundary / ratio, **BOUNDARY)


def _key(drawing: Any, flow: pd.DataFrame, several: bool) -> None:
    has_laminar = bool((flow["solution"] == LAMINAR).any())
    entries = {
        "laminar, as computed": (Line2D([], [], **LAMINAR_STYLE), has_laminar),
        "computed as if laminar": (Line2D([], [], **HOLLOW), has_laminar),
        "computed as if turbulent": (Line2D([], [], **TURBULENT_STYLE), has_turbulent(flow)),
        "low to high span": (Patch(**SPAN), True),
        "handbooks": (Patch(**HANDBOOKS), True),
        "regime changes (Re above)": (Line2D([], [], **BOUNDARY), True),
        "the first case again": (Line2D([], [], **FIRST_CASE), several),
    }
    shown = {words: handle for words, (handle, is_there) in entries.items() if is_there}
    style.legend(drawing, shown.values(), list(shown))
