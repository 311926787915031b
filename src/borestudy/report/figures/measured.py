"""The readings of measured bores, on the walls that were made of them."""

from collections.abc import Sequence
from pathlib import Path

import pandas as pd

from borestudy.bore.measured.record import MeasurementRecord
from borestudy.drawing import style
from borestudy.drawing.measured import has_deviations, readings_figure
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
    records = [record for _, record in pairs]
    drawing = readings_figure([case.outline for case, _ in pairs], records)
    off = any(map(has_deviations, records))
    sources = dict.fromkeys(f" ({record.file}: {record.uncertainty_from})" for record in records)
    words = {
        "files": " and ".join(dict.fromkeys(record.file for record in records)),
        "count": sum(len(record.stations) for record in records),
        "below": text(STATIONS, "off", source="".join(sources)) if off else "",
        "smoothed": _of_smoothing(records),
        "some": style.left_out(shown, cases, "files"),
    }
    return save(drawing, directory, STATIONS, _table(pairs), **words)


def _table(pairs: Sequence[tuple[CaseView, MeasurementRecord]]) -> pd.DataFrame:
    """Every station of each file, a row a reading, with the diameter that was used."""
    rows = [
        {
            "file": record.file,
            "position_mm": one.position_mm,
            "diameter_mm": one.diameter_mm,
            "diameter_mm_uncertainty": one.diameter_mm_uncertainty,
            "reading_mm": reading,
            "left_out": one in record.left_out,
        }
        for _, record in pairs
        for one in (*record.stations, *record.left_out)
        for reading in one.readings_mm
    ]
    return pd.DataFrame(rows)


def _of_smoothing(records: Sequence[MeasurementRecord]) -> str:
    """What smoothing did to any of the stations."""
    bound = max(record.smoothing_mm for record in records)
    largest = max(record.largest_deviation_mm for record in records)
    return text(STATIONS, "bound", bound=bound, largest=largest) if bound else ""
