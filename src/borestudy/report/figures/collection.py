"""All figures of a study in one call."""

from dataclasses import replace
from pathlib import Path

import pandas as pd

from borestudy.drawing.style import FigureRecord
from borestudy.report.figures import along, impedance, trends
from borestudy.report.figures.bores import draw_bores, draw_mesh
from borestudy.report.figures.case import PicturedStudy
from borestudy.report.figures.headline import draw_headline
from borestudy.report.figures.measured import draw_measured
from borestudy.report.figures.mouthpiece import draw_mouthpiece
from borestudy.report.figures.onset import draw_sounding, draw_thresholds
from borestudy.report.figures.pressure import draw_pressure_drop
from borestudy.report.figures.sensitivities import draw_ranked
from borestudy.report.figures.sensitivities_along import draw_along
from borestudy.report.figures.sound_field import draw_resonance_field
from borestudy.report.figures.throat_entries import draw_throat_entries
from borestudy.report.figures.tone import draw_course, draw_spectra
from borestudy.report.figures.trade_off import draw_study as draw_trade_off
from borestudy.report.large.figures import DENSITY, DISTRIBUTIONS, TRENDS, draw_many
from borestudy.report.topic import FLOW, RESONANCE, Topic

#: Of each topic, in the report's order; each is None where the results have nothing to draw.
FIGURES = {
    RESONANCE: (
        impedance.draw_peaks,
        trends.draw_resonance,
        impedance.draw_impedance,
        draw_mouthpiece,
        draw_resonance_field,
    ),
    FLOW: (
        trends.draw_resistance,
        trends.draw_resistance_change,
        draw_pressure_drop,
        draw_throat_entries,
        along.draw_axis_pressure,
        along.draw_wall,
    ),
}
#: What is drawn of every case beside the others: of many cases other figures say it.
OF_EVERY = (
    trends.draw_resonance,
    trends.draw_resistance,
    trends.draw_resistance_change,
    draw_trade_off,
)
#: What a printed report needs of each topic; the others add to it on a screen and as files.
ON_PAPER = {
    RESONANCE: ("headline", "bore-sections", "stations", "peaks", "resonance-trend", "impedance",
                "thresholds"),
    FLOW: ("headline", "bore-sections", "stations", "pressure-drop", "throat-entry",
           "resonance-trend", "impedance", "thresholds"),
}  # fmt: skip


#: The same of a study of many cases.
OF_MANY = (DISTRIBUTIONS, TRENDS, DENSITY)


def draw_all(directory: Path, study: PicturedStudy, topic: Topic = FLOW) -> list[FigureRecord]:
    """Draw every figure the results allow as SVG and PNG.

    The one that shows the answer comes first, and of the others those of the topic.
    """
    labels = {case.name: case.label for case in study.cases}
    names = study.comparison["case"].map(labels).rename("label")
    table = pd.concat([study.comparison, names], axis=1)
    study = replace(study, comparison=table)
    is_there = {RESONANCE: len(study.impedance) > 0, FLOW: len(study.rates) > 0}
    topics = sorted(FIGURES, key=lambda word: word != topic)
    draws = [draw for word in topics if is_there[word] for draw in FIGURES[word]]
    played = (draw_thresholds, draw_sounding, draw_course, draw_spectra)
    last = (*played, draw_trade_off, draw_mesh, draw_ranked, draw_along)
    wanted = (draw_bores, draw_measured, *draws, *last)
    left_out = () if study.many is None else OF_EVERY
    made = [draw(study, directory) for draw in wanted if draw not in left_out]
    if study.many is None:
        records = [draw_headline(study, directory, topic), *made]
    else:
        records = [*draw_many(study.many, directory), *made]
    needed = ON_PAPER[topic] + OF_MANY
    return [replace(one, on_paper=one.name in needed) for one in records if one is not None]
