"""The turbulent closure beside what is measured and what handbooks hold: a figure a flow."""

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import FuncFormatter, NullFormatter

from borestudy.closed_form.handbook import DIFFUSER_METHODS
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

MEASURED_COLOUR, CLOSED_FORM_COLOUR = "#000000", GREY
LAMINAR_COLOUR, TURBULENT_COLOUR = COLOURS[0], COLOURS[1]


def draw_closure_validation(found: Mapping[str, Any], folder: Path) -> list[FigureRecord]:
    """Draw every figure of the validation.

    Parameters
    ----------
    found : mapping
        Results by flow, as :data:`borestudy.validation.FLOWS` gives them.
    folder : Path
        Where the figures go, as SVG and PNG.
    """
    figures: Sequence[tuple[Callable[..., FigureRecord], str]] = (
        (draw_friction, "pipe"),
        (draw_law_of_the_wall, "pipe"),
        (draw_entry_losses, "entry"),
        (draw_widening, "widening"),
        (draw_nozzle_segments, "nozzle"),
    )
    return [draw(found[flow], folder) for draw, flow in figures]


@styled
def draw_friction(pipe: Mapping[str, Any], folder: Path) -> FigureRecord:
    """Friction factor of a smooth pipe against the Reynolds number."""
    drawing = figure(80)
    axes = drawing.subplots()
    reynolds = np.geomspace(4e3, 1.3e5, 60)
    axes.plot(
        reynolds, _prandtl(reynolds), color=CLOSED_FORM_COLOUR, label="Prandtl and von Kármán"
    )
    axes.errorbar(
        [row["reynolds"] for row in pipe["friction"]],
        [row["friction"] for row in pipe["friction"]],
        [row["uncertainty"] for row in pipe["friction"]],
        fmt="o",
        color=TURBULENT_COLOUR,
        label="computed",
    )
    for row in pipe["friction"]:
        away = row["friction"] / _prandtl(row["reynolds"]) - 1
        axes.annotate(
            f"{100 * away:+.1f} %".replace("-", "−"),
            (row["reynolds"], row["friction"]),
            xytext=(6, 5),
            textcoords="offset points",
            color=TURBULENT_COLOUR,
        )
    _logarithmic(axes, *(row["reynolds"] for row in pipe["friction"]))
    axes.set_ylim(0, 0.045)
    axes.set_xlabel("Reynolds number of the pipe")
    axes.set_ylabel("Darcy friction factor")
    axes.set_title("Friction of a smooth pipe", loc="left", fontweight="bold")
    axes.legend(loc="lower left")
    return save(
        drawing,
        folder,
        "pipe-friction",
        title="Friction of a smooth pipe",
        caption="Computed between 48 and 72 diameters from the inlet; the figures are deviations.",
        alt="Friction factor falling with the Reynolds number, computed points on the known curve.",
    )


def _spaced(number: float, _: int = 0) -> str:
    """A whole number with its thousands apart, or a short one below ten."""
    return f"{number:,.0f}".replace(",", " ") if number >= 10 else f"{number:g}"


def _logarithmic(axes: Axes, *ticks: float) -> None:
    axes.set_xscale("log")
    axes.set_xticks(ticks)
    axes.xaxis.set_major_formatter(FuncFormatter(_spaced))
    axes.xaxis.set_minor_formatter(NullFormatter())


def _prandtl(reynolds: Any) -> Any:
    """1/√f = 2 lg(Re √f) − 0.8, by iteration from Blasius' 0.316 Re^−¼."""
    friction = 0.316 * np.asarray(reynolds, float) ** -0.25
    for _ in range(30):
        friction = (2 * np.log10(np.asarray(reynolds) * np.sqrt(friction)) - 0.8) ** -2
    return friction


@styled
def draw_law_of_the_wall(pipe: Mapping[str, Any], folder: Path) -> FigureRecord:
    """Velocity against the wall distance, in wall units."""
    drawing = figure(85)
    axes = drawing.subplots()
    near, far = np.geomspace(0.5, 11, 30), np.geomspace(11, 3e3, 30)
    dashed: Any = {"color": CLOSED_FORM_COLOUR, "linestyle": "--"}
    axes.plot(near, near, **dashed, label="u⁺ = y⁺, and u⁺ = 2.5 ln y⁺ + 5.5 (Nikuradse 1932)")
    axes.plot(far, 2.5 * np.log(far) + 5.5, **dashed)
    for index, (reynolds, profile) in enumerate(pipe["profiles"].items()):
        axes.plot(
            profile["y_plus"],
            profile["u_plus"],
            color=COLOURS[index],
            label=f"computed, Re {_spaced(float(reynolds))}",
        )
    _logarithmic(axes, 1, 10, 100, 1000)
    axes.set_xlim(0.5, 3e3)
    axes.set_ylim(0, 27)
    axes.set_xlabel("distance from the wall in wall units, y⁺")
    axes.set_ylabel("velocity over friction velocity, u⁺")
    axes.set_title("Velocity near the wall of a smooth pipe", loc="left", fontweight="bold")
    axes.legend(loc="upper left")
    return save(
        drawing,
        folder,
        "law-of-the-wall",
        title="Velocity near the wall of a smooth pipe",
        caption="65 diameters from the inlet, from the wall to the axis.",
        alt="Velocity profiles in wall units, close to the linear and the logarithmic law.",
    )


@styled
def draw_entry_losses(entry: Mapping[str, Any], folder: Path) -> FigureRecord:
    """Loss coefficient against the entry's radius, a line a Reynolds number."""
    drawing = figure(85)
    axes = drawing.subplots()
    lines: dict[float, list[Mapping[str, Any]]] = {}
    for row in entry["curve"]:
        lines.setdefault(row["reynolds"], []).append(row)
    span = next(iter(lines.values()))
    axes.fill_between(
        [row["radius"] for row in span],
        [row["handbook_low"] for row in span],
        [row["handbook_high"] for row in span],
        color=GREY,
        alpha=0.2,
        linewidth=0,
        label="handbooks, least to greatest",
    )
    for index, (reynolds, rows) in enumerate(lines.items()):
        axes.errorbar(
            [row["radius"] for row in rows],
            [row["loss"] for row in rows],
            [row["uncertainty"] for row in rows],
            color=COLOURS[index],
            marker=MARKERS[index],
            label=f"computed, Re {_spaced(reynolds)}",
        )
    axes.set_xlabel("radius of the throat entry over throat diameter")
    axes.set_ylabel("loss coefficient of the entry")
    from_zero([axes])
    axes.set_title("What a rounded entry loses", loc="left", fontweight="bold")
    axes.legend(loc="upper right")
    return save(
        drawing,
        folder,
        "entry-losses",
        title="What a rounded entry loses",
        caption="From a reservoir, without the tube's own friction; bars: numerical uncertainty.",
        alt="Entry loss falling with the radius of the edge, inside the handbooks' span.",
    )


@styled
def draw_widening(widening: Mapping[str, Any], folder: Path) -> FigureRecord:
    """Pressure along the wall of a sudden expansion and of a cone."""
    drawing = figure(85)
    left, right = drawing.subplots(1, 2, sharey=True)
    expansion, cone = widening["expansion"], widening["diffuser"]
    left.plot(
        expansion["line"]["position"],
        expansion["line"]["pressure"],
        color=TURBULENT_COLOUR,
        label="computed",
    )
    left.axhline(
        expansion["closed_form_rise"],
        color=CLOSED_FORM_COLOUR,
        linestyle="--",
        label="Borda and Carnot",
    )
    left.set_title("Sudden expansion to twice the diameter", loc="left", fontweight="bold")
    ideal = 1 - 1 / 16
    losses = [cone["handbook_losses"][method] for method in DIFFUSER_METHODS]
    right.plot(
        cone["line"]["position"],
        cone["line"]["pressure"],
        color=TURBULENT_COLOUR,
        label="computed",
    )
    right.axhspan(
        ideal - max(losses),
        ideal - min(losses),
        color=GREY,
        alpha=0.2,
        linewidth=0,
        label="handbooks, least to greatest",
    )
    right.axhline(ideal, color=CLOSED_FORM_COLOUR, linestyle=":", label="without any loss")
    right.axvline(cone["length"], color=GREY, linewidth=0.7)
    right.annotate("end of the cone", (cone["length"], 0.25), xytext=(4, 0),
                   textcoords="offset points", color=GREY)  # fmt: skip
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
        alt="Pressure rising behind a sudden expansion and along a cone to what is known of them.",
    )


@styled
def draw_nozzle_segments(nozzle: Mapping[str, Any], folder: Path) -> FigureRecord:
    """Each measured segment of the nozzle beside both solutions."""
    drawing = figure(110)
    above, below = drawing.subplots(2, 1, height_ratios=(3, 2))
    segments = nozzle["segments"]
    solutions = (("laminar", LAMINAR_COLOUR), ("turbulent", TURBULENT_COLOUR))
    for name, colour in solutions:
        line = nozzle["lines"][name]
        above.plot(line["z_mm"], line["pressure_q"], color=colour, label=f"{name} solution")
    from_first = [row for row in segments if row["quantity"].startswith("p(-32 mm)")]
    place = [float(row["quantity"].split("p(")[2].split()[0]) for row in from_first]
    measured = -np.array([row["measured_q"] for row in from_first])
    bars = [
        measured + [row["measured_high_q"] for row in from_first],
        -measured - [row["measured_low_q"] for row in from_first],
    ]
    above.errorbar(place, measured, bars, fmt="o", color=MEASURED_COLOUR, zorder=3,
                   label="measured, mean and range")  # fmt: skip
    for edge in (0.0, 40.0, 62.685):
        above.axvline(edge, color=GREY, linewidth=0.7, linestyle=(0, (1, 2)))
    for word, middle in (("pipe", -16.0), ("throat", 20.0), ("cone", 51.3), ("pipe", 82.0)):
        above.annotate(word, (middle, 0.12), ha="center", color=GREY)
    above.set_ylim(-2.9, 0.35)
    above.set_xlim(-32, 100)
    above.set_xlabel("distance from the square edge, mm")
    above.set_ylabel("wall pressure less that at −32 mm, q")
    above.set_title("Open nozzle benchmark at Reynolds number 5000", loc="left", fontweight="bold")
    above.legend(loc="lower right")
    rows = np.arange(len(segments))
    for shift, (name, colour) in zip((-0.18, 0.18), solutions, strict=True):
        below.barh(
            rows + shift,
            [row[f"{name}_deviation_q"] for row in segments],
            height=0.32,
            xerr=[row[f"{name}_q_uncertainty"] for row in segments],
            color=colour,
            error_kw={"linewidth": 0.9},
        )
    below.errorbar(
        np.zeros(len(rows)),
        rows,
        xerr=[
            [row["measured_q"] - row["measured_low_q"] for row in segments],
            [row["measured_high_q"] - row["measured_q"] for row in segments],
        ],
        fmt="o",
        markersize=3,
        color=MEASURED_COLOUR,
    )
    below.set_yticks(rows, [row["quantity"].replace("-", "−") for row in segments])
    below.invert_yaxis()
    below.set_xlabel("computed less measured pressure difference, q; black: range measured")
    below.grid(axis="y", visible=False)
    return save(
        drawing,
        folder,
        "nozzle-segments",
        title="Open nozzle benchmark at Reynolds number 5000",
        caption="Above: pressure along the wall less that at −32 mm. Below: each segment's "
        "deviation with its numerical uncertainty, and the laboratories' range about zero. "
        "q is the throat's dynamic pressure.",
        alt="Wall pressure of both solutions along a nozzle with measured points between them.",
    )
