"""Thresholds of one bore by register, as a figure."""

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from borestudy.drawing import style
from borestudy.drawing.marks import error_line
from borestudy.intervals import cents
from borestudy.quantity import Quantity
from borestudy.results.onset import OnsetOfRegister


def onset_figure(registers: Sequence[OnsetOfRegister]) -> Any:
    """A figure of two panels: mouth pressure above, the sounding pitch above the peak below."""
    drawn = style.figure(110.0)
    panels = drawn.subplots(2, 1, sharex=True)
    numbers = [one.register for one in registers]
    for axes, label, factor, own, others in (
        (panels[0], "mouth pressure, kPa", 1e-3, lambda one: one.mouth_pressure, _pressures),
        (panels[1], "above the peak, cents", 1.0, lambda one: one.sounding_above_peak, _pitches),
    ):
        _draw(axes, registers, factor, own, others)
        axes.set_ylabel(label)
    panels[1].set_xlabel("register (number of the impedance peak)")
    panels[1].set_xticks(numbers)
    return drawn


def _draw(
    axes: Any,
    registers: Sequence[OnsetOfRegister],
    factor: float,
    own: Callable[[OnsetOfRegister], Quantity | None],
    others: Callable[[OnsetOfRegister], Sequence[float]],
) -> None:
    numbers = [one.register for one in registers]
    ends = [(min(found), max(found)) if (found := others(one)) else (np.nan,) * 2
            for one in registers]  # fmt: skip
    low, high = factor * np.array(ends).T
    axes.use_sticky_edges = False  # which would cut the ranges at the frame
    look: dict[str, Any] = {"color": style.METAL, "linewidth": 0, "zorder": 0}
    axes.bar(numbers, high - low, 0.84, bottom=low, label="other lips", **look)
    known = [own(one) for one in registers]
    value = np.array([np.nan if one is None else factor * one.value for one in known])
    error = np.array([factor * ((one and one.uncertainty) or 0.0) for one in known])
    error_line(axes, numbers, value, error, label="these lips", **style.line_style(0, 1))
    axes.legend()


def _pressures(one: OnsetOfRegister) -> list[float]:
    return [each for each in one.set_mouth_pressure_Pa if each is not None]


def _pitches(one: OnsetOfRegister) -> list[float]:
    if one.peak_frequency is None:
        return []
    peak = one.peak_frequency.value
    return [float(cents(at / peak)) for at in one.set_sounding_frequency_Hz if at is not None]
