"""Plots of one result for a notebook, in the figures' style: each on its own or on given axes."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import matplotlib
import numpy as np

from borestudy.drawing.style import COLOURS, FULL_WIDTH, MILLIMETRE, SETTINGS, from_zero

MEGA = 1e-6
#: More peaks or rates than this are marked, and their figures not written beside.
WRITTEN = 5


@contextmanager
def drawing_on(axes: Any | None, height_mm: float = 85.0) -> Iterator[Any]:
    """Axes to draw on under the shared settings: those given, or new ones that a notebook shows.

    Parameters
    ----------
    axes : matplotlib.axes.Axes, optional
        Drawn on where given, so that plots can be laid over each other.
    height_mm : float
        Height of a new figure.

    Yields
    ------
    matplotlib.axes.Axes
    """
    with matplotlib.rc_context():
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(SETTINGS)
        if axes is None:
            # Loaded late: the report draws without pyplot, which would look for a screen.
            from matplotlib import pyplot

            size = (FULL_WIDTH, height_mm * MILLIMETRE)
            _, axes = pyplot.subplots(figsize=size, layout="constrained")
        yield axes


def plot_pressure_drops(result: Any, axes: Any | None = None, **style: Any) -> Any:
    """Draw a `FlowResult`'s pressure drops over flow rate, with their numerical uncertainty."""
    solved = [rate for rate in result.rates if rate.pressure_drop is not None]
    style = {"color": COLOURS[0], "label": f"{result.model} model", **style}
    with drawing_on(axes) as drawn:
        for inside in (True, False):
            rates = [one for one in solved if (one.regime in (result.model, None)) is inside]
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
            for one, drop in zip(rates, drops, strict=True):
                if axes is None and len(solved) <= WRITTEN:
                    _write_beside(drawn, one.flow_rate_L_per_s, drop.value, str(drop))
        drawn.set_xlabel("flow rate, L/s")
        drawn.set_ylabel("pressure drop, Pa")
        drawn.set_title("± is the numerical uncertainty, about 95 %", loc="left")
        from_zero([drawn])
        drawn.set_xlim(0, 1.25 * max((one.flow_rate_L_per_s for one in solved), default=1.0))
        drawn.legend(loc="upper left")
    return drawn


def plot_impedance(table: Any, peaks: Any, axes: Any | None = None, **style: Any) -> Any:
    """Draw an input impedance's magnitude over frequency, its peaks marked."""
    parts = [table[f"impedance_{part}_Pa_s_per_m3"].to_numpy() for part in ("real", "imag")]
    style = {"color": COLOURS[0], **style}
    with drawing_on(axes) as drawn:
        drawn.semilogy(table["frequency_Hz"], MEGA * np.hypot(*parts), **style)
        for peak in peaks:
            if peak.frequency is None or peak.impedance_peak is None:
                continue
            place = peak.frequency.value, MEGA * peak.impedance_peak.value
            drawn.plot(*place, marker="o", color=style["color"])
            if axes is None and len(peaks) <= WRITTEN:
                _write_beside(drawn, *place, str(peak.frequency))
        drawn.set_xlabel("frequency, Hz")
        drawn.set_ylabel("input impedance, MPa·s/m³")
        drawn.yaxis.set_major_formatter("{x:g}")
        drawn.set_title("± is the numerical uncertainty, about 95 %", loc="left")
        if "label" in style:
            drawn.legend()
    return drawn


def _write_beside(axes: Any, x: float, y: float, words: str) -> None:
    axes.annotate(words, (x, y), xytext=(6, 0), textcoords="offset points", va="center", fontsize=8)
