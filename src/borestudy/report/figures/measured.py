"""The readings of measured bores, on the walls that were made of them."""

from collections.abc import Sequence
from pathlib import Path

from borestudy.bore.measured.record import MeasurementRecord
from borestudy.drawing import style
from borestudy.drawing.measured import draw_deviations, draw_stations, has_deviations
from borestudy.report.captions import save, text
from borestudy.report.figures.case import CaseView, PicturedStudy

#: Name of the figure, and of its words.
STATIONS = "stations"
#: Files that are drawn.
FILES = 3


def measured_cases(study: PicturedStudy) -> list[CaseView]:
    """The first case of each measurement that differs, in the study's order."""
    found: list[CaseView] = []
    for case in study.cases:
        record = case.results.measurement
        if record and all(record != one.results.measurement for one in found):
            found.append(case)
    return found


@style.styled
def draw_measured(study: PicturedStudy, directory: Path) -> style.FigureRecord | None:
    """Draw the section of each measured bore with its stations, and how far readings are off it."""
    cases = measured_cases(study)
    shown = cases[:FILES]
    pairs = [(case, case.results.measurement) for case in shown if case.results.measurement]
    if not pairs:
        return None
    below = [has_deviations([record]) for _, record in pairs]
    heights = [size for both in below for size in ((1.0, 0.8) if both else (1.0,))]
    drawing = style.figure(12 + 48 * sum(heights))
    panels = list(drawing.subplots(len(heights), 1, height_ratios=heights, squeeze=False).flat)
    marks: dict[str, object] = {}
    for (case, record), both in zip(pairs, below, strict=True):
        axes = panels.pop(0)
        marks |= dict(draw_stations(axes, case.outline, record))
        if len(pairs) > 1:
            axes.set_title(record.file, loc="left", pad=14)
        if both:
            beneath = panels.pop(0)
            draw_deviations(beneath, record)
            beneath.set_xlim(axes.get_xlim())
    style.legend(drawing, marks.values(), list(marks))
    records = [record for _, record in pairs]
    sources = dict.fromkeys(f" ({record.file}: {record.uncertainty_from})" for record in records)
    words = {
        "files": " and ".join(dict.fromkeys(record.file for record in records)),
        "count": sum(len(record.stations) for record in records),
        "below": text(STATIONS, "off", source="".join(sources)) if any(below) else "",
        "smoothed": _of_smoothing(records),
        "some": style.left_out(shown, cases, "files"),
    }
    return save(drawing, directory, STATIONS, **words)


def _of_smoothing(records: Sequence[MeasurementRecord]) -> str:
    """What smoothing did to any of the stations."""
    bound = max(record.smoothing_mm for record in records)
    largest = max(record.largest_deviation_mm for record in records)
    return text(STATIONS, "bound", bound=bound, largest=largest) if bound else ""
