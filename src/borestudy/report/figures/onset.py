"""What it takes to start a tone in each register, and where the tone sounds, bore beside bore."""

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from borestudy.drawing import style
from borestudy.drawing.lettering import wrapped
from borestudy.drawing.marks import error_line
from borestudy.quantity import Quantity
from borestudy.report.captions import save, text
from borestudy.report.figures.case import CaseView, PicturedStudy
from borestudy.report.figures.drawn_data import of_cases
from borestudy.report.figures.impedance import between_decades
from borestudy.results.onset import OnsetOfRegister

#: Figures by name.
THRESHOLDS, SOUNDING = "thresholds", "sounding-pitch"
#: Widest line of words along a vertical axis [mm], and what a mark and its bars are moved aside so
#: that bores stand beside each other, all of them together.
SIDE_MM, ASIDE = 36.0, 0.5
#: Registers from the lowest up by their numbers.
Registers = Mapping[int, OnsetOfRegister]
Numbers = NDArray[np.float64]


def registers_of(case: CaseView) -> Registers:
    """The registers of a case by their numbers; none where no onset was computed."""
    onset = case.results.onset
    return {} if onset is None else {one.register: one for one in onset.registers}


@style.styled
def draw_thresholds(study: PicturedStudy, directory: Path) -> style.FigureRecord | None:
    """Draw the least mouth pressure of each register, and its change against the first bore."""

    def change(of: Numbers, first: Numbers) -> Numbers:
        return 100 * (of / first - 1)

    return _draw(
        study, directory, THRESHOLDS,
        lambda one: one.mouth_pressure, lambda one: one.set_mouth_pressure_Pa,
        change, ("mouth_pressure_kPa", 1e-3, "change_percent"),
        ("mouth pressure, kPa", "against the first bore, %"),
    )  # fmt: skip


@style.styled
def draw_sounding(study: PicturedStudy, directory: Path) -> style.FigureRecord | None:
    """Draw how far above its peak each register sounds at its threshold, and the change of it."""

    def change(of: Numbers, first: Numbers) -> Numbers:
        return 1200 * np.log2(of / first)

    return _draw(
        study, directory, SOUNDING,
        lambda one: one.sounding_frequency, lambda one: one.set_sounding_frequency_Hz,
        change, ("sounding_frequency_Hz", 1.0, "change_cents"),
        ("above the peak, cents", "against the first bore, cents"),
    )  # fmt: skip


def _draw(
    study: PicturedStudy,
    directory: Path,
    name: str,
    own: Callable[[OnsetOfRegister], Quantity | None],
    every: Callable[[OnsetOfRegister], Sequence[float | None]],
    change: Callable[[Numbers, Numbers], Numbers],
    columns: tuple[str, float, str],
    labels: tuple[str, str],
) -> style.FigureRecord | None:
    """Draw a quantity of all registers above, with the lips' range of the first bore, and below
    its change against the first bore, with the range of that of the same lips."""
    shown = study.shown
    found = [registers_of(case) for case in shown]
    numbers = sorted({n for one in found for n, at in one.items() if own(at) is not None})
    if not numbers:
        return None
    value, error = _own(found, numbers, own)
    count = max((len(every(at)) for one in found for at in one.values()), default=0)
    lips = [_of_set(one, numbers, every, count) for one in found]
    upper, upper_error, upper_lips = value, error, lips[0]
    if name == SOUNDING:
        upper, upper_error = _own(found, numbers, lambda at: at.sounding_above_peak)
        peaks = _own(found, numbers, lambda at: at.peak_frequency)[0][0]
        upper_lips = change(lips[0], peaks)
    factor = columns[1]
    apart = bool(len(shown) > 1 and np.isfinite(value[0]).any())
    drawing = style.figure((78, 128)[apart])
    panels = drawing.subplots(1 + apart, 1, sharex=True, squeeze=False)[:, 0]
    low, high = _range(upper_lips)
    if np.isfinite(low).any():
        across = np.array(numbers, float)
        panels[0].fill_between(
            across, factor * low, factor * high, color=style.METAL, linewidth=0, zorder=0
        )
    else:
        low = high = np.full(len(numbers), np.nan)
    aside = np.linspace(-ASIDE, ASIDE, len(shown)) / 2 if len(shown) > 1 else np.zeros(1)
    data: list[dict[str, Any]] = []
    handles = []
    for index in range(len(shown)):
        line = style.line_style(index, len(shown))
        place = np.array(numbers, float)
        handles.append(
            error_line(panels[0], place, factor * upper[index], factor * upper_error[index], **line)
        )
        row: dict[str, Any] = {"register": numbers}
        row |= {columns[0]: columns[1] * value[index]}
        row |= {f"{columns[0]}_uncertainty": columns[1] * error[index]}
        if name == SOUNDING:
            row |= {"above_peak_cents": upper[index]}
            row |= {"above_peak_cents_uncertainty": upper_error[index]}
        if index == 0:
            stem, unit = ("above_peak", "cents") if name == SOUNDING else ("mouth_pressure", "kPa")
            row |= {f"{stem}_of_lips_low_{unit}": factor * low}
            row |= {f"{stem}_of_lips_high_{unit}": factor * high}
        if apart:
            row |= _changed(
                panels[1], place + aside[index], change(value[index], value[0]),
                change(lips[index], lips[0]), columns[2], line, index,
            )  # fmt: skip
        data.append(row)
    _frame(panels, name, numbers, labels)
    known = np.isfinite(value).any(axis=1)
    words = [case.words(bool(is_known)) for case, is_known in zip(shown, known, strict=True)]
    style.key(drawing, list(panels), words, handles)
    told = {
        "range": text(name, "range", lips=count) if np.isfinite(low).any() else "",
        "apart": text(name, "apart", lips=count) if apart else "",
        "silent": _silent(shown, found, value, numbers),
        "some": style.left_out(shown, study.cases),
        "count": len(shown),
    }
    return save(drawing, directory, name, of_cases(shown, data), **told)


def _changed(
    axes: Any,
    place: Numbers,
    change: Numbers,
    of_lips: Numbers,
    column: str,
    line: dict[str, Any],
    index: int,
) -> dict[str, Any]:
    """Draw a bore's change in each register beside the range of the lips', and give both.

    Of the first bore, whose changes are none, the line at zero is drawn alone.
    """
    low, high = _range(of_lips)
    columns = {column: change, f"{column}_of_lips_low": low, f"{column}_of_lips_high": high}
    if index == 0:
        axes.axhline(0, color=line["color"], linewidth=0.9)
        return columns
    axes.vlines(place, low, high, color=line["color"], linewidth=3.5, alpha=0.3, zorder=1)
    axes.plot(place, change, **line)
    return columns


def _own(
    found: Sequence[Registers],
    numbers: Sequence[int],
    get: Callable[[OnsetOfRegister], Quantity | None],
) -> tuple[Numbers, Numbers]:
    """A quantity of the study's own lips and its uncertainty, each of shape (cases, registers)."""

    def one(registers: Registers, number: int) -> tuple[float, float]:
        quantity = get(registers[number]) if number in registers else None
        if quantity is None:
            return np.nan, np.nan
        return quantity.value, np.nan if quantity.uncertainty is None else quantity.uncertainty

    both = np.array([[one(registers, number) for number in numbers] for registers in found])
    return both[..., 0], both[..., 1]


def _of_set(
    registers: Registers,
    numbers: Sequence[int],
    every: Callable[[OnsetOfRegister], Sequence[float | None]],
    count: int,
) -> Numbers:
    """A quantity of all lips of the set, shape (lips, registers), NaN where there is no tone."""
    table = np.full((count, len(numbers)), np.nan)
    for place, number in enumerate(numbers):
        if number in registers:
            values = np.array(every(registers[number]), float)  # None is NaN
            table[: len(values), place] = values
    return table


def _range(table: Numbers) -> tuple[Numbers, Numbers]:
    """Least and greatest of each column, shape (registers,), NaN where there is none."""
    low, high = np.full(table.shape[1], np.nan), np.full(table.shape[1], np.nan)
    some = np.isfinite(table).any(axis=0)
    low[some], high[some] = np.nanmin(table[:, some], axis=0), np.nanmax(table[:, some], axis=0)
    return low, high


def _silent(
    shown: Sequence[CaseView],
    found: Sequence[Registers],
    value: Numbers,
    numbers: Sequence[int],
) -> str:
    """A sentence that names the registers in which bores have no tone."""
    missing = {
        case.label: [
            str(number)
            for place, number in enumerate(numbers)
            if number in registers and np.isnan(value[index, place])
        ]
        for index, (case, registers) in enumerate(zip(shown, found, strict=True))
    }
    told = [f"{label} (register {', '.join(which)})" for label, which in missing.items() if which]
    if not told:
        return ""
    more = f" and {len(told) - style.NAMED} more" if len(told) > style.NAMED else ""
    return text("thresholds", "none", bores=f"{'; '.join(told[: style.NAMED])}{more}")


def _frame(panels: Any, name: str, numbers: Sequence[int], labels: tuple[str, str]) -> None:
    if name == THRESHOLDS:
        panels[0].set_yscale("log")
        panels[0].yaxis.set_major_formatter("{x:g}")
        panels[0].yaxis.set_minor_formatter(between_decades)
    for axes, label in zip(panels, labels, strict=False):
        axes.set_ylabel(wrapped(label, SIDE_MM))
        axes.set_xticks(numbers)
        axes.set_xlim(numbers[0] - 0.6, numbers[-1] + 0.6)
    panels[-1].set_xlabel("register: number of the impedance peak")
