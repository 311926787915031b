"""All charts of a study, each under the name of the figure for print that it stands for."""

from collections.abc import Callable

from borestudy.report.figures.case import PicturedStudy
from borestudy.report.figures.headline import HEADLINE
from borestudy.report.interactive import along, bars, sound, trends
from borestudy.report.interactive.headline import headline_panels
from borestudy.report.interactive.panels import Panel, StudyCharts
from borestudy.report.topic import FLOW, Topic

#: By the figure's name; no panel where the results have nothing to draw.
CHARTS: dict[str, Callable[[PicturedStudy], list[Panel]]] = {
    "bore-sections": along.section_panels,
    "peaks": sound.peaks_panels,
    "resonance-trend": trends.resonance_panels,
    "impedance": sound.impedance_panels,
    "mouthpiece": sound.mouthpiece_panels,
    "resistance-trend": trends.resistance_panels,
    "resistance-change": trends.change_panels,
    "pressure-drop": along.drop_panels,
    "axis-pressure": along.axis_panels,
    "wall": along.wall_panels,
    "trade-off": trends.trade_off_panels,
    "sensitivities": bars.sensitivity_panels,
}


#: Charts of every case beside the others: of many cases other figures say what they do.
OF_EVERY = (HEADLINE, "resonance-trend", "resistance-trend", "resistance-change", "trade-off")


def charts_of(study: PicturedStudy, topic: Topic = FLOW) -> StudyCharts:
    """The panels of every chart that the results allow, and the words of their bores."""
    made = {HEADLINE: headline_panels(study, topic)}
    made |= {name: draw(study) for name, draw in CHARTS.items()}
    if study.many is not None:
        made = {name: panels for name, panels in made.items() if name not in OF_EVERY}
    return StudyCharts(
        bores=[case.label for case in study.charted],
        panels={name: panels for name, panels in made.items() if panels},
    )
