"""What it takes to start a tone in each register, and where the tone sounds, bore beside bore."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from borestudy.drawing import style
from borestudy.drawing.lettering import wrapped
from borestudy.drawing.marks import error_line
from borestudy.intervals import cents
from borestudy.quantity import Quantity
from borestudy.report.captions import save, text
from borestudy.report.figures.case import CaseView, PicturedStudy
from borestudy.report.figures.drawn_data import of_cases
from borestudy.report.figures.impedance import between_decades
from borestudy.results.onset import OnsetOfRegister
from borestudy.results.onset_changes import LipsChange, OnsetChange, onset_changes

#: Widest line of words along a vertical axis [mm], and over how much of a register's place the
#: bores stand beside each other.
SIDE_MM, ASIDE = 36.0, 0.4
#: Registers by their numbers, and the changes of each against the first bore.
Registers = Mapping[int, OnsetOfRegister]
Changes = Mapping[int, OnsetChange]
Numbers = NDArray[np.float64]


@dataclass(frozen=True)
class Drawn:
    """A figure's quantity: above, of every register, and below its change against the first bore.

    `factor` leads from the record's unit to that of `column`, which is drawn; `of_lips` is the same
    in the record's unit with each lips of the set.
    """

    name: str
    column: str
    factor: float
    labels: tuple[str, str]
    own: Callable[[OnsetOfRegister], Quantity | None]
    of_lips: Callable[[OnsetOfRegister], Sequence[float | None]]
    change: str
    changed: Callable[[OnsetChange], LipsChange]


THRESHOLDS = Drawn(
    "thresholds",
    "mouth_pressure_kPa",
    1e-3,
    ("mouth pressure, kPa", "against the first bore, %"),
    lambda one: one.mouth_pressure,
    lambda one: one.set_mouth_pressure_Pa,
    "change_percent",
    lambda one: one.threshold,
)
SOUNDING = Drawn(
    "sounding-pitch",
    "sounding_above_peak_cents",
    1.0,
    ("above the peak, cents", "against the first bore, cents"),
    lambda one: one.sounding_above_peak,
    lambda one: _above_peak(one),
    "change_cents",
    lambda one: one.sounding,
)


def _above_peak(one: OnsetOfRegister) -> list[float | None]:
    """How far above the peak each lips of the set sounds [cents]."""
    if one.peak_frequency is None:
        return []
    peak = one.peak_frequency.value
    return [None if at is None else float(cents(at / peak)) for at in one.set_sounding_frequency_Hz]


@style.styled
def draw_thresholds(study: PicturedStudy, directory: Path) -> style.FigureRecord | None:
    """Draw the least mouth pressure of each register, and its change against the first bore."""
    return _draw(study, directory, THRESHOLDS)


@style.styled
def draw_sounding(study: PicturedStudy, directory: Path) -> style.FigureRecord | None:
    """Draw how far above its peak each register sounds at its threshold, and the change of it."""
    return _draw(study, directory, SOUNDING)


def _draw(study: PicturedStudy, directory: Path, of: Drawn) -> style.FigureRecord | None:
    shown = study.shown
    found = [registers_of(case) for case in shown]
    numbers = sorted({n for one in found for n, at in one.items() if of.own(at) is not None})
    if not numbers:
        return None
    first = shown[0].results
    changes = [
        {change.register: change for change in onset_changes(case.results, first)} for case in shown
    ]
    apart = any(of.changed(one).own.value for each in changes for one in each.values())
    drawing = style.figure((78, 128)[apart])
    panels = drawing.subplots(1 + apart, 1, sharex=True, squeeze=False)[:, 0]
    band = np.array([_span(of.of_lips(found[0][n])) if n in found[0] else NOTHING for n in numbers])
    band *= of.factor
    if np.isfinite(band).any():
        panels[0].use_sticky_edges = False  # which would cut the lowest range at the frame
        look: dict[str, Any] = {"color": style.METAL, "linewidth": 0, "zorder": 0}
        panels[0].bar(numbers, band[:, 1] - band[:, 0], 0.84, bottom=band[:, 0], **look)
    handles, data = [], []
    known = np.zeros(len(shown), bool)
    for index, registers in enumerate(found):
        line = style.line_style(index, len(shown))
        value, error = of.factor * np.array([_own(registers, n, of) for n in numbers]).T
        known[index] = np.isfinite(value).any()
        handles.append(error_line(panels[0], numbers, value, error, **line))
        row = {"register": numbers, of.column: value, f"{of.column}_uncertainty": error}
        if index == 0:
            row |= _columns(of.column, "_of_lips", band)
        if apart:
            place = np.array(numbers) + _aside(index, len(shown))
            row |= _draw_changes(panels[1], place, numbers, changes[index], of, line)
        data.append(row)
    _frame(panels, of, numbers)
    labels = [case.words(bool(there)) for case, there in zip(shown, known, strict=True)]
    style.key(drawing, list(panels), labels, handles)
    lips = max(len(of.of_lips(at)) for one in found for at in one.values())
    words = {
        "range": text(of.name, "range", lips=lips) if np.isfinite(band).any() else "",
        "apart": text(of.name, "apart", lips=lips) if apart else "",
        "silent": _silent(shown, found, of),
        "some": style.left_out(shown, study.cases),
        "count": len(shown),
    }
    return save(drawing, directory, of.name, of_cases(shown, data), **words)


def registers_of(case: CaseView) -> Registers:
    """The registers of a case by their numbers; none where no onset was computed."""
    onset = case.results.onset
    return {} if onset is None else {one.register: one for one in onset.registers}


#: Both numbers of what is not there.
NOTHING = (np.nan, np.nan)


def _own(registers: Registers, number: int, of: Drawn) -> tuple[float, float]:
    """A register's quantity with the study's own lips, and its uncertainty."""
    found = of.own(registers[number]) if number in registers else None
    return NOTHING if found is None else (found.value, _number(found.uncertainty))


def _number(value: float | None) -> float:
    return np.nan if value is None else value


def _span(values: Sequence[float | None]) -> tuple[float, float]:
    """Least and greatest of those values that are there."""
    known = [value for value in values if value is not None]
    return (min(known), max(known)) if known else NOTHING


def _aside(index: int, count: int) -> float:
    """How far a bore's marks stand aside, so that bars of many do not hide one another.

    The first bore has none.
    """
    return ASIDE * ((index - 1) / (count - 2) - 0.5) if count > 2 else 0.0


def _columns(stem: str, part: str, ends: Numbers) -> dict[str, Numbers]:
    """The two columns of a range, the unit at the end of their names."""
    name, _, unit = stem.rpartition("_")
    return {f"{name}{part}_{end}_{unit}": ends[:, at] for at, end in enumerate(("low", "high"))}


def _draw_changes(
    axes: Any,
    place: Numbers,
    numbers: Sequence[int],
    changes: Changes,
    of: Drawn,
    line: dict[str, Any],
) -> dict[str, Any]:
    """Draw a bore's change in each register and the lips' range of it, and give both.

    Of a bore without any change, as the first one, the line at zero is drawn alone.
    """
    there = [of.changed(changes[n]) if n in changes else LipsChange() for n in numbers]
    value = np.array([_number(one.own.value) for one in there])
    error = np.array([_number(one.own.uncertainty) for one in there])
    ends = np.array([_span(one.known) for one in there])
    if not np.any(value[np.isfinite(value)]):
        axes.axhline(0, color=line["color"], linewidth=0.9)
    else:
        axes.vlines(place, *ends.T, color=line["color"], linewidth=6, alpha=0.3, zorder=1)
        error_line(axes, place, value, error, **line)
    columns = {of.change: value, f"{of.change}_uncertainty": error}
    return columns | _columns(of.change, "_of_lips", ends)


def _silent(shown: Sequence[CaseView], found: Sequence[Registers], of: Drawn) -> str:
    """A sentence that names the registers in which bores have no tone, with the reason."""
    told = []
    for case, registers in zip(shown, found, strict=True):
        missing: dict[str, list[str]] = {}
        for number, one in registers.items():
            if of.own(one) is None:
                missing.setdefault(one.validity, []).append(str(number))
        told += [
            f"{case.label}, register {', '.join(which)} ({why})" for why, which in missing.items()
        ]
    if not told:
        return ""
    more = f" and {len(told) - style.NAMED} more" if len(told) > style.NAMED else ""
    return text("thresholds", "none", bores=f"{'; '.join(told[: style.NAMED])}{more}")


def _frame(panels: Any, of: Drawn, numbers: Sequence[int]) -> None:
    if of is THRESHOLDS:
        panels[0].set_yscale("log")
        panels[0].yaxis.set_major_formatter("{x:g}")
        panels[0].yaxis.set_minor_formatter(between_decades)
    for axes, label in zip(panels, of.labels, strict=False):
        axes.set_ylabel(wrapped(label, SIDE_MM))
        axes.set_xticks(numbers)
        axes.set_xlim(numbers[0] - 0.6, numbers[-1] + 0.6)
    panels[-1].set_xlabel("register (impedance peak)")
