"""Figures of pipes, entries and widenings beside what is measured and what handbooks hold."""

from pathlib import Path
from typing import Any

import numpy as np
from fluids.friction import Prandtl_von_Karman_Nikuradse
from matplotlib.axes import Axes
from matplotlib.ticker import FuncFormatter, NullFormatter

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
from borestudy.validation import entry, pipe, widening

COMPUTED_COLOUR = COLOURS[1]


@styled
def draw_friction(found: pipe.PipeFlow, folder: Path) -> FigureRecord:
    """Draw the friction factor of a smooth pipe against the Reynolds number."""
    drawing = figure(80)
    axes = drawing.subplots()
    reynolds = np.geomspace(4e3, 1.3e5, 60)
    law = [Prandtl_von_Karman_Nikuradse(number) for number in reynolds]
    axes.plot(reynolds, law, color=GREY, label="Prandtl and von Kármán")
    numbers = [float(name) for name in found.friction]
    factors = list(found.friction.values())
    _with_bars(axes, numbers, factors, fmt="o", color=COMPUTED_COLOUR, label="computed")
    for number, factor in zip(numbers, factors, strict=True):
        away = factor.value / Prandtl_von_Karman_Nikuradse(number) - 1
        axes.annotate(
            f"{100 * away:+.1f} %".replace("-", "−"),
            (number, factor.value),
            xytext=(6, 5),
            textcoords="offset points",
            color=COMPUTED_COLOUR,
        )
    _logarithmic(axes, *numbers)
    axes.set_ylim(0, 0.045)
    axes.set_xlabel("Reynolds number of the pipe")
    axes.set_ylabel("Darcy friction factor")
    axes.legend(loc="lower left")
    return _saved(
        drawing,
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
    drawing = figure(85)
    axes = drawing.subplots()
    near, far = np.geomspace(0.5, 11, 30), np.geomspace(11, 3e3, 30)
    dashed: Any = {"color": GREY, "linestyle": "--"}
    axes.plot(near, near, **dashed, label="u⁺ = y⁺, and u⁺ = 2.5 ln y⁺ + 5.5 (Nikuradse 1932)")
    axes.plot(far, pipe.SLOPE * np.log(far) + pipe.INTERCEPT, **dashed)
    for colour, (name, profile) in zip(COLOURS, found.profiles.items(), strict=False):
        label = f"computed, Re {_spaced(float(name))}"
        axes.plot(profile.position, profile.value, color=colour, label=label)
    _logarithmic(axes, 1, 10, 100, 1000)
    axes.set_xlim(0.5, 3e3)
    axes.set_ylim(0, 27)
    axes.set_xlabel("distance from the wall in wall units, y⁺")
    axes.set_ylabel("velocity over friction velocity, u⁺")
    axes.legend(loc="upper left")
    return _saved(
        drawing,
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
    drawing = figure(85)
    axes = drawing.subplots()
    radii = list(dict.fromkeys(each.radius for each in found.entries))
    books = [entry.handbook_losses(radius) for radius in radii]
    axes.fill_between(radii, [min(each) for each in books], [max(each) for each in books],
                      color=GREY, alpha=0.2, linewidth=0,
                      label="handbooks, least to greatest")  # fmt: skip
    numbers = dict.fromkeys(each.reynolds for each in found.entries)
    for index, reynolds in enumerate(numbers):
        losses = [each.loss for each in found.entries if each.reynolds == reynolds]
        style = {"color": COLOURS[index], "marker": MARKERS[index]}
        _with_bars(axes, radii, losses, **style, label=f"computed, Re {_spaced(reynolds)}")
    axes.set_xlabel("radius of the throat entry over throat diameter")
    axes.set_ylabel("loss coefficient of the entry")
    from_zero([axes])
    axes.legend(loc="upper right")
    return _saved(
        drawing,
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
    for axes, wall in ((left, found.expansion.wall), (right, found.diffuser.wall)):
        axes.plot(wall.position, wall.value, color=COMPUTED_COLOUR, label="computed")
    ideal, losses = widening.IDEAL, widening.handbook_losses()
    left.axhline(ideal - widening.BORDA_CARNOT, color=GREY, linestyle="--",
                 label="Borda and Carnot")  # fmt: skip
    right.axhspan(ideal - max(losses), ideal - min(losses), color=GREY, alpha=0.2, linewidth=0,
                  label="handbooks, least to greatest")  # fmt: skip
    right.axhline(ideal, color=GREY, linestyle=":", label="without any loss")
    right.axvline(widening.CONE_LENGTH, color=GREY, linewidth=0.7)
    right.annotate("end of the cone", (widening.CONE_LENGTH, 0.25), xytext=(4, 0),
                   textcoords="offset points", color=GREY)  # fmt: skip
    left.set_title("Sudden expansion to twice the diameter", loc="left", fontweight="bold")
    right.set_title("Cone of 7° to twice the diameter", loc="left", fontweight="bold")
    left.set_ylabel("pressure gained at the wall, q")
    left.set_ylim(-0.15, 1.0)
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


def _with_bars(axes: Axes, places: list[float], found: list[Quantity], **style: Any) -> None:
    """Draw quantities with their numerical uncertainty."""
    errors = [quantity.uncertainty or 0.0 for quantity in found]
    axes.errorbar(places, [quantity.value for quantity in found], errors, **style)


def _saved(drawing: Any, axes: Axes, folder: Path, name: str, **words: str) -> FigureRecord:
    """Write a figure of one panel under its title."""
    axes.set_title(words["title"], loc="left", fontweight="bold")
    return save(drawing, folder, name, **words)


def _spaced(number: float, _: int = 0) -> str:
    """A whole number with its thousands apart, or a short one below ten."""
    return f"{number:,.0f}".replace(",", " ") if number >= 10 else f"{number:g}"


def _logarithmic(axes: Axes, *ticks: float) -> None:
    axes.set_xscale("log")
    axes.set_xticks(ticks)
    axes.xaxis.set_major_formatter(FuncFormatter(_spaced))
    axes.xaxis.set_minor_formatter(NullFormatter())
