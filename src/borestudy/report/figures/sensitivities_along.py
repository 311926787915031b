"""Where along a measured bore a thousandth of an inch matters."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, MaxNLocator

from borestudy.drawing import looks, style
from borestudy.drawing.bore import Outline, draw_section, frame_section, mark_parts
from borestudy.report.captions import save
from borestudy.report.effects import (
    RESISTANCE,
    RESONANCE,
    Effect,
    Effects,
    effects_of,
    peaks_of,
    signed,
)
from borestudy.report.figures.case import PicturedStudy
from borestudy.report.figures.sensitivities import (
    BAND,
    LESS,
    MORE,
    TOP_MM,
    explain,
    noise_words,
    rate_shown,
    shank_words,
    shown_peaks,
)
from borestudy.report.sentences.words import listed

ALONG = "sensitivities-along"
#: The length of bore [mm] over which the diameter is taken to be larger.
TAKEN_MM = 10.0
#: What lies beside what is drawn along the axis [mm].
BESIDE_MM = 30.0
#: More panels than these are lower, so that all have room on a page.
FEW = 2


@style.styled
def draw_along(study: PicturedStudy, directory: Path) -> style.FigureRecord | None:
    """Draw the effect of 0.001 in on a measured bore's diameter against the place along its axis.

    Each station stands for the stretch to the middle between it and its neighbours; its effect is
    told for 10 mm of bore, so that stations close together weigh no less than others.
    """
    panels = quantities_along(study.sensitivities, rate_shown(study))
    if not panels:
        return None
    drawing = along_figure(panels, study.cases[0].outline)
    words = {
        "case": study.cases[0].label,
        "quantities": listed([f"{one.words} {one.at_rate}".strip() for one in panels]),
        "count": max(len(_stations(one)) for one in panels),
        "length": f"{TAKEN_MM:g}",
        "shank": shank_words(study),
    }
    return save(drawing, directory, ALONG, _table(panels, study.cases[0].outline), **words)


def _table(panels: Sequence[Effects], outline: Outline) -> pd.DataFrame:
    """What is drawn along the axis, a row a station and a quantity."""
    tables = []
    for one in panels:
        stretches, effect = along_axis(one, float(outline.position_mm[-1]))
        columns = {"quantity": f"{one.words} {one.at_rate}".strip()}
        ends: dict[str, Any] = {"from_mm": stretches[:, 0], "to_mm": stretches[:, 1]}
        ends |= {f"effect_of_0.001_in_along_{TAKEN_MM:g}_mm": effect}
        unit = one.unit.replace("%", "percent")
        ends |= {"effect_unit": unit, "noise_floor": one.noise}
        tables.append(pd.DataFrame(columns | ends))
    return pd.concat(tables, ignore_index=True)


def quantities_along(table: pd.DataFrame, rate: float | None) -> list[Effects]:
    """The quantities of the first case that are drawn along the axis."""
    # of an air column, peaks of the usual and of the high register as well
    peaks = [f"peak {number}" for number in shown_peaks(peaks_of(table))[1::2]]
    found = [effects_of(table, name) for name in (RESONANCE, *peaks)]
    found += [] if rate is None else [effects_of(table, RESISTANCE, rate)]
    return [one for one in found if one is not None and len(_stations(one)) > 1]


def along_figure(panels: Sequence[Effects], outline: Outline) -> Figure:
    """The figure with the bore in section and a panel a quantity below it."""
    end = float(outline.position_mm[-1])
    section_mm = max(
        20.0, 1.1 * (looks.width_mm() - BESIDE_MM) * 2 * float(outline.radius_mm.max()) / end
    )
    panel_mm = 46 if len(panels) <= FEW else 40
    drawing = style.figure(TOP_MM + section_mm + 24 + panel_mm * len(panels))
    heights = (section_mm + 6, *[panel_mm - 10] * len(panels))
    whole, *below = drawing.subplots(1 + len(panels), 1, sharex=True, height_ratios=heights)
    whole.set_facecolor(style.METAL)
    whole.fill_between(outline.position_mm, -outline.radius_mm, outline.radius_mm, color="white")
    draw_section(whole, outline, color="black")
    frame_section(whole)
    whole.set_aspect("equal", adjustable="datalim")
    whole.set(xlabel="", xlim=(0, end))
    whole.grid(visible=False)
    mark_parts(whole, outline)
    for axes, one in zip(below, panels, strict=True):
        _draw_along(axes, one, end)
    below[-1].set_xlabel("distance from the rim plane, mm")
    explain(
        drawing, panels, [replace(at, uncertainty=None) for one in panels for at in _stations(one)]
    )
    return drawing


def _stations(found: Effects) -> list[Effect]:
    """Effects of stations, from the rim plane on."""
    placed = [one for one in found.effects if one.position is not None]
    return sorted(placed, key=lambda one: (one.position, _number(one.key)))


def _number(key: str) -> int:
    """The number at a station's end."""
    last = key.rsplit(" ", 1)[-1]
    return int(last) if last.isdigit() else 0


def along_axis(found: Effects, end: float) -> tuple[np.ndarray, np.ndarray]:
    """Where each station's stretch begins and ends [mm], (n, 2), and the effect for 10 mm, (n,).

    The effect is of 0.001 in on the diameter, so of half as much on the radius.
    """
    stations = _stations(found)
    places = np.array([one.position for one in stations], dtype=float)
    middles = (places[1:] + places[:-1]) / 2
    stretches = np.column_stack([[0.0, *middles], [*middles, end]])
    effect = np.array([one.value for one in stations]) / 2
    length = np.diff(stretches, axis=1)[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        return stretches, np.where(length > 0, effect * TAKEN_MM / length, 0.0)


def _draw_along(axes: Any, found: Effects, end: float) -> None:
    """One quantity along the axis."""
    stretches, effect = along_axis(found, end)
    colours = [MORE if value > 0 else LESS for value in effect]
    look: Any = {"align": "edge", "color": colours, "edgecolor": "white", "linewidth": 0.4}
    axes.bar(stretches[:, 0], effect, np.diff(stretches, axis=1)[:, 0], zorder=2, **look)
    axes.axhline(0, color="black", linewidth=0.8, zorder=2.5)
    low, high = min(0.0, effect.min()), max(0.0, effect.max())
    span = high - low
    noise = min(found.noise or 0.0, span)
    axes.set_ylim(min(low - 0.06 * span, -1.1 * noise), max(high + 0.06 * span, 1.1 * noise))
    if found.noise:
        axes.axhspan(-found.noise, found.noise, **BAND)
    axes.yaxis.set_major_locator(MaxNLocator(5))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: signed(value, 3)))
    title, noise_told = f"{found.words} {found.at_rate}".strip(), noise_words(found)
    if looks.is_narrow():  # no room beside each other
        title, noise_told = f"{title}\n{noise_told}", ""
    axes.set_title(title, loc="left", fontweight="bold")
    axes.set_title(noise_told, loc="right", color=style.GREY, fontsize=looks.points(8))
    axes.set_ylabel(f"{found.unit} for 0.001 in\non the diameter\nalong {TAKEN_MM:g} mm")
