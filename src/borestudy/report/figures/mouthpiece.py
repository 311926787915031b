"""What belongs to the mouthpiece itself: its equivalent length, and what the cup passes on."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.lines import Line2D

from borestudy.drawing import looks, style
from borestudy.drawing.lettering import wrapped
from borestudy.report.captions import save, text
from borestudy.report.figures.case import CaseView, PicturedStudy
from borestudy.report.figures.drawn_data import of_cases

#: Least width of one of three panels beside each other and a colour bar [mm], and of a
#: narrow figure's.
PANEL_MM, NARROW_MM = 32.0, 24.0
#: The mouthpiece's own curves: field of `Curves`, label, and label of the change.
CURVES = (
    ("equivalent_length_mm", "equivalent length, mm", "less the first’s, mm"),
    ("pressure_gain", "gain for a given flow", "against the first, %"),
    ("pressure_transfer", "pressure, shank end / rim", "against the first, %"),
)
#: A case with its acoustic results and their curves.
Known = tuple[CaseView, Any, Any]


@style.styled
def draw_mouthpiece(study: PicturedStudy, directory: Path) -> style.FigureRecord | None:
    """Draw equivalent length, gain and transfer of the first case, and how others differ."""
    found: list[Known] = [
        (case, case.results.acoustics, case.results.acoustics.curves)
        for case in study.cases
        if case.results.acoustics is not None and case.results.acoustics.curves is not None
    ]
    if not found:
        return None
    shown = style.sample(found)
    apart = len(shown) > 1
    rows, columns = (1 + apart, 3) if not looks.is_narrow() else (3, 1 + apart)
    drawing = style.figure((100, 150)[apart] if not looks.is_narrow() else 165)
    grid = drawing.subplots(rows, columns, squeeze=False)
    panels, *below = list(grid.T if looks.is_narrow() else grid)
    _draw_first(panels, shown[0])
    handles = []
    for index, one in enumerate(shown):
        line = style.plain_line(index, len(shown), linewidth=1.1)
        handles.append(Line2D([], [], **line))
        for row in below:
            for axes, (name, *_) in zip(row, CURVES, strict=True):
                axes.semilogx(one[2].frequency_Hz, difference(name, one[2], shown[0][2]), **line)
    for row, place in zip((panels, *below), (1, 2), strict=False):
        for axes, labels in zip(row, CURVES, strict=True):
            width = NARROW_MM if looks.is_narrow() else PANEL_MM
            axes.set_title(wrapped(labels[place], width), loc="left")
    for axes in grid.flat:
        axes.set_xlabel("frequency, Hz")
        axes.xaxis.set_major_formatter("{x:g}")
        axes.xaxis.set_minor_formatter(lambda value, position: "")
    style.key(drawing, list(grid.flat), [case.label for case, *_ in shown], handles)
    words = {"count": len(shown), "apart": text("mouthpiece", "apart") if apart else ""}
    return save(drawing, directory, "mouthpiece", _table(shown), **words)


def _draw_first(panels: Any, first: Known) -> None:
    """The first case's own curves, the band of its gain, and a quarter of a wavelength."""
    _, acoustics, curves = first
    line = style.plain_line(0, 1, linewidth=1.1)
    for axes, (name, *_) in zip(panels, CURVES, strict=True):
        value = np.array(getattr(curves, name), float)
        if value.size:  # the equivalent length cannot always be followed from low frequency
            axes.semilogx(curves.frequency_Hz, value, **line)
    band = acoustics.gain
    if band and band.peak and band.band_low and band.band_high:
        half_power = [band.peak.value * np.sqrt(0.5)] * 2
        ends = [band.band_low.value, band.band_high.value]
        panels[1].plot(ends, half_power, color=line["color"], linewidth=0.7)
    for axes in panels:
        style.from_zero([axes])
    limits = panels[0].get_ylim()
    if speed := acoustics.sound_speed_m_per_s:  # a quarter of a wavelength
        frequency = np.array(curves.frequency_Hz)
        panels[0].plot(frequency, 1e3 * speed / (4 * frequency), color=style.GREY, linestyle=":")
    panels[0].set_ylim(*limits)


def difference(name: str, curves: Any, first: Any) -> np.ndarray:
    """A curve against the first case's: millimetres of a length, per cent of a ratio, shape (n,).

    NaN where either is not known.
    """
    value, base = (np.array(getattr(one, name), float) for one in (curves, first))
    frequency = np.array(curves.frequency_Hz, float)
    if not value.size or not base.size:
        return np.full(frequency.shape, np.nan)
    same = np.interp(frequency, np.array(first.frequency_Hz, float), base, np.nan, np.nan)
    return value - same if name.endswith("_mm") else 100 * (value / same - 1)


def _table(shown: Sequence[Known]) -> Any:
    """Every case's curves with their uncertainties, and how they differ from the first's."""
    data = []
    for _, _, curves in shown:
        frequency = np.array(curves.frequency_Hz, float)
        columns: dict[str, Any] = {"frequency_Hz": frequency}
        for name, *_ in CURVES:
            for part in (name, f"{name}_uncertainty"):
                value = np.array(getattr(curves, part), float)
                columns[part] = value if value.size else np.full(frequency.shape, np.nan)
            change = name.replace("_mm", "_less_first_mm") if name.endswith("_mm") else ""
            change = change or f"{name}_change_percent"
            columns[change] = difference(name, curves, shown[0][2])
        data.append(columns)
    return of_cases([case for case, *_ in shown], data)
