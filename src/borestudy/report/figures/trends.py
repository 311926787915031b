"""Resonance, flow resistance and its change against what the study varies."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.lines import Line2D

from borestudy.drawing import looks, style
from borestudy.drawing.lettering import wrapped
from borestudy.drawing.marks import error_line, mark_missing, second_scale
from borestudy.report.captions import save, text
from borestudy.report.figures import positions as of
from borestudy.report.figures.case import PicturedStudy, reference_rate
from borestudy.report.figures.drawn_data import columns_of
from borestudy.report.tables.flow import why_unsolved

PANEL_MM = 42.0  # width of one of three panels beside each other
SIDE_MM = 50.0  # longest line of words along a vertical axis
#: What is drawn of the first resonance: column and label.
RESONANCE = (
    ("resonance_change_cents", "first resonance, cents"),
    ("resonance_Q_change_percent", "Q of the first resonance, %"),
    ("impedance_peak_change_percent", "height of its peak, %"),
)
CHANGE = "pressure_drop_change_percent"
ENTRY_RADIUS = "entry_radius_mm"
RATE_LIMIT, PANEL_LIMIT = 5, 4


@style.styled
def draw_resonance(study: PicturedStudy, directory: Path) -> style.FigureRecord | None:
    """Draw changes of frequency, Q and height of the first resonance with the varied dimension."""
    comparison = study.comparison
    if len(comparison) < 2 or not of.has_numbers(comparison, RESONANCE[0][0]):
        return None
    place = of.positions(comparison, study.varied)
    # words under the axis need its whole length, so the panels then stand one above the other
    above = place.tick_labels is not None or looks.is_narrow()
    drawing = style.figure(150 if above else 66)
    panels = drawing.subplots(3, 1, sharex=True) if above else drawing.subplots(1, 3)
    for axes, (column, label) in zip(panels, RESONANCE, strict=True):
        value = of.column_of(comparison, column)
        error = of.column_of(comparison, column + "_uncertainty")
        axes.axhline(0, color=style.GREY, linewidth=0.9)
        for index, (name, rows) in enumerate(place.groups):
            line = style.line_style(index, len(place.groups))
            error_line(axes, place.x[rows], value[rows], error[rows], label=name, **line)
        axes.set_title(label if above else wrapped(label, PANEL_MM), loc="left")
        axes.ticklabel_format(axis="y", useOffset=False)
        of.label_cases(axes, place)
        axes.set_xlabel("")
        mark_missing(axes, place.x, ~np.isfinite(value), "no value")
    drawing.supxlabel(place.axis_label)
    if len(place.groups) > 1:
        style.legend(drawing, *panels[0].get_legend_handles_labels())
    first = [of.column_of(comparison, name)[0] for name in ("resonance_Hz", "resonance_Q")]
    base = text("resonance-trend", "base", resonance=first[0], quality=first[1])
    words = {"dimension": place.subject, "base": base if np.isfinite(first).all() else ""}
    names = [*study.varied, *(column for column, _ in RESONANCE)]
    data = columns_of(comparison, names, study.labels)
    return save(drawing, directory, "resonance-trend", data, count=len(comparison), **words)


@style.styled
def draw_resistance(study: PicturedStudy, directory: Path) -> style.FigureRecord | None:
    """Draw flow resistance Δp/Q against the varied dimension, one line a flow rate."""
    comparison = study.comparison
    if len(comparison) < 2:
        return None
    place = of.positions(comparison, study.varied)
    drawing = style.figure(92)
    axes = drawing.subplots()
    several = len(place.groups) > 1  # two dimensions: the lines are the second one, at one rate
    rates = [reference_rate(comparison, study.flow)] if several else study.rates
    tables = study.at_rates(style.sample(rates, style.LEGEND_LIMIT))
    lines = [(rate, group) for rate in tables for group in place.groups]
    reasons = np.full(len(comparison), "", dtype=object)
    for index, (rate, (name, rows)) in enumerate(lines):
        table = tables[rate].iloc[rows]
        aside = _spread(place.x, len(lines)) * (index - (len(lines) - 1) / 2)
        _resistance_line(axes, place.x[rows] + aside, table, rate, index, name)
        missing = ~np.isfinite(of.column_of(table, "pressure_drop_Pa"))
        reasons[rows[missing]] = [why_unsolved(row) for row in table[missing].to_dict("records")]
    axes.set_ylabel(wrapped("flow resistance Δp/Q, kPa·s/L", SIDE_MM))
    style.from_zero([axes])
    of.label_cases(axes, place)
    for words in dict.fromkeys(reasons[reasons != ""]):
        mark_missing(axes, place.x, reasons == words, words)
    names = [name or f"{rate:g} L/s" for rate, (name, _) in lines]
    style.legend(drawing, _handles(len(lines)), names)
    turning = not all(of.is_laminar(table).all() for table in tables.values())
    words = {
        "dimension": place.subject,
        "at_rate": f" at {next(iter(tables)):g} L/s" if several else "",
        "turning": text("resistance-trend", "turning") if turning else "",
    }
    counts = {"count": len(comparison), "rates": len(tables)}
    data = pd.concat([_resistances(table, rate, study.labels) for rate, table in tables.items()])
    return save(drawing, directory, "resistance-trend", data, **words, **counts)


def _resistances(table: pd.DataFrame, rate: float, labels: Sequence[str]) -> pd.DataFrame:
    """Flow resistances at a rate with both errors' ends, as they are drawn."""
    scale = 1e-3 / rate  # Pa at a rate in L/s to kPa·s/L
    stem = "flow_resistance"
    columns = {
        f"{stem}_kPa_s_per_L": "pressure_drop_Pa",
        f"{stem}_kPa_s_per_L_uncertainty": "pressure_drop_Pa_uncertainty",
        f"{stem}_low_kPa_s_per_L": "pressure_drop_low_Pa",
        f"{stem}_high_kPa_s_per_L": "pressure_drop_high_Pa",
    }
    found = {new: scale * of.column_of(table, old) for new, old in columns.items()}
    return pd.DataFrame({"case": labels, "flow_rate_L_per_s": rate, **found})


def _handles(count: int) -> list[Line2D]:
    """What the lines look like in a legend."""
    styles = [style.line_style(index, style.LEGEND_LIMIT) for index in range(count)]
    return [Line2D([], [], **line) for line in styles]


def _spread(x: np.ndarray, lines: int) -> float:
    """How far neighbouring lines stand apart, so that their bars do not hide each other."""
    gaps = np.diff(np.unique(x))
    return min(0.012 * float(np.ptp(x)), 0.5 * float(gaps.min()) / lines) if gaps.size else 0.01


def _resistance_line(
    axes: Any, x: np.ndarray, table: pd.DataFrame, rate: float, index: int, name: str
) -> None:
    """One line of resistances, with capped bars of the numerical and pale ones of both errors."""
    line = style.line_style(index, style.LEGEND_LIMIT)
    scale = 1e-3 / rate  # Pa at a rate in L/s to kPa·s/L
    low, high = (scale * of.column_of(table, f"pressure_drop_{end}_Pa") for end in ("low", "high"))
    label = name or f"{rate:g} L/s"
    of.laminar_line(axes, x, table, "pressure_drop_Pa", scale, label=label, **line)
    width = max(0.5, min(5.0, 75 / len(x)))
    axes.vlines(x, low, high, color=line["color"], alpha=0.28, linewidth=width)


@style.styled
def draw_resistance_change(study: PicturedStudy, directory: Path) -> style.FigureRecord | None:
    """Draw the change of the flow resistance in percent, a line a flow rate."""
    comparison, varied = study.comparison, study.varied
    if len(comparison) < 2 or not of.has_numbers(study.flow, CHANGE):
        return None
    place = of.positions(comparison, varied)
    rates = style.sample(study.rates, RATE_LIMIT)
    tables = study.at_rates(rates)
    groups = style.sample(place.groups, PANEL_LIMIT)
    columns = 1 if looks.is_narrow() else min(2, len(groups))
    rows = -(-len(groups) // columns)
    height = looks.lower(40 + 62 * rows if len(groups) > 1 else 108)
    drawing = style.figure(40 + 55 * rows if looks.is_narrow() and len(groups) > 1 else height)
    panels = drawing.subplots(rows, columns, sharex=True, sharey=True, squeeze=False)
    for axes, (name, members) in zip(panels.flat, groups, strict=False):
        axes.axhline(0, color=style.GREY, linewidth=0.9)
        for index, (rate, table) in enumerate(tables.items()):
            aside = _spread(place.x, len(tables)) * (index - (len(tables) - 1) / 2)
            # as in the figure of the resistance itself
            line = style.line_style(index, style.LEGEND_LIMIT) | {"label": f"{rate:g} L/s"}
            of.laminar_line(axes, place.x[members] + aside, table.iloc[members], CHANGE, **line)
        if name:
            title = wrapped(name, (looks.width_mm() - 20) / columns, weight="bold")
            axes.set_title(title, loc="left", fontweight="bold")
        of.label_cases(axes, place)
        axes.set_xlabel("")
    style.hide_unused(panels, len(groups))
    if list(varied) == [ENTRY_RADIUS] and "throat_diameter_mm" in comparison:
        _radius_share(panels[0], comparison)
    drawing.supxlabel(place.axis_label)
    drawing.supylabel("change of the flow resistance, %")
    style.legend(drawing, _handles(len(tables)), [f"{rate:g} L/s" for rate in tables])
    some = style.left_out(groups, place.groups, "values of the other dimension")
    turning = not all(of.is_laminar(table).all() for table in tables.values())
    words = {
        "dimension": place.subject,
        "some": some,
        "turning": text("resistance-trend", "turning") if turning else "",
    }
    counts = {"count": len(comparison), "rates": len(rates)}
    data = pd.concat(
        [
            columns_of(table, [CHANGE], study.labels).assign(flow_rate_L_per_s=rate)
            for rate, table in tables.items()
        ]
    ).rename(columns=lambda name: name.replace("pressure_drop", "flow_resistance"))
    return save(drawing, directory, "resistance-change", data, **words, **counts)


def _radius_share(panels: Sequence[Any], comparison: pd.DataFrame) -> None:
    """Add the edge's radius over the throat's diameter as an upper scale, where that is one."""
    diameters = comparison["throat_diameter_mm"].dropna()
    if diameters.empty or np.ptp(diameters) > 1e-6 * diameters.iloc[0]:
        return
    diameter = float(diameters.iloc[0])
    for axes in panels:
        scale = second_scale(axes, lambda radius: radius / diameter, lambda share: share * diameter)
        scale.set_xlabel("radius over throat diameter", color=style.GREY, fontsize=looks.points(8))
