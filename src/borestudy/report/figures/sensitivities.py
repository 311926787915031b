"""What a thousandth of an inch on each dimension does to each quantity, ranked."""

from collections.abc import Sequence
from math import floor, log10
from pathlib import Path
from typing import Any

import pandas as pd
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.ticker import FuncFormatter, MaxNLocator
from matplotlib.transforms import ScaledTranslation

from borestudy.drawing import looks, style
from borestudy.drawing.lettering import (
    POINTS_PER_MM,
    legend_columns,
    lines_of,
    text_width_mm,
    wrapped,
)
from borestudy.report.captions import save, text
from borestudy.report.effects import (
    RESISTANCE,
    RESONANCE,
    SLOPE,
    Effect,
    Effects,
    effects_of,
    peaks_of,
    signed,
)
from borestudy.report.figures.case import PicturedStudy, reference_rate
from borestudy.rounding import MINUS

RANKED = "sensitivities"
#: Peaks of an air column that are shown, where it has them: one of each of the usual registers.
PEAKS, PEAKS_SHOWN = (2, 4, 6, 8), 4
#: As many of the largest effects are shown in a panel.
BARS = 10
#: Heights of a bar with its words, of a panel's titles and scale, and of the legend [mm].
BAR_MM, HEAD_MM, TOP_MM = 3.6, 15.0, 13.0
#: Widest line of a dimension's words [mm]; a bar's height for two lines.
LABEL_MM, TALL = 36.0, 2.1
#: Colours of an effect that makes a quantity larger, and of one that makes it smaller.
MORE, LESS = style.COLOURS[0], style.COLOURS[1]
BAND: Any = {"color": "#b5b5b5", "alpha": 0.55, "linewidth": 0, "zorder": 0.6}
#: What neither panels nor dimensions' words have of the width [mm], and the gap between a bar and
#: its figure with that to the next panel.
AROUND_MM, GAP_MM = 12.0, 2.5
#: As often limits are widened for figures whose width depends on them.
ROUNDS = 20


def shown_peaks(numbers: Sequence[int]) -> list[int]:
    """The peaks that are shown of those of some numbers."""
    usual = [number for number in PEAKS if number in numbers]
    return usual if len(usual) == PEAKS_SHOWN else style.sample(numbers, PEAKS_SHOWN)


def quantities_shown(table: pd.DataFrame, rate: float | None) -> list[Effects]:
    """The quantities of the first case that have a panel, in the figure's order."""
    peaks = [f"peak {number}" for number in shown_peaks(peaks_of(table))]
    sounds = [RESONANCE, *peaks, "resonance Q", "resonance impedance"]
    found = [effects_of(table, name) for name in sounds]
    if rate is not None:
        found += [effects_of(table, name, rate) for name in (RESISTANCE, SLOPE)]
    found.append(effects_of(table, "cup volume"))
    return [one for one in found if one and any(effect.value for effect in one.effects)]


@style.styled
def draw_ranked(study: PicturedStudy, directory: Path) -> style.FigureRecord | None:
    """Draw what 0.001 in of each dimension does to each quantity of the first case."""
    panels = quantities_shown(study.sensitivities, rate_shown(study))
    if not panels:
        return None
    drawing, shown = ranked_figure(panels)
    every = [one for bars in shown for one in bars]
    left_out = any(len(bars) < len(one.effects) for bars, one in zip(shown, panels, strict=True))
    words = {
        "case": study.cases[0].label,
        "quantities": len(panels),
        "hatched": "" if all(one.is_of_length for one in every) else text(RANKED, "of_range"),
        "stations": text(RANKED, "radii") if any(one.position is not None for one in every) else "",
        "shank": shank_words(study),
        "some": text(RANKED, "largest", count=BARS) if left_out else "",
    }
    return save(drawing, directory, RANKED, table_of(panels, shown), **words)


def table_of(panels: Sequence[Effects], shown: Sequence[Sequence[Effect]]) -> pd.DataFrame:
    """What a figure of effects shows, a row an effect."""
    return pd.DataFrame(
        [
            {
                "quantity": f"{panel.words} {panel.at_rate}".strip(),
                "dimension": one.label,
                "dimension_value": one.size,
                "dimension_unit": one.size_unit,
                "step": "0.001 in" if one.is_of_length else "1 percent of the range",
                "effect": one.value,
                "effect_uncertainty": one.uncertainty,
                "effect_unit": panel.unit.replace("%", "percent"),
                "noise_floor": panel.noise,
            }
            for panel, effects in zip(panels, shown, strict=True)
            for one in effects
        ]
    )


def ranked_figure(panels: Sequence[Effects]) -> tuple[Figure, list[list[Effect]]]:
    """The figure with a panel a quantity, and the effects that each panel shows."""
    columns = 1 if looks.is_narrow() else min(2, len(panels))
    shown = [_largest(one) for one in panels]
    heights = [
        max(_places(bars)[1] for bars in shown[start : start + columns])
        for start in range(0, len(shown), columns)
    ]
    every = [one for bars in shown for one in bars]
    words_mm = max(text_width_mm(line, 8) for one in every for line in _label(one).split("\n"))
    around = AROUND_MM * (1 + looks.is_narrow())
    width = (looks.width_mm() - around) / columns - words_mm
    lines = looks.points(HEAD_MM * len(heights) + BAR_MM * sum(heights))
    drawing = style.figure(TOP_MM * (1 + looks.is_narrow()) + lines)
    grid = drawing.subplots(len(heights), columns, squeeze=False, height_ratios=heights)
    for place, (axes, one, bars) in enumerate(zip(grid.flat, panels, shown, strict=False)):
        # the words of a narrow figure begin above those of its dimensions
        start = words_mm if looks.is_narrow() else 0.0
        _draw_panel(axes, one, bars, heights[place // columns], width, start)
    style.hide_unused(grid, len(panels))
    step = "effect of 0.001 in (0.0254 mm) more on the dimension"
    drawing.supxlabel(wrapped(step, looks.width_mm() - 30))
    explain(drawing, panels, every)
    return drawing, shown


def rate_shown(study: PicturedStudy) -> float | None:
    """The flow rate [L/s] that the comparison is about; None where no flow was computed."""
    return None if study.flow.empty else reference_rate(study.comparison, study.flow)


def shank_words(study: PicturedStudy) -> str:
    """That an endless pipe behind the shank is as wide as the shank end, where there is one."""
    sound = study.cases[0].results.acoustics
    return text(RANKED, "shank") if sound and sound.termination.startswith("anechoic") else ""


def _largest(found: Effects) -> list[Effect]:
    """The effects that are shown: the largest of lengths, then of all else."""
    others = [one for one in found.effects if not one.is_of_length][: BARS // 2]
    return found.lengths[: BARS - len(others)] + others


def printed(value: float, largest: float) -> str:
    """An effect with its sign and two digits, to three digits of a panel's largest one at most.

    >>> printed(0.352, 12.0), printed(-0.0004, 12.0)
    ('+0.4', '≈ 0')
    """
    places = max(0, 2 - floor(log10(largest)))
    text, sign = signed(value), "+" if value > 0 else MINUS
    if round(abs(value), places) == 0 and value:
        return "≈ 0"
    beyond = len(text.partition(".")[2]) > places or "×" in text
    return f"{sign}{abs(value):.{places}f}" if beyond else text


def _places(bars: Sequence[Effect]) -> tuple[list[float], float]:
    """Middles of the bars from the top down, and where the last one ends."""
    places, end, of_length = [], 0.0, True
    for one in bars:
        end += 0.4 * (of_length and not one.is_of_length)
        of_length = one.is_of_length
        height = TALL if lines_of([_label(one)]) > 1 else 1.0
        places.append(end + height / 2)
        end += height
    return places, end


def _draw_panel(
    axes: Any,
    found: Effects,
    bars: Sequence[Effect],
    height: float,
    width_mm: float,
    before_mm: float,
) -> None:
    """One quantity: bars from the largest down, each with its signed figure, on the noise.

    The words above begin some millimetres before the axes.
    """
    places, _ = _places(bars)
    largest = max(abs(one.value) for one in bars)
    for place, one in zip(places, bars, strict=True):
        colour = MORE if one.value > 0 else LESS
        look: Any = {"color": colour} if one.is_of_length else hatched(colour)
        axes.barh(place, one.value, 0.66, **look, zorder=2)
        error = one.uncertainty or 0.0
        if error:
            axes.plot([one.value - error, one.value + error], [place] * 2, "k-", linewidth=0.9)
        side = 1 if one.value >= 0 else -1
        axes.annotate(
            printed(one.value, largest),
            (one.value + side * error, place),
            (3 * side, 0),
            textcoords="offset points",
            va="center",
            ha="left" if side > 0 else "right",
            fontsize=looks.points(8),
        )
    lengths = sum(one.is_of_length for one in bars)
    if lengths < len(bars):
        axes.axhline(places[lengths] - 0.75, color=style.GREY, linewidth=0.6, linestyle=":")
    axes.axvline(0, color="black", linewidth=0.8, zorder=2.5)
    _limit(axes, found, bars, width_mm)
    axes.set_ylim(height + 0.1, -0.1)
    axes.set_yticks(places, [_label(one) for one in bars])
    axes.spines["left"].set_visible(False)
    axes.tick_params(axis="y", length=0)
    axes.grid(visible=False, axis="y")
    axes.xaxis.set_major_locator(MaxNLocator(4))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: signed(value, 3)))
    title = f"{found.words}, {found.unit}"
    head = axes.set_title(title, loc="left", fontweight="bold", pad=looks.points(13))
    inches = axes.figure.dpi_scale_trans
    head.set_transform(head.get_transform() + ScaledTranslation(-before_mm / 25.4, 0, inches))
    axes.annotate(
        ", ".join(word for word in (found.at_rate, noise_words(found)) if word),
        (0, 1),
        (-before_mm * POINTS_PER_MM, 3),
        xycoords="axes fraction",
        textcoords="offset points",
        fontsize=looks.points(8),
        color=style.GREY,
    )


def _label(effect: Effect) -> str:
    """A dimension in words, with its step where that is no length."""
    words = effect.label if effect.is_of_length else f"{effect.label} (1 %)"
    return "\n".join(wrapped(words, LABEL_MM, 8).split("\n")[:2])


def hatched(colour: str) -> dict[str, Any]:
    """The look of a bar of what is no length."""
    return {"facecolor": "white", "edgecolor": colour, "hatch": "//////", "linewidth": 0.9}


def noise_words(found: Effects) -> str:
    """What the numerical noise of a quantity is."""
    if found.noise is None:
        return "noise floor not known"
    if found.noise == 0:
        return "no numerical noise"
    return f"noise floor ±{signed(found.noise)[1:]} {found.unit}"


def _limit(axes: Any, found: Effects, bars: Sequence[Effect], width_mm: float) -> None:
    """Let all bars and their figures be seen, and as much of the noise as does not dwarf them."""
    largest = max(abs(one.value) for one in bars)
    ends = [(one.value, one.uncertainty or 0.0) for one in bars]
    sizes = [text_width_mm(printed(one.value, largest), 8) + GAP_MM for one in bars]
    span = max(0.0, *(value + error for value, error in ends))
    span -= min(0.0, *(value - error for value, error in ends))
    noise = min(found.noise or 0.0, span)
    low, high = -1.1 * noise or -0.04 * span, 1.1 * noise or 0.04 * span
    for _ in range(ROUNDS):
        per_mm = (high - low) / width_mm
        for (value, error), size in zip(ends, sizes, strict=True):
            if value < 0:
                low = min(low, value - error - size * per_mm)
            else:
                high = max(high, value + error + size * per_mm)
    axes.set_xlim(low, high)
    if found.noise:
        axes.axvspan(-found.noise, found.noise, **BAND)


def explain(drawing: Any, panels: Sequence[Effects], shown: Sequence[Effect]) -> None:
    """A legend of colours, band, hatching and bars, as far as they are there."""
    keys: dict[str, Any] = {}
    if any(one.value > 0 for one in shown):
        keys["+ raises it"] = Patch(color=MORE)
    if any(one.value < 0 for one in shown):
        keys[f"{MINUS} lowers it"] = Patch(color=LESS)
    if any(one.noise for one in panels):
        keys["noise floor"] = Patch(**BAND)
    if not all(one.is_of_length for one in shown):
        keys["1 % of its range"] = Patch(**hatched(style.GREY))
    if any(one.uncertainty for one in shown):
        keys["uncertainty"] = Line2D([], [], color="black", linewidth=0.9)
    where: Any = {"loc": "outside upper center", "ncols": legend_columns(list(keys))}
    drawing.legend(list(keys.values()), list(keys), columnspacing=1.4, **where)
