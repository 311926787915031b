"""The tone by the model of lips and bore: its spectrum bore beside bore, and how loud it gets."""

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.lines import Line2D
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from borestudy.drawing import looks, style
from borestudy.drawing.lettering import wrapped
from borestudy.report.captions import save, text
from borestudy.report.figures.case import CaseView, PicturedStudy
from borestudy.report.figures.drawn_data import of_cases
from borestudy.results.tone import ToneAtLevel, ToneResult

#: Figures by name.
SPECTRA, COURSE = "tone-spectra", "tone-course"
#: Harmonics that are further below the first bore's strongest one are not drawn [dB].
REACH = 60.0
#: Room below the marks of no tone, as a share of the axis.
BELOW = 0.06
#: Places of the pressure: the field of `ToneAtLevel`, words, and the marks' fill.
PLACES = (("cup_harmonics_dB", "in the cup"), ("shank_harmonics_dB", "behind the shank"))
#: Widest line of words along a vertical axis [mm].
SIDE_MM = 34.0
Numbers = NDArray[np.float64]


def tone_of(case: CaseView) -> ToneResult:
    """The tone of a case; an empty one where none was computed."""
    return ToneResult() if case.results.tone is None else case.results.tone


def levels_of(case: CaseView) -> Mapping[str, ToneAtLevel]:
    """Levels of a case that have a spectrum, by their names."""
    return {one.level: one for one in tone_of(case).at_levels if one.cup_harmonics_dB}


@style.styled
def draw_spectra(study: PicturedStudy, directory: Path) -> style.FigureRecord | None:
    """Draw the first bore's harmonics at each level, and what the other bores' differ by."""
    shown = study.shown
    found = [levels_of(case) for case in shown]
    base = next((index for index, levels in enumerate(found) if levels), None)
    if base is None:
        return None
    names = list(found[base])
    apart = sum(bool(levels) for levels in found) > 1
    rows = 1 + len(PLACES) * apart
    shape = (rows, len(names)) if not looks.is_narrow() else (rows * len(names), 1)
    height = 12 + 42 * shape[0] if not looks.is_narrow() else 12 + 38 * shape[0]
    drawing = style.figure(height)
    grid = drawing.subplots(*shape, squeeze=False, sharex=True)
    by_level = grid.T if not looks.is_narrow() else grid.reshape(len(names), rows)
    lines = [style.line_style(index, len(shown)) for index in range(len(shown))]
    for name, panels in zip(names, by_level, strict=True):
        _draw_level(panels, name, found, base, lines)
        title = text(SPECTRA, "level", level=name, times=found[base][name].times_threshold)
        panels[0].set_title(wrapped(title, looks.width_mm() / shape[1] - 18), loc="left")
    for axes in grid[-1]:
        axes.set_xlabel("harmonic")
    for axes in grid.flat:
        axes.xaxis.set_major_locator(MaxNLocator(integer=True, nbins=8))
    labels = [case.words(bool(levels)) for case, levels in zip(shown, found, strict=True)]
    style.key(drawing, list(grid.flat), labels, [Line2D([], [], **line) for line in lines])
    return save(
        drawing,
        directory,
        SPECTRA,
        _spectra_table(shown, found, base),
        base=shown[base].label,
        reach=f"{REACH:g}",
        register=tone_of(shown[base]).register,
        apart=text(SPECTRA, "apart") if apart else "",
        some=style.left_out(shown, study.cases),
        count=len(shown),
    )


def _draw_level(
    panels: Sequence[Any],
    name: str,
    found: Sequence[Mapping[str, ToneAtLevel]],
    base: int,
    lines: Sequence[dict[str, Any]],
) -> None:
    """Draw one level: the spectrum at both places on top, the differences at each place below."""
    first = found[base][name]
    for (field, words), fill in zip(PLACES, (None, "white"), strict=True):
        level = _audible(np.array(getattr(first, field), float))
        harmonics = np.arange(1, len(level) + 1)
        line = {**lines[base], "markerfacecolor": fill or lines[base]["color"], "linewidth": 0.8}
        panels[0].plot(harmonics, level, **line, label=words)
    panels[0].set_ylabel(wrapped("dB above 20 µPa", SIDE_MM))
    for axes, (field, words) in zip(panels[1:], PLACES, strict=False):
        axes.axhline(0, color=lines[base]["color"], linewidth=0.9)
        for index, levels in enumerate(found):
            if index != base and name in levels:
                apart = _apart(first, levels[name], field)
                axes.plot(np.arange(1, len(apart) + 1), apart, **{**lines[index], "linewidth": 0.8})
        axes.set_ylabel(wrapped(f"{words}, against the first, dB", SIDE_MM))


def _audible(level: Numbers) -> Numbers:
    """Levels [dB] with no number where they are further than `REACH` below the greatest."""
    return np.where(level >= level.max(initial=-np.inf) - REACH, level, np.nan)


def _apart(first: ToneAtLevel, other: ToneAtLevel, field: str) -> Numbers:
    """What a bore's harmonics are above the first bore's [dB], as far as both have them."""
    base, level = (np.array(getattr(one, field), float) for one in (first, other))
    count = min(len(base), len(level))
    return level[:count] - _audible(base)[:count]


def _spectra_table(
    shown: Sequence[CaseView], found: Sequence[Mapping[str, ToneAtLevel]], base: int
) -> Any:
    """Every case's harmonics at each level and place, and how they differ from the first's."""
    cases, data = [], []
    for case, levels in zip(shown, found, strict=True):
        for name, one in levels.items():
            count = len(one.cup_harmonics_dB)
            columns: dict[str, Any] = {"level": [name] * count, "harmonic": range(1, count + 1)}
            for field, _ in PLACES:
                place = field.removesuffix("_harmonics_dB")
                columns[f"{place}_dB"] = np.array(getattr(one, field), float)
                apart = np.full(count, np.nan)
                if name in found[base]:
                    known = _apart(found[base][name], one, field)
                    apart[: len(known)] = known
                columns[f"{place}_above_first_dB"] = apart
            cases.append(case)
            data.append(columns)
    return of_cases(cases, data)


@style.styled
def draw_course(study: PicturedStudy, directory: Path) -> style.FigureRecord | None:
    """Draw loudness and pitch of the tone against the mouth pressure, rising and then falling."""
    shown = study.shown
    tones = [tone_of(case) for case in shown]
    if not any(tone.rising_mouth_pressure_Pa for tone in tones):
        return None
    drawing = style.figure(118)
    loud, pitch = drawing.subplots(2, 1, sharex=True)
    handles, data = [], []
    for index, tone in enumerate(tones):
        line = {**style.line_style(index, len(shown)), "linewidth": 1.0, "markersize": 3.5}
        handles.append(Line2D([], [], **line))
        columns: dict[str, list[Any]] = {name: [] for name in COURSE_COLUMNS}
        for way, fill in (("rising", line["color"]), ("falling", "white")):
            mouth, cup, at = (
                np.array(getattr(tone, f"{way}_{part}"), float)
                for part in ("mouth_pressure_Pa", "cup_pressure_Pa", "frequency_Hz")
            )
            # where both ways agree the filled marks are seen, where they part the hollow ones too
            look = {**line, "markerfacecolor": fill, "linestyle": "-", "zorder": 3}
            if way == "falling":
                look |= {"linestyle": ":", "zorder": 2}
            loud.plot(1e-3 * mouth, 1e-3 * cup, **look)
            pitch.plot(1e-3 * mouth, at, **look)
            rows: tuple[Iterable[Any], ...] = ([way] * len(mouth), 1e-3 * mouth, 1e-3 * cup, at)
            for column, values in zip(COURSE_COLUMNS, rows, strict=True):
                columns[column] += list(values)
        data.append(columns)
    style.from_zero([loud])
    loud.set_ylim(bottom=-BELOW * loud.get_ylim()[1])
    loud.set_ylabel(wrapped("sound in the cup, kPa", SIDE_MM))
    pitch.set_ylabel(wrapped("sounding frequency, Hz", SIDE_MM))
    pitch.set_xlabel("mouth pressure, kPa")
    known = [bool(tone.rising_mouth_pressure_Pa) for tone in tones]
    words = [case.words(is_known) for case, is_known in zip(shown, known, strict=True)]
    style.key(drawing, [loud, pitch], words, handles)
    register = next(tone.register for tone, there in zip(tones, known, strict=True) if there)
    table = of_cases(shown, data)
    some = style.left_out(shown, study.cases)
    return save(drawing, directory, COURSE, table, count=len(shown), register=register, some=some)


COURSE_COLUMNS = ("way", "mouth_pressure_kPa", "cup_pressure_kPa", "sounding_frequency_Hz")
