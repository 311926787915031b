"""The pressure drop against flow rate, with both of its errors."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from borestudy.drawing import looks, style
from borestudy.drawing.lettering import lines_of, wrapped
from borestudy.drawing.marks import second_scale, write_upright
from borestudy.report.captions import save, text
from borestudy.report.figures import positions as of
from borestudy.report.figures.case import PicturedStudy
from borestudy.report.tables.flow import has_extreme, is_converged, why_unsolved
from borestudy.results.estimate import EXTREMES, LAMINAR, TURBULENT

PANEL_LIMIT = 6
#: Curves nearer than this share of the first lie on each other in a panel of some centimetres.
CLOSE = 0.05
ESTIMATE: Any = {"color": style.COLOURS[0], "marker": "o"}
HOLLOW: Any = {**ESTIMATE, "markerfacecolor": "white"}
BOTH_ERRORS: Any = {"color": style.COLOURS[0], "alpha": 0.22, "linewidth": 0}
TURNS: Any = {"color": style.METAL, "alpha": 0.55, "linewidth": 0, "zorder": 0}
THIN: Any = {
    LAMINAR: {"color": style.COLOURS[2], "linewidth": 0.8, "linestyle": (0, (6, 2))},
    TURBULENT: {"color": style.COLOURS[1], "linewidth": 0.8, "linestyle": (0, (2, 1.5))},
}
FIRST_CASE: Any = {"color": "black", "linewidth": 0.9, "linestyle": (0, (4, 2, 1, 2))}
#: As many throat Reynolds numbers are written at most.
REYNOLDS_TICKS = 3


@style.styled
def draw_pressure_drop(study: PicturedStudy, directory: Path) -> style.FigureRecord:
    """Draw pressure drop against flow rate, one panel a case, in a band of both errors."""
    cases = study.cases
    rows_of = dict(tuple(study.solved.sort_values("flow_rate_L_per_s").groupby("case")))
    solved = [case for case in cases if of.has_numbers(rows_of[case.name], "pressure_drop_Pa")]
    within = coincide([rows_of[case.name] for case in solved])
    shown = solved[:1] if within else style.sample(solved, PANEL_LIMIT)
    columns = min(2 if looks.is_narrow() else 3, len(shown))
    rows = -(-len(shown) // columns)
    titles = [
        wrapped(case.label, (looks.width_mm() - 30) / columns, weight="bold") for case in shown
    ]
    drawing = style.figure(30 + (looks.lower(58) + looks.line_mm() * lines_of(titles)) * rows)
    panels = drawing.subplots(rows, columns, sharex=True, sharey=True, squeeze=False)
    for index, (axes, case) in enumerate(zip(panels.flat, shown, strict=False)):
        if index:
            axes.plot(*_curve(rows_of[shown[0].name]), **FIRST_CASE)
        _drop_panel(axes, rows_of[case.name])
        axes.set_title(titles[index], loc="left", fontweight="bold")
        axes.set_xlim(0, 1.1 * study.flow["flow_rate_L_per_s"].max())
        axes.locator_params(axis="x", nbins=2 if looks.is_narrow() else 4)
    style.from_zero(list(panels.flat[: len(shown)]))
    style.hide_unused(panels, len(shown))
    drawing.supxlabel("flow rate, L/s")
    drawing.supylabel("pressure drop rim to shank end, kPa")
    _key(drawing, study.flow, several=len(shown) > 1)
    asked = any(has_extreme(study.flow, word) for word in EXTREMES)
    turning = not of.is_laminar(study.flow).all()
    some = text("pressure-drop", "within") if within else style.left_out(shown, cases)
    words = {
        "some": some + style.without_result(cases, solved),
        "turning": text("pressure-drop", "turning") if turning else "",
        "extremes": text("pressure-drop", "extremes") if asked else "",
    }
    data = pd.concat([_drawn(rows_of[case.name], case.label) for case in shown])
    return save(drawing, directory, "pressure-drop", data, count=len(shown), **words)


def coincide(tables: Sequence[pd.DataFrame]) -> bool:
    """Whether every other case's curve lies in the first's band, too near to be told from it.

    Tables have a row a flow rate, in the same order.
    """
    if len(tables) < 2:
        return False
    first, low, high = (
        of.column_of(tables[0], f"pressure_drop_{part}Pa") for part in ("", "low_", "high_")
    )
    drops = np.array([of.column_of(table, "pressure_drop_Pa") for table in tables[1:]])
    near = abs(drops - first) < CLOSE * abs(first)
    return bool(np.all(near & (drops >= low) & (drops <= high)))


def _drawn(table: pd.DataFrame, label: str) -> pd.DataFrame:
    """What is drawn of one case, in kilopascals."""
    rate, drop = _curve(table)
    found = {"case": label, "flow_rate_L_per_s": rate, "pressure_drop_kPa": drop}
    parts = ["pressure_drop_Pa_uncertainty", "pressure_drop_low_Pa", "pressure_drop_high_Pa"]
    parts += [f"{word}_pressure_drop_Pa" for word in THIN if has_extreme(table, word)]
    for name in parts:
        found[name.replace("_Pa", "_kPa")] = 1e-3 * of.column_of(table, name)
    return pd.DataFrame(found | {"laminar_to_the_shank_end": of.is_laminar(table)})


def _curve(table: pd.DataFrame) -> tuple[np.ndarray, np.ndarray]:
    """Flow rate and pressure drop [kPa] of one case."""
    rate = table["flow_rate_L_per_s"].to_numpy(float)
    return rate, 1e-3 * of.column_of(table, "pressure_drop_Pa")


def _drop_panel(axes: Any, table: pd.DataFrame) -> None:
    rate, _ = _curve(table)

    def kilo(name: str) -> np.ndarray:
        return 1e-3 * of.column_of(table, name)

    axes.fill_between(
        rate, *(kilo(f"pressure_drop_{end}_Pa") for end in ("low", "high")), **BOTH_ERRORS
    )
    for word, line in THIN.items():
        axes.plot(rate, kilo(f"{word}_pressure_drop_Pa"), **line)
    of.laminar_line(axes, rate, table, "pressure_drop_Pa", 1e-3, **ESTIMATE)
    if (start := _turns_from(rate, of.is_laminar(table))) is not None:
        axes.axvspan(start, 10 * rate[-1], **TURNS)
    for missing, row in zip(rate, table.to_dict("records"), strict=True):
        if not is_converged(row):
            write_upright(axes, missing, 0.04, why_unsolved(row), "baseline")
    _reynolds_scale(axes, table)


def _turns_from(rate: np.ndarray, laminar: np.ndarray) -> float | None:
    """From which rate on to shade that the flow turns turbulent: midway to the last laminar one."""
    turning = np.flatnonzero(~laminar)
    if not turning.size:
        return None
    first = int(turning[0])
    return float((rate[first] + rate[first - 1]) / 2) if first else 0.0


def _reynolds_scale(axes: Any, table: pd.DataFrame) -> None:
    """Add the upper scale, the throat Reynolds number."""
    ratio = (table["throat_reynolds"] / table["flow_rate_L_per_s"]).median()
    if not np.isfinite(ratio):
        return
    scale = second_scale(axes, lambda rate: rate * ratio, lambda number: number / ratio)
    scale.locator_params(axis="x", nbins=1 if looks.is_narrow() else REYNOLDS_TICKS)


def _key(drawing: Any, flow: pd.DataFrame, several: bool) -> None:
    laminar = of.is_laminar(flow)
    entries = {
        "laminar to the shank end": (Line2D([], [], **ESTIMATE), laminar.any()),
        "turns turbulent in the bore": (Line2D([], [], **HOLLOW), not laminar.all()),
        "numerical and model error": (Patch(**BOTH_ERRORS), True),
        **{
            f"wholly {word}": (Line2D([], [], **line), has_extreme(flow, word))
            for word, line in THIN.items()
        },
        "the first bore again": (Line2D([], [], **FIRST_CASE), several),
    }
    shown = {words: handle for words, (handle, is_there) in entries.items() if is_there}
    style.legend(drawing, shown.values(), list(shown))
