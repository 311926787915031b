"""Plots of one result for a notebook, in the figures' style: each on its own or on given axes."""

from typing import Any

import numpy as np

from borestudy.drawing import bore as section
from borestudy.drawing.marks import write_beside
from borestudy.drawing.style import COLOURS, FULL_WIDTH, MILLIMETRE, from_zero, styled

MEGA = 1e-6
#: More peaks or rates than this are marked, and their figures not written beside.
WRITTEN = 5


def _axes_to_draw_on(axes: Any | None, height_mm: float = 85.0) -> Any:
    """The axes given, so that plots can be laid over each other, or new ones of a height."""
    if axes is None:
        # Loaded late: the report draws without pyplot, which would look for a screen.
        from matplotlib import pyplot

        size = (FULL_WIDTH, height_mm * MILLIMETRE)
        _, axes = pyplot.subplots(figsize=size, layout="constrained")
    return axes


@styled
def plot_bore(bore: Any, axes: Any | None = None, **style: Any) -> Any:
    """Draw a bore in section, to scale, with its parts named."""
    drawn, wall = _axes_to_draw_on(axes, 55), section.outline(bore)
    section.draw_section(drawn, wall, **{"color": "black", **style})
    if axes is None:
        section.frame_section(drawn)
        section.mark_parts(drawn, wall)
    return drawn


@styled
def plot_pressure_drops(result: Any, axes: Any | None = None, **style: Any) -> Any:
    """Draw a `FlowResult`'s pressure drops over flow rate, with their numerical uncertainty."""
    solved = [rate for rate in result.rates if rate.pressure_drop is not None]
    of_all = result.model == "estimate"
    label = "best estimate" if of_all else f"{result.model} model"
    style = {"color": COLOURS[0], "label": label, **style}
    drawn = _axes_to_draw_on(axes)
    for inside in (True, False):
        rates = [one for one in solved if (of_all or one.regime in (result.model, None)) is inside]
        drops = [one.pressure_drop for one in rates]
        words = "" if inside else ", outside its regime"
        drawn.errorbar(
            [one.flow_rate_L_per_s for one in rates],
            [drop.value for drop in drops],
            [drop.uncertainty or 0.0 for drop in drops],
            **style | {"label": style["label"] + words if rates else None},
            marker="o",
            linestyle="",
            markerfacecolor=style["color"] if inside else "white",
        )
    if axes is None and len(solved) <= WRITTEN:
        for one in solved:
            place = one.flow_rate_L_per_s, one.pressure_drop.value
            write_beside(drawn, place, str(one.pressure_drop), 6)
    _label(drawn, "flow rate, L/s", "pressure drop, Pa")
    from_zero([drawn])
    drawn.set_xlim(0, 1.25 * max((one.flow_rate_L_per_s for one in solved), default=1.0))
    drawn.legend(loc="upper left")
    return drawn


@styled
def plot_impedance(table: Any, peaks: Any, axes: Any | None = None, **style: Any) -> Any:
    """Draw an input impedance's magnitude over frequency, its peaks marked."""
    parts = [table[f"impedance_{part}_Pa_s_per_m3"].to_numpy() for part in ("real", "imag")]
    style = {"color": COLOURS[0], **style}
    drawn = _axes_to_draw_on(axes)
    drawn.semilogy(table["frequency_Hz"], MEGA * np.hypot(*parts), **style)
    for peak in peaks:
        if peak.frequency is None or peak.impedance_peak is None:
            continue
        place = peak.frequency.value, MEGA * peak.impedance_peak.value
        drawn.plot(*place, marker="o", color=style["color"])
        if axes is None and len(peaks) <= WRITTEN:
            write_beside(drawn, place, str(peak.frequency), 6)
    _label(drawn, "frequency, Hz", "input impedance, MPa·s/m³")
    drawn.yaxis.set_major_formatter("{x:g}")
    if "label" in style:
        drawn.legend()
    return drawn


def _label(axes: Any, along: str, across: str) -> None:
    axes.set(xlabel=along, ylabel=across)
    axes.set_title("± is the numerical uncertainty, about 95 %", loc="left")
