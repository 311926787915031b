"""Figures of a study of many cases: how its figures are distributed, and how they go with each
dimension."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.colors import LogNorm
from matplotlib.ticker import NullLocator, StrMethodFormatter

from borestudy.drawing import looks, style
from borestudy.drawing.lettering import wrapped
from borestudy.drawing.marks import label_places
from borestudy.report.captions import save, text
from borestudy.report.figures.positions import column_of, has_numbers
from borestudy.report.figures.trade_off import RESISTANCE, RESONANCE
from borestudy.report.labels import label_of, name_of, split_unit
from borestudy.report.large import tables
from borestudy.report.large.summary import (
    PERCENTILES,
    WORDS,
    ManyBores,
    Trend,
    distribution,
    drawn_cases,
    figures_of,
    trends,
)

DISTRIBUTIONS, TRENDS, DENSITY = "distributions", "trends", "all-bores"
#: Bars of a histogram, and squares along each side of the picture of two figures.
BARS, SQUARES = 40, 40
#: Dimensions that have a row of panels; the others are in the table.
ROWS = 4
#: Height of a row of panels and of what is around them [mm], and the width of a panel's words [mm].
ROW_MM, AROUND_MM, PANEL_MM = 46.0, 12.0, 70.0
#: Longest line of words along the side of a panel of trends, and along its foot [mm].
SIDE_MM, FOOT_MM = 28.0, 36.0


def draw_many(study: ManyBores, directory: Path) -> list[style.FigureRecord]:
    """Draw every figure of all bores that the results allow."""
    draws = (draw_distributions, draw_trends, draw_density)
    made = [draw(study, directory) for draw in draws]
    return [one for one in made if one is not None]


@style.styled
def draw_distributions(study: ManyBores, directory: Path) -> style.FigureRecord | None:
    """Draw how many bores have which value of each figure, with the first case and percentiles."""
    names = list(figures_of(study.comparison, study.topic))
    if not names:
        return None
    columns = 1 if looks.is_narrow() else min(2, len(names))
    rows = -(-len(names) // columns)
    drawing = style.figure(AROUND_MM + 50 * rows)
    panels = drawing.subplots(rows, columns, squeeze=False)
    data = []
    for axes, name in zip(panels.flat, names, strict=False):
        values = tables.printed_factor(name) * column_of(study.comparison, name)
        known = values[np.isfinite(values)]
        counts, edges = np.histogram(known, bins=BARS)
        axes.stairs(counts, edges, fill=True, color=style.COLOURS[0], alpha=0.55)
        ends = distribution(values)
        axes.axvspan(ends[1], ends[5], color=style.GREY, alpha=0.13, linewidth=0)
        axes.axvline(ends[3], color=style.GREY, linewidth=1.0, linestyle="--")
        if np.isfinite(values[0]):
            axes.axvline(values[0], color="black", linewidth=1.4)
        axes.set_xlabel(wrapped(tables.printed_label(study, name), PANEL_MM))
        axes.set_ylim(0, 1.07 * max(counts.max(), 1))
        axes.locator_params(axis="x", nbins=6)
        data.append(
            pd.DataFrame(
                {
                    "figure": tables.printed_label(study, name),
                    "from": edges[:-1],
                    "to": edges[1:],
                    "bores": counts,
                }
            )
        )
    style.hide_unused(panels, len(names))
    drawing.supylabel("bores")
    count = len(study.comparison)
    told = "; ".join(
        f"{WORDS[name]} from {ends[0]:.4g} to {ends[-1]:.4g} {split_unit(name)[1]}".strip()
        for name in names
        for ends in [distribution(column_of(study.comparison, name))]
    )
    return save(drawing, directory, DISTRIBUTIONS, pd.concat(data), count=f"{count:,}", told=told)


@style.styled
def draw_trends(study: ManyBores, directory: Path) -> style.FigureRecord | None:
    """Draw the median and the middle of all bores along each dimension, a row a dimension."""
    figures = list(figures_of(study.comparison, study.topic).values())
    # the first of each topic: one figure of the flow, and one of the sound
    picked = [name for name in (RESISTANCE, RESONANCE) if name in figures]
    picked.sort(key=figures.index)
    found = trends(study.comparison, study.varied, picked) if picked else []
    if not found:
        return None
    strongest = sorted(found, key=lambda row: -np.nan_to_num(row[0].share))[:ROWS]
    shown = [row for row in found if any(row is one for one in strongest)]
    gaps = any((one.known < one.counts).any() for row in shown for one in row)
    columns = len(picked) + gaps
    narrow = looks.is_narrow()
    grid = (len(shown) * columns, 1) if narrow else (len(shown), columns)
    drawing = style.figure(AROUND_MM + ROW_MM * grid[0])
    panels = drawing.subplots(*grid, squeeze=False).reshape(len(shown), columns)
    for line, row in zip(panels, shown, strict=True):
        for axes, one in zip(line, row, strict=False):
            _trend_panel(axes, one)
            axes.set_ylabel(wrapped(study.label(one.figure), SIDE_MM))
        if gaps:
            _gaps_panel(line[-1], row[0])
        for axes in line if narrow else line[:1]:
            axes.set_title(f"along {name_of(row[0].dimension).lower()}", loc="left")
        for axes in line:
            _along(axes, row[0])
    count = f"{len(study.comparison):,}"
    some = style.left_out(shown, found, "dimensions")
    words = {"count": count, "some": some, "gaps": text(TRENDS, "gaps") if gaps else ""}
    told = "; ".join(_told(one) for row in shown for one in row)
    return save(drawing, directory, TRENDS, _trend_data(shown), told=told, **words)


def _trend_panel(axes: Any, one: Trend) -> None:
    """Median and middle bands of a figure along a dimension: bands, or bars of words."""
    outer, inner = one.percentiles[[0, 4]], one.percentiles[[1, 3]]
    median = one.percentiles[2]
    colour = style.COLOURS[0]
    axes.axhline(0, color=style.GREY, linewidth=0.9)
    if one.words or len(one.x) < 3:
        axes.vlines(one.x, *outer, color=colour, alpha=0.25, linewidth=5)
        axes.vlines(one.x, *inner, color=colour, alpha=0.5, linewidth=5)
        axes.plot(one.x, median, color="black", marker="o", linestyle="")
        return
    axes.fill_between(one.x, *outer, color=colour, alpha=0.2, linewidth=0)
    axes.fill_between(one.x, *inner, color=colour, alpha=0.35, linewidth=0)
    axes.plot(one.x, median, color="black", marker="o", markersize=3)


def _gaps_panel(axes: Any, one: Trend) -> None:
    """How many of a hundred bores have no number, along a dimension."""
    missing = 100 * (one.counts - one.known) / one.counts
    axes.plot(
        one.x, missing, color=style.COLOURS[1], marker="s", linestyle=":" if one.words else "-"
    )
    top = max(1.0, float(missing.max()))
    axes.set_ylim(-0.08 * top, 1.08 * top)  # marks at zero are whole
    axes.set_ylabel(wrapped("bores without a number, %", SIDE_MM))


def _along(axes: Any, one: Trend) -> None:
    """The axis of a dimension."""
    axes.margins(x=0.08)
    if one.words:
        label_places(axes, one.words)
        return
    axes.set_xlabel(wrapped(label_of(one.dimension), FOOT_MM))
    axes.locator_params(axis="x", nbins=6)


def _told(one: Trend) -> str:
    """A trend in words, for readers who do not see it."""
    ends = one.percentiles[2][[0, -1]]
    names = [one.words[0], one.words[-1]] if one.words else [f"{x:.4g}" for x in one.x[[0, -1]]]
    return (
        f"{name_of(one.dimension).lower()} {names[0]} to {names[1]}: median of "
        f"{one.figure.replace('_', ' ')} {ends[0]:.3g} to {ends[1]:.3g}"
    )


def _trend_data(rows: Sequence[Sequence[Trend]]) -> pd.DataFrame:
    """What is drawn, a row a class of a dimension and figure."""
    tables = [
        pd.DataFrame(
            {
                "dimension": one.dimension,
                "value": list(one.words) or one.x,
                "figure": one.figure,
                "bores": one.counts,
                "bores_with_a_number": one.known,
                **{f"percentile_{at:g}": line
                   for at, line in zip(PERCENTILES, one.percentiles, strict=True)},
            }
        )
        for row in rows
        for one in row
    ]  # fmt: skip
    return pd.concat(tables, ignore_index=True)


@style.styled
def draw_density(study: ManyBores, directory: Path) -> style.FigureRecord | None:
    """Draw how many bores change both the flow resistance and the resonance by how much."""
    table = study.comparison
    if len(table) < 2 or not all(has_numbers(table, name) for name in (RESISTANCE, RESONANCE)):
        return None
    across, up = (column_of(table, name) for name in (RESISTANCE, RESONANCE))
    known = np.isfinite(across) & np.isfinite(up)
    counts, x_edges, y_edges = np.histogram2d(across[known], up[known], bins=SQUARES)
    drawing = style.figure(112)
    axes = drawing.subplots()
    picture = axes.pcolormesh(
        x_edges,
        y_edges,
        np.ma.masked_equal(counts.T, 0),
        cmap="cividis_r",
        norm=LogNorm(1, max(2.0, counts.max())),
        rasterized=True,
    )
    where = "top" if looks.is_narrow() else "right"
    most = max(2, int(counts.max()))
    ticks = [10**power for power in range(len(str(most)))] if most >= 10 else [1, most]
    whole: Any = {"ticks": ticks, "format": StrMethodFormatter("{x:,.0f}")}
    place: Any = {"ax": axes, "pad": 0.015, "location": where}
    bar = drawing.colorbar(picture, label="bores in a square", **whole, **place)
    bar.minorlocator = NullLocator()
    for row in drawn_cases(table, study.topic):
        if not known[row]:
            continue
        first = row == 0
        mark: Any = {"marker": "*" if first else "o", "markersize": 12 if first else 6}
        axes.plot(
            across[row], up[row], color="black", linestyle="", markerfacecolor="white", **mark
        )
    axes.axhline(0, color=style.GREY, linewidth=0.8)
    axes.axvline(0, color=style.GREY, linewidth=0.8)
    for edges, limits in ((x_edges, axes.set_xlim), (y_edges, axes.set_ylim)):
        beyond = 0.06 * np.ptp(edges)
        limits(edges[0] - beyond, edges[-1] + beyond)
    axes.set_xlabel(wrapped(study.label(RESISTANCE), PANEL_MM))
    axes.set_ylabel(wrapped(study.label(RESONANCE), PANEL_MM))
    data = pd.DataFrame(
        [
            (x_edges[i], x_edges[i + 1], y_edges[j], y_edges[j + 1], int(counts[i, j]))
            for i, j in zip(*np.nonzero(counts), strict=True)
        ],
        columns=[f"{RESISTANCE}_from", f"{RESISTANCE}_to", f"{RESONANCE}_from", f"{RESONANCE}_to",
                 "bores"],
    )  # fmt: skip
    count, left = f"{known.sum():,}", f"{len(table):,}"
    return save(drawing, directory, DENSITY, data, count=count, total=left)
