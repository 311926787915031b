"""The figures of the page: in which layer each stands, its number, and its drawing inside HTML."""

import html
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from borestudy.drawing.style import FigureRecord
from borestudy.report.figures.comparison_errors import COMPARISON_ERRORS
from borestudy.report.figures.costs import COSTS
from borestudy.report.figures.headline import HEADLINE
from borestudy.report.figures.measured import STATIONS
from borestudy.report.figures.onset import SOUNDING, THRESHOLDS
from borestudy.report.figures.sensitivities import RANKED
from borestudy.report.figures.sensitivities_along import ALONG
from borestudy.report.figures.tone import COURSE, SPECTRA
from borestudy.report.figures.wish import WISH
from borestudy.report.large.figures import DENSITY, DISTRIBUTIONS, TRENDS
from borestudy.report.sources import Source, source_of
from borestudy.report.topic import FLOW, RESONANCE, Topic

#: What the first screen shows where no picture was drawn for it: the first of these that there is.
INSTEAD: dict[Topic, tuple[str, ...]] = {
    FLOW: ("resistance-change", "resistance-trend", "pressure-drop"),
    RESONANCE: ("peaks", "resonance-trend", "impedance"),
}
#: Layer of the page to its figures; every other stands in the comparison.
LAYERS: dict[str, tuple[str, ...]] = {
    "wish": (WISH,),
    "overview": (DISTRIBUTIONS, TRENDS, DENSITY),
    "flow": (
        "resistance-trend", "resistance-change", "pressure-drop", "throat-entry",
        "axis-pressure", "wall",
    ),
    "resonance": ("peaks", "resonance-trend", "impedance", "mouthpiece", "resonance-field"),
    "playing": (THRESHOLDS.name, SOUNDING.name, COURSE, SPECTRA),
    "dimensions": (RANKED, ALONG),
    "stations": (STATIONS,),
    "measurements": (COMPARISON_ERRORS,),
    "methods": ("mesh",),
    "costs": (COSTS,),
}  # fmt: skip
COMPARISON = "comparison"
#: Figures for the screen alone: what they tell stands on paper in a table or in another figure.
SCREEN_ONLY = (
    "resistance-trend", "resistance-change", "axis-pressure", "wall", "mouthpiece",
    "resonance-field", "mesh", RANKED, COMPARISON_ERRORS, COSTS, SOUNDING.name, COURSE, SPECTRA,
)  # fmt: skip


@dataclass(frozen=True)
class Picture:
    """A figure as it stands on the page; the first screen's has no number."""

    record: FigureRecord
    drawing: Markup
    number: int | None = None

    @property
    def source(self) -> Source:
        """Where its numbers come from."""
        return source_of(self.record.name)

    @property
    def is_on_paper(self) -> bool:
        """Whether it is printed."""
        return self.record.on_paper and self.record.name not in SCREEN_ONLY


def headline_of(figures: Sequence[FigureRecord], topic: Topic) -> Picture | None:
    """The picture of the first screen; None without any figure."""
    by_name = {one.name: one for one in figures}
    order = (HEADLINE, WISH, TRENDS, DISTRIBUTIONS, *INSTEAD[topic], *by_name)
    wanted = [name for name in order if name in by_name]
    return picture(by_name[wanted[0]]) if wanted else None


def pictures_by_layer(
    figures: Sequence[FigureRecord], headline: Picture | None, order: Sequence[str]
) -> Mapping[str, list[Picture]]:
    """The other figures by layer, numbered as they come on the page, layer by layer."""
    layer_of = {name: layer for layer, names in LAYERS.items() for name in names}
    first = None if headline is None else headline.record.name
    found: dict[str, list[Picture]] = {layer: [] for layer in order}
    count = 0
    for layer in order:
        for record in figures:
            if record.name != first and layer_of.get(record.name, COMPARISON) == layer:
                count += 1
                found[layer].append(picture(record, count))
    return found


def picture(record: FigureRecord, number: int | None = None) -> Picture:
    """A figure with its drawing read from its SVG file."""
    drawing = inline_svg(record.svg_path.read_text("utf-8"), record.name, record.alt)
    return Picture(record, Markup(drawing), number)


def inline_svg(svg: str, name: str, alt: str) -> str:
    """A whole SVG file as matplotlib writes it, made fit to stand inside a page beside others.

    Declarations, metadata and addresses are left out; the name, unique on the page, is put before
    every identifier; `alt` says what the picture shows to readers who do not see it.
    """
    body = svg[svg.index("<svg") :]
    body = re.sub(r"<metadata>.*?</metadata>", "", body, flags=re.DOTALL)
    body = re.sub(r'\sxmlns(?::\w+)?="[^"]*"', "", body)
    body = re.sub(r'(\sid="|url\(#|href="#)', rf"\g<1>{name}-", body)
    # matplotlib's style sheet is meant for the file alone, not for the page around it.
    body = body.replace("*{stroke", f"#{name} *{{stroke")
    opening = body[: body.index(">")]
    size = re.sub(r'\s(?:width|height|version)="[^"]*"', "", opening)
    label = html.escape(alt, quote=True)
    return f'{size} id="{name}" role="img" aria-label="{label}"{body[len(opening) :]}'.strip()
