"""Figures of every family of flows beside what is measured and what handbooks hold."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from fluids.friction import Prandtl_von_Karman_Nikuradse
from matplotlib.axes import Axes
from matplotlib.ticker import FuncFormatter, NullFormatter

from borestudy.closed_form.nozzle_taps import FRICTION_REYNOLDS, TAP_DROPS
from borestudy.drawing.comparisons import draw_comparison_errors, marks_of
from borestudy.drawing.style import (
    COLOURS,
    GREY,
    MARKERS,
    FigureRecord,
    figure,
    from_zero,
    save,
    styled,
)
from borestudy.quantity import Quantity
from borestudy.results.comparison_errors import ComparisonError
from borestudy.validation import entry, pipe, widening
from borestudy.validation.comparing import stated
from borestudy.validation.nozzle import CONE_MM, Comparison, NozzleFlow, compare_nozzle

COMPUTED_COLOUR = COLOURS[1]
HANDBOOKS: Any = {
    "color": GREY, "alpha": 0.2, "linewidth": 0, "label": "handbooks, least to greatest",
}  # fmt: skip
#: The first tap, from which the pressure along the wall is drawn, and the throat's end, z in mm.
FIRST_TAP, THROAT_END = -32.0, 40.0
#: Where the nozzle changes its course, z in mm.
CORNERS = (0.0, THROAT_END, THROAT_END + CONE_MM)
PRESSURE_LABEL = "wall pressure less that at −32 mm, q"


@styled
def draw_friction(found: pipe.PipeFlow, folder: Path) -> FigureRecord:
    """Draw the friction factor of a smooth pipe against the Reynolds number."""
    axes = _panel(80, "Reynolds number of the pipe", "Darcy friction factor")
    reynolds = np.geomspace(4e3, 1.3e5, 60)
    law = [Prandtl_von_Karman_Nikuradse(number) for number in reynolds]
    axes.plot(reynolds, law, color=GREY, label="Prandtl and von Kármán")
    numbers = [float(name) for name in found.friction]
    factors = list(found.friction.values())
    _with_bars(axes, numbers, factors, fmt="o", color=COMPUTED_COLOUR, label="computed")
    for number, factor in zip(numbers, factors, strict=True):
        away = 100 * (factor.value / Prandtl_von_Karman_Nikuradse(number) - 1)
        place, words = (number, factor.value), f"{away:+.1f} %".replace("-", "−")
        axes.annotate(words, place, (6, 5), textcoords="offset points", color=COMPUTED_COLOUR)
    _logarithmic(axes, *numbers)
    axes.set_ylim(0, 0.045)
    axes.legend(loc="lower left")
    return _saved(
        axes,
        folder,
        "pipe-friction",
        title="Friction of a smooth pipe",
        caption="Computed between 48 and 72 diameters from the inlet; the figures are deviations.",
        alt="Friction factor falling with the Reynolds number, computed points on the known curve.",
    )


@styled
def draw_law_of_the_wall(found: pipe.PipeFlow, folder: Path) -> FigureRecord:
    """Draw velocity against the wall distance, both in wall units."""
    along = "distance from the wall in wall units, y⁺"
    axes = _panel(85, along, "velocity over friction velocity, u⁺")
    near, far = np.geomspace(0.5, 11, 30), np.geomspace(11, 3e3, 30)
    dashed: Any = {"color": GREY, "linestyle": "--"}
    axes.plot(near, near, **dashed, label="u⁺ = y⁺, and u⁺ = 2.5 ln y⁺ + 5.5 (Nikuradse 1932)")
    axes.plot(far, pipe.SLOPE * np.log(far) + pipe.INTERCEPT, **dashed)
    for colour, (name, profile) in zip(COLOURS, found.profiles.items(), strict=False):
        label = f"computed, Re {_spaced(float(name))}"
        axes.plot(profile.position, profile.value, color=colour, label=label)
    _logarithmic(axes, 1, 10, 100, 1000)
    axes.set(xlim=(0.5, 3e3), ylim=(0, 27))
    axes.legend(loc="upper left")
    return _saved(
        axes,
        folder,
        "law-of-the-wall",
        title="Velocity near the wall of a smooth pipe",
        caption="65 diameters from the inlet, from the wall to the axis.",
        alt="Velocity profiles in wall units, close to the linear and the logarithmic law.",
    )


@styled
def draw_entry_losses(found: entry.EntryLosses, folder: Path) -> FigureRecord:
    """Draw the loss coefficient against the entry's radius, a line for each Reynolds number."""
    along = "radius of the throat entry over throat diameter"
    axes = _panel(85, along, "loss coefficient of the entry")
    radii = list(dict.fromkeys(each.radius for each in found.entries))
    books = [entry.handbook_losses(radius) for radius in radii]
    axes.fill_between(radii, np.min(books, axis=1), np.max(books, axis=1), **HANDBOOKS)
    numbers = dict.fromkeys(each.reynolds for each in found.entries)
    for index, reynolds in enumerate(numbers):
        losses = [each.loss for each in found.entries if each.reynolds == reynolds]
        style = {"color": COLOURS[index], "marker": MARKERS[index]}
        _with_bars(axes, radii, losses, **style, label=f"computed, Re {_spaced(reynolds)}")
    from_zero([axes])
    axes.legend(loc="upper right")
    return _saved(
        axes,
        folder,
        "entry-losses",
        title="What a rounded entry loses",
        caption="From a reservoir, without the tube's own friction; bars: numerical uncertainty.",
        alt="Entry loss falling with the radius of the edge, inside the handbooks' span.",
    )


@styled
def draw_widening(found: widening.Widenings, folder: Path) -> FigureRecord:
    """Draw the pressure along the wall of a sudden expansion and of a cone."""
    drawing = figure(85)
    left, right = drawing.subplots(1, 2, sharey=True)
    for axes, wall in ((left, found.expansion.wall), (right, found.cones[0].wall)):
        axes.plot(wall.position, wall.value, color=COMPUTED_COLOUR, label="computed")
    cone, ideal = widening.CONES[0], widening.IDEAL
    losses = cone.handbook_losses
    settled = ideal - widening.BORDA_CARNOT
    left.axhline(settled, color=GREY, linestyle="--", label="Borda and Carnot")
    right.axhspan(ideal - max(losses), ideal - min(losses), **HANDBOOKS)
    right.axhline(ideal, color=GREY, linestyle=":", label="without any loss")
    right.axvline(cone.length, color=GREY, linewidth=0.7)
    end = (cone.length, 0.25)
    right.annotate("end of the cone", end, (4, 0), textcoords="offset points", color=GREY)
    left.set_title("Sudden expansion to twice the diameter", loc="left", fontweight="bold")
    right.set_title(f"Cone of {cone.angle:g}° to twice the diameter", loc="left", fontweight="bold")
    left.set(ylabel="pressure gained at the wall, q", ylim=(-0.15, 1.0))
    for axes in (left, right):
        axes.axvline(0, color=GREY, linewidth=0.7)
        axes.set_xlabel("distance from where it widens, throat diameters")
        axes.legend(loc="lower right")
    return save(
        drawing,
        folder,
        "widening",
        title="What a widening gives back",
        caption="Pressure along the wall; the closed form and the handbooks' span are for where "
        "the flow has settled, and leave out the pipe's friction that the computed lines show.",
        alt="Pressure rising after a sudden expansion and along a cone to what is known of them.",
    )


@styled
def draw_nozzle(estimate: NozzleFlow, folder: Path) -> FigureRecord:
    """Draw wall pressure and velocity on the axis, computed as lines and measured as points."""
    drawing = figure(132)
    above, below = drawing.subplots(2, 1, sharex=True)
    rows = compare_nozzle(estimate)
    for rate, colour in zip(estimate.rates, COLOURS, strict=False):
        measured = [row for row in rows if row.reynolds == rate.reynolds]
        for axes, lines, unit in ((above, rate.wall, "q"), (below, rate.axis, "U")):
            points = [row for row in measured if row.check.unit == unit]
            if not points or not lines:
                continue
            start = lines[-1].at(FIRST_TAP) if unit == "q" else 0.0
            line = lines[-1].moved(0.0, start)
            axes.plot(line.position, line.value, color=colour, label=f"Re {rate.reynolds:g}")
            _points(axes, points, colour)
    above.set_ylabel(PRESSURE_LABEL)
    along = "distance from the square edge z, mm"
    below.set(xlabel=along, ylabel="velocity on the axis over U", xlim=(-40.0, 105.0))
    for axes in (above, below):
        _corners(axes)
        axes.legend(loc="upper right")
    return save(
        drawing,
        folder,
        "nozzle-benchmark",
        title="Computed against measured in an open nozzle",
        caption="Lines: best estimate. Points: mean of the laboratories, bars from their "
        "least to their greatest, or 8 % of a velocity. Dotted lines: the throat's ends and the "
        "cone's.",
        alt="Wall pressure and centreline velocity along a nozzle of 4 mm, computed and measured.",
    )


@styled
def draw_nozzle_segments(flows: Sequence[NozzleFlow], folder: Path) -> FigureRecord:
    """Draw each measured segment at Reynolds number 5000 beside every model."""
    drawing = figure(110)
    above, below = drawing.subplots(2, 1, height_ratios=(3, 2))
    places = np.arange(len(TAP_DROPS[FRICTION_REYNOLDS]))
    for index, flow in enumerate(flows):
        (rate,) = (rate for rate in flow.rates if rate.reynolds == FRICTION_REYNOLDS)
        rows = [row for row in compare_nozzle(flow) if row.reynolds == FRICTION_REYNOLDS]
        for along in rate.wall[-1:]:
            line = along.moved(0.0, along.at(FIRST_TAP))
            label = "best estimate" if flow.model == "estimate" else f"{flow.model} solution"
            above.plot(line.position, line.value, color=COLOURS[index], label=label)
        away = [row.check.computed - row.measured[0] for row in rows]
        errors = [row.check.uncertainty or 0.0 for row in rows]
        bars: Any = {"height": 0.24, "color": COLOURS[index], "error_kw": {"linewidth": 0.9}}
        below.barh(places + 0.27 * (index - 1), away, xerr=errors, **bars)
    _points(above, rows, "#000000", label="measured, mean and range")
    _corners(above)
    for word, middle in (("pipe", -16.0), ("throat", 20.0), ("cone", 51.3), ("pipe", 82.0)):
        above.annotate(word, (middle, 0.12), ha="center", color=GREY)
    above.set(ylim=(-2.9, 0.35), xlim=(FIRST_TAP, 100))
    above.set(xlabel="distance from the square edge, mm", ylabel=PRESSURE_LABEL)
    above.legend(loc="lower right")
    mean, low, high = np.array([row.measured for row in rows]).T
    dots: Any = {"fmt": "o", "markersize": 3, "color": "#000000"}
    below.errorbar(np.zeros(len(rows)), places, xerr=[mean - low, high - mean], **dots)
    below.set_yticks(places, [row.check.quantity.replace("-", "−") for row in rows])
    below.invert_yaxis()
    below.set_xlabel("computed less measured pressure difference, q; black: range measured")
    below.grid(axis="y", visible=False)
    return _saved(
        above,
        folder,
        "nozzle-segments",
        title="Open nozzle benchmark at Reynolds number 5000",
        caption="Above: pressure along the wall less that at −32 mm. Below: each segment's "
        "deviation with its numerical uncertainty, and the laboratories' range about zero. "
        "q is the throat's dynamic pressure.",
        alt="Wall pressure of three solutions along a nozzle with measured points beside them.",
    )


@styled
def draw_errors(rows: Sequence[ComparisonError], folder: Path) -> FigureRecord:
    """Draw every comparison error part by part on the model error that is stated for it."""
    drawing = figure(125)
    draw_comparison_errors(drawing, marks_of(rows, stated))
    return save(
        drawing,
        folder,
        "comparison-errors",
        title="Best estimate less what it is compared with",
        caption="Part by part against the throat's Reynolds number, in units of the throat's "
        "dynamic pressure q. Bars: numerical and measured uncertainty together. Pale: the model "
        "error that the program states for such a part. Marks at one Reynolds number stand side "
        "by side.",
        alt="Comparison errors of entry, throat, widenings and whole bores, most within 0.1 q.",
    )


def _with_bars(axes: Axes, places: list[float], found: list[Quantity], **style: Any) -> None:
    """Draw quantities with their numerical uncertainty."""
    errors = [quantity.uncertainty or 0.0 for quantity in found]
    axes.errorbar(places, [quantity.value for quantity in found], errors, **style)


def _panel(height: float, along: str, across: str) -> Axes:
    """Make a figure of one panel with the words along its axes."""
    axes = figure(height).subplots()
    axes.set(xlabel=along, ylabel=across)
    return axes


def _saved(axes: Any, folder: Path, name: str, **words: str) -> FigureRecord:
    """Write a figure under its title, which stands above this panel."""
    axes.set_title(words["title"], loc="left", fontweight="bold")
    return save(axes.figure, folder, name, **words)


def _spaced(number: float, _: int = 0) -> str:
    """A whole number with its thousands apart, or a short one below ten."""
    return f"{number:,.0f}".replace(",", " ") if number >= 10 else f"{number:g}"


def _logarithmic(axes: Axes, *ticks: float) -> None:
    axes.set_xscale("log")
    axes.set_xticks(ticks)
    axes.xaxis.set_major_formatter(FuncFormatter(_spaced))
    axes.xaxis.set_minor_formatter(NullFormatter())


def _corners(axes: Axes) -> None:
    for place in CORNERS:
        axes.axvline(place, color=GREY, linewidth=0.7, linestyle=(0, (1, 2)))


def _points(axes: Any, rows: Sequence[Comparison], colour: str, label: str | None = None) -> None:
    """Draw velocities, and segments from the first tap as pressures below it, with their ranges."""
    from_first = f"p({FIRST_TAP:g} mm)"
    shown = [r for r in rows if r.check.unit == "U" or r.check.quantity.startswith(from_first)]
    mean, low, high = np.array([row.measured for row in shown]).T
    bars = np.array([mean - low, high - mean])
    if shown[0].check.unit == "q":
        mean, bars = -mean, bars[::-1]
    places, style = [row.z_mm for row in shown], {"color": colour, "label": label}
    axes.errorbar(places, mean, bars, fmt="o", zorder=3, **style)
