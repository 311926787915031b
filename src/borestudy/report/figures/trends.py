"""Resonance and flow resistance against what the study varies, with error bars."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from borestudy.drawing.lettering import legend_columns, wrapped
from borestudy.drawing.marks import error_line, mark_missing
from borestudy.drawing.style import (
    COLOURS,
    LEGEND_LIMIT,
    FigureRecord,
    evenly_spaced,
    figure,
    from_zero,
    line_style,
    save,
    styled,
)
from borestudy.report.figures.case import reference_rate
from borestudy.report.labels import label_of, name_of, plain, split_unit
from borestudy.report.tables.flow import why_unsolved

LAMINAR = "laminar"
RASTER_LIMIT = 120  # more points than this are stored as a picture, not one by one
PANEL_MM = 42.0  # width of one of three panels beside each other
TICK_MM = 38.0  # widest line of a case's words under the axis


@dataclass(frozen=True)
class Positions:
    """Where each case stands on the horizontal axis, and which cases one line joins."""

    x: np.ndarray
    tick_labels: list[str] | None
    axis_label: str
    groups: list[tuple[str, np.ndarray]]


def positions(comparison: pd.DataFrame, varied: Sequence[str]) -> Positions:
    """Lay the cases out along the first numeric varied dimension, else in the study's order.

    With two dimensions, the other one tells the lines apart, as long as there are few of them.
    """
    every = np.arange(len(comparison))
    # A number parsed from "0.5 mm" and a word ("square") in one column stay categories.
    numeric = [name for name in varied if pd.api.types.is_numeric_dtype(comparison[name])]
    if len(varied) == 1 and numeric:
        return Positions(column_of(comparison, varied[0]), None, label_of(varied[0]), [("", every)])
    if len(varied) == 1:
        texts = [plain(value) for value in comparison[varied[0]]]
        return Positions(every.astype(float), texts, name_of(varied[0]), [("", every)])
    if len(varied) == 2:
        along = numeric[0] if numeric else varied[0]
        across = next(name for name in varied if name != along)
        names = list(dict.fromkeys(comparison[across]))
        if len(names) <= LEGEND_LIMIT:
            groups = [
                (f"{_value_text(across, value)}", np.flatnonzero(comparison[across] == value))
                for value in names
            ]
            if along in numeric:
                return Positions(column_of(comparison, along), None, label_of(along), groups)
            order = {value: place for place, value in enumerate(dict.fromkeys(comparison[along]))}
            place = comparison[along].map(order).to_numpy(float)
            return Positions(place, [plain(value) for value in order], name_of(along), groups)
    words = comparison["label"] if "label" in comparison else comparison["case"]
    return Positions(every.astype(float), [str(word) for word in words], "case", [("", every)])


def _value_text(column: str, value: Any) -> str:
    unit = split_unit(column)[1]
    return f"{name_of(column).lower()} {plain(value)}{' ' + unit if unit else ''}"


def column_of(table: pd.DataFrame, name: str) -> np.ndarray:
    """A column as floats, NaN throughout if the table has none of that name."""
    if name not in table:
        return np.full(len(table), np.nan)
    return pd.to_numeric(table[name], errors="coerce").to_numpy(float)


@styled
def draw_resonance(
    comparison: pd.DataFrame, varied: Sequence[str], directory: Path
) -> FigureRecord:
    """Draw frequency, Q and height of the first resonance against the varied dimension."""
    place = positions(comparison, varied)
    # words under the axis need its whole length, so the panels then stand one above the other
    above = place.tick_labels is not None
    drawing = figure(150 if above else 66)
    panels = drawing.subplots(3, 1, sharex=True) if above else drawing.subplots(1, 3)
    quantities = (
        ("resonance_Hz", "first resonance, Hz", 1.0),
        ("resonance_Q", "Q of the first resonance", 1.0),
        ("impedance_peak_Pa_s_per_m3", "height of the peak, MPa·s/m³", 1e-6),
    )
    for axes, (column, label, scale) in zip(panels, quantities, strict=True):
        value = scale * column_of(comparison, column)
        error = scale * column_of(comparison, column + "_uncertainty")
        for index, (name, rows) in enumerate(place.groups):
            style = line_style(index, len(place.groups))
            rows = rows[np.argsort(place.x[rows], kind="stable")]
            error_line(axes, place.x[rows], value[rows], error[rows], label=name, **style)
        axes.set_title(label if above else wrapped(label, PANEL_MM), loc="left")
        axes.ticklabel_format(axis="y", useOffset=False)
        label_cases(axes, place)
        axes.set_xlabel("")
        mark_missing(axes, place.x, ~np.isfinite(value), "no value")
    drawing.supxlabel(place.axis_label, fontsize=8.5)
    if len(place.groups) > 1:
        handles, labels = panels[0].get_legend_handles_labels()
        drawing.legend(handles, labels, loc="outside upper center", ncols=legend_columns(labels))
    return save(
        drawing,
        directory,
        "resonance-trend",
        title=f"First resonance against {place.axis_label.split(',')[0].lower()}",
        caption="Higher in the first panel is a higher-pitched bore; a higher Q or peak is a "
        "stronger, narrower resonance. Bars are the numerical uncertainty (about 95 %); where "
        "none is visible it is smaller than the mark.",
        alt=f"Frequency, Q and height of the first resonance for {len(comparison)} case(s), with "
        "error bars.",
    )


@styled
def draw_resistance(
    comparison: pd.DataFrame,
    flow: pd.DataFrame,
    varied: Sequence[str],
    directory: Path,
) -> FigureRecord:
    """Draw flow resistance Δp/Q against the varied dimension, one line a flow rate."""
    place = positions(comparison, varied)
    drawing = figure(92)
    axes = drawing.subplots()
    rates = rates_with_numbers(flow)
    if len(place.groups) > 1:  # two dimensions: the lines are the second one, at one rate
        rates = [reference_rate(comparison, flow)]
    chosen = [rates[index] for index in evenly_spaced(len(rates), LEGEND_LIMIT)]
    tables = {
        rate: flow[flow["flow_rate_L_per_s"] == rate].set_index("case").reindex(comparison["case"])
        for rate in chosen
    }
    lines = [(rate, group) for rate in chosen for group in place.groups]
    reasons = np.full(len(comparison), "", dtype=object)
    for index, (rate, (name, rows)) in enumerate(lines):
        rows = rows[np.argsort(place.x[rows], kind="stable")]
        table = tables[rate].iloc[rows]
        aside = _spread(place.x, len(lines)) * (index - (len(lines) - 1) / 2)
        _resistance_line(axes, place.x[rows] + aside, table, rate, index, name or f"{rate:g} L/s")
        missing = ~np.isfinite(converged_column(table, "pressure_drop_Pa"))
        reasons[rows[missing]] = [why_unsolved(row) for row in table[missing].to_dict("records")]
    axes.set_ylabel("flow resistance Δp/Q, kPa·s/L")
    from_zero([axes])
    label_cases(axes, place)
    for words in dict.fromkeys(reasons[reasons != ""]):
        mark_missing(axes, place.x, reasons == words, words)
    if len(place.groups) > 1:
        handles, labels = axes.get_legend_handles_labels()
        drawing.legend(handles, labels, loc="outside upper center", ncols=legend_columns(labels))
    beyond = any((table["regime"] != LAMINAR).any() for table in tables.values())
    note = (
        " Beyond the laminar range (hollow marks) the true value is somewhere along the pale bar, "
        "from one solution to the other, or to the handbooks where there is one solution."
        if beyond
        else ""
    )
    at_rate = f" at {chosen[0]:g} L/s" if len(place.groups) > 1 else ""
    return save(
        drawing,
        directory,
        "resistance-trend",
        title=f"Flow resistance against {place.axis_label.split(',')[0].lower()}{at_rate}",
        caption="Lower is freer blowing: less pressure for the same air. Small bars with caps are "
        f"the numerical uncertainty.{note}",
        alt=f"Flow resistance for {len(comparison)} case(s) at {len(chosen)} flow rate(s), with "
        "error bars.",
    )


def rates_with_numbers(flow: pd.DataFrame) -> list[float]:
    """Flow rates [L/s] at which any case has a number; all of them where none has."""
    every = sorted(set(flow["flow_rate_L_per_s"]))
    known = np.isfinite(converged_column(flow, "pressure_drop_Pa"))
    return sorted(set(flow["flow_rate_L_per_s"][known])) or every


def _spread(x: np.ndarray, lines: int) -> float:
    """How far neighbouring lines stand apart, so that their bars do not hide each other."""
    gaps = np.diff(np.unique(x))
    return min(0.012 * float(np.ptp(x)), 0.5 * float(gaps.min()) / lines) if gaps.size else 0.01


def _resistance_line(
    axes: Any, x: np.ndarray, table: pd.DataFrame, rate: float, index: int, name: str
) -> None:
    """One line of resistances; filled marks where laminar, hollow ones and spans beyond."""
    style = line_style(index, LEGEND_LIMIT)
    scale = 1e-3 / rate  # Pa at a rate in L/s to kPa·s/L
    value = scale * converged_column(table, "pressure_drop_Pa")
    error = scale * converged_column(table, "pressure_drop_Pa_uncertainty")
    low = scale * converged_column(table, "pressure_drop_low_Pa")
    high = scale * converged_column(table, "pressure_drop_high_Pa")
    laminar = (table["regime"] == LAMINAR).to_numpy()
    error_line(axes, x, value, error, **style, markerfacecolor="white", label=name)
    axes.plot(x[laminar], value[laminar], **{**style, "linestyle": ""}, zorder=3)
    beyond = ~laminar
    span = {"color": style["color"], "alpha": 0.28, "linewidth": max(0.5, min(5.0, 75 / len(x)))}
    axes.vlines(x[beyond], low[beyond], high[beyond], **span)
    finite = np.flatnonzero(np.isfinite(value))
    if finite.size and name.endswith("L/s"):  # rates lie apart, so their names fit at the ends
        axes.annotate(
            name,
            (x[finite[-1]], value[finite[-1]]),
            xytext=(8, 0),
            textcoords="offset points",
            va="center",
            fontsize=8,
            color=style["color"] if style["color"] in COLOURS[:4] else "black",
            annotation_clip=False,
        )


def converged_column(table: pd.DataFrame, name: str) -> np.ndarray:
    """A flow column as floats, NaN in rows whose solve did not converge."""
    value = column_of(table, name)
    if "converged" in table:
        good = table["converged"].map(lambda flag: str(flag).lower() in ("true", "1", "1.0"))
        value = np.where(good.to_numpy(bool), value, np.nan)
    return value


def label_cases(axes: Any, place: Positions) -> None:
    """Label the horizontal axis: numbers with their unit, or the cases' words."""
    axes.set_xlabel(place.axis_label)
    axes.margins(x=0.08)
    if len(place.x) > RASTER_LIMIT:
        for artist in (*axes.lines, *axes.collections):
            artist.set_rasterized(True)
    if place.tick_labels is None:
        return
    shown = evenly_spaced(len(place.tick_labels), 12)
    texts = [wrapped(place.tick_labels[index], TICK_MM, 8) for index in shown]
    long = sum(len(text) for text in texts) > 20
    axes.set_xticks(shown, texts, rotation=38 if long else 0, ha="right" if long else "center")
    for text in axes.get_xticklabels():
        text.set_rotation_mode("anchor")
