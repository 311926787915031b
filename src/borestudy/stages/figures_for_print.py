"""The figures of a study drawn again for print: another width, other letters, other formats."""

from collections.abc import Sequence
from pathlib import Path

import pandas as pd
from matplotlib import font_manager

from borestudy.drawing.lettering import FAMILIES
from borestudy.drawing.looks import Look, using
from borestudy.report.captions import figure_names
from borestudy.results.tables.files import write_table
from borestudy.stages.presentation import pictured_study, records_of
from borestudy.study import Study
from borestudy.units import parse_length
from borestudy.views.text import refused

#: Widths [mm] and letters [pt] that figures can be drawn with.
WIDTHS_MM, SIZES_PT = (70.0, 300.0), (6.0, 12.0)
FORMATS = ("pdf", "svg", "png")
#: What the figures say, a row a figure.
CAPTIONS = "captions.csv"


def look_of(width: str, font: str, size: str, formats: str, only: Sequence[str] = ()) -> Look:
    """The look that options ask for.

    Parameters
    ----------
    width : str
        With its unit, such as ``84 mm``.
    font : str
        ``serif``, ``sans-serif``, ``monospace`` or the name of an installed family.
    size : str
        Of the letters, such as ``9 pt``.
    formats : str
        One or more of ``pdf``, ``svg`` and ``png``, with commas between them.
    only : sequence of str
        Names of the figures wanted; none for all.

    Raises
    ------
    ValueError
        Naming the option, what was found, what is allowed, and an example.
    """
    kinds = tuple(dict.fromkeys(word.strip().lower() for word in formats.split(",")))
    for kind in kinds:
        if kind not in FORMATS:
            raise ValueError(refused("--format", kind, FORMATS, "pdf"))
    for name in only:
        if name not in figure_names():
            raise ValueError(refused("--only", name, figure_names(), "headline"))
    return Look(_width_mm(width), _size_pt(size), _family(font), kinds, tuple(only))


def _width_mm(text: str) -> float:
    low, high = WIDTHS_MM
    allowed = f'allowed is {low:g} mm to {high:g} mm, for example --width "84 mm"'
    try:
        width = 1e3 * parse_length(text)
    except ValueError:
        width = -1.0
    if not low <= width <= high:
        raise ValueError(f"--width: found {text!r}; {allowed}")
    return width


def _size_pt(text: str) -> float:
    low, high = SIZES_PT
    try:
        size = float(text.strip().removesuffix("pt"))
    except ValueError:
        size = -1.0
    if not low <= size <= high:
        raise ValueError(
            f"--size: found {text!r}; allowed is {low:g} pt to {high:g} pt, "
            f'for example --size "9 pt"'
        )
    return size


def _family(name: str) -> str:
    """A font as it is asked for, if there is one."""
    if name in FAMILIES:
        return name
    families = sorted({one.name for one in font_manager.fontManager.ttflist})
    if name not in families:
        raise ValueError(refused("--font", name, [*FAMILIES, *families], "serif"))
    return name


def draw_for_print(study: Study, folder: Path, look: Look, output: Path) -> list[Path]:
    """Draw the figures of a study from its results, each with its data; returns the files written.

    ``captions.csv`` has their titles, captions and alternative texts.  A figure that the results
    have nothing for is left out.
    """
    with using(look):
        records = records_of(study, folder, pictured_study(study, folder), output)
    wanted = [record for record in records if not look.only or record.name in look.only]
    if not wanted:
        return []
    files = []
    for record in wanted:
        files += [output / f"{record.name}.{kind}" for kind in look.formats]
        files += [record.csv_path] if record.csv_path else []
    rows = [
        {"figure": one.name, "title": one.title, "caption": one.caption, "alt": one.alt}
        for one in wanted
    ]
    write_table(pd.DataFrame(rows), output / CAPTIONS)
    return [*files, output / CAPTIONS]
