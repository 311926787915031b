"""The one picture that shows a study's answer, for the first screen and for a command's answer."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from borestudy.drawing import headline as drawing_of
from borestudy.drawing import style
from borestudy.drawing.bore import Outline
from borestudy.drawing.headline import Along, Headline, Series, series
from borestudy.report.captions import save, text
from borestudy.report.figures.case import PicturedStudy, reference_rate
from borestudy.report.figures.positions import column_of, has_numbers, positions
from borestudy.report.sentences.words import REGISTERS
from borestudy.report.topic import FLOW, RESONANCE, Topic

HEADLINE = "headline"
#: Column of a flow rate in a table of what is drawn.
RATE = "flow_rate_L_per_s"
#: Flow rates that have a bar each.
RATES = 3
CHANGE, CENTS = "pressure_drop_change_percent", "resonance_change_cents"
#: Part of the bore that is drawn small, by the beginnings of the varied columns' names.
ENTRY, CUP = ("entry", "throat"), ("cup", "rim")
FLOWS: Any = {
    "quantity": "flow resistance",
    "unit": "%",
    "less": "blows more freely",
    "more": "takes more pressure",
}
SOUNDS: Any = {"unit": "cents", "less": "lower", "more": "higher"}


@style.styled
def draw_headline(
    study: PicturedStudy, directory: Path, topic: Topic = FLOW
) -> style.FigureRecord | None:
    """Draw what changes between the bores in what the study asks about; None where nothing does."""
    found = headline_of(study, topic)
    if found is None:
        return None
    each = "at_rates" if found.unit == "%" else "registers" if len(found.series) > 1 else ""
    return save(
        drawing_of.headline_figure(found),
        directory,
        HEADLINE,
        table_of(found),
        quantity=found.quantity,
        unit="percent" if found.unit == "%" else found.unit,
        base=found.labels[0],
        count=len(found.labels),
        each=text(HEADLINE, each) if each else "",
        some=style.left_out(found.labels, study.cases),
        told=told(found),
    )


def table_of(found: Headline) -> pd.DataFrame:
    """What the picture shows, a row a bore and a bar."""
    unit = found.unit.replace("%", "percent")
    column = f"{found.quantity} change {unit}".replace(" ", "_")
    tables = [
        pd.DataFrame({"case": found.labels, one.key[0]: one.key[1], column: one.value})
        for one in found.series
    ]
    for table, one in zip(tables, found.series, strict=True):
        table[f"{column}_uncertainty"] = one.error
    return pd.concat(tables, ignore_index=True)


def told(found: Headline) -> str:
    """The last series' numbers in words, the ends of many bores."""
    last = found.series[-1]
    places = range(1, len(found.labels))
    shown = style.sample(list(places), drawing_of.ROWS)
    numbers = [
        f"{found.labels[at]} "
        f"{drawing_of.number_text(float(last.value[at]), float(last.error[at]), found.unit)}"
        for at in shown
    ]
    return f"{last.label}: {', '.join(numbers)}"


def headline_of(study: PicturedStudy, topic: Topic) -> Headline | None:
    """The changes of what is asked about, else of the other; None where there are none."""
    if len(study.cases) < 2:
        return None
    found = {FLOW: resistances(study), RESONANCE: resonances(study)}
    other = RESONANCE if topic == FLOW else FLOW
    rows, words = found[topic], FLOWS if topic == FLOW else SOUNDS
    if not rows:
        rows, words = found[other], SOUNDS if topic == FLOW else FLOWS
    if not rows:
        return None
    if "quantity" not in words:
        words = words | {"quantity": "pitch" if len(rows) > 1 else "first resonance"}
    along = None
    if len(study.cases) > drawing_of.ROWS:
        along = _along(study)
        if len(along.lines) > 1:  # what is varied besides tells the lines apart
            rows = rows[-1:]
    return Headline(
        labels=[case.label for case in study.cases],
        series=rows,
        outlines=[case.outline for case in study.cases],
        window=window(study.varied, [case.outline for case in study.cases]),
        along=along,
        **words,
    )


def changes(
    labels: Sequence[str],
    outlines: Sequence[Outline],
    by_rate: Mapping[float, tuple[Sequence[float], Sequence[float]]],
    varied: Sequence[str] = ("entry",),
) -> Headline:
    """The picture's contents from changes that are known without a study's tables.

    Parameters
    ----------
    labels : sequence of str
        Words of each of the n bores, the first what the others are held against.
    outlines : sequence of Outline
        Their wall lines (`borestudy.drawing.bore.outline`); none for no sections.
    by_rate : mapping of float to (sequence, sequence)
        At each flow rate [L/s] the change of the flow resistance and its uncertainty [%], of
        shape (n,), NaN where not known.
    varied : sequence of str
        Names of what differs between the bores, which say what part is drawn.
    """
    rows = [series(_at(rate), *pair, (RATE, rate)) for rate, pair in by_rate.items()]
    shown = window(varied, outlines) if outlines else None
    return Headline(labels, rows, outlines=outlines, window=shown, **FLOWS)


@style.styled
def picture(found: Headline, path: Path) -> None:
    """Write the picture alone to a file, in the format of its ending."""
    style.save_as(drawing_of.headline_figure(found), path)


def _at(rate: float) -> str:
    return f"at {rate:g} L/s"


def resistances(study: PicturedStudy) -> list[Series]:
    """Changes of the flow resistance at up to three flow rates, that of the comparison too."""
    if study.flow.empty or not has_numbers(study.flow, CHANGE):
        return []
    rates = style.sample(study.rates, RATES)
    compared = reference_rate(study.comparison, study.flow)
    if compared in study.rates and compared not in rates:
        nearest = min(range(len(rates)), key=lambda at: abs(rates[at] - compared))
        rates[nearest] = compared
    tables = study.at_rates(rates)
    return [
        series(
            _at(rate),
            column_of(table, CHANGE),
            column_of(table, f"{CHANGE}_uncertainty"),
            (RATE, rate),
        )
        for rate, table in tables.items()
    ]


def resonances(study: PicturedStudy) -> list[Series]:
    """Changes of the first resonance, or with an air column of each register's peaks on average.

    A register's uncertainty is the mean of its peaks', which come from the same meshes.
    """
    table = study.comparison
    registers = [
        _register(table, name, peaks)
        for name, peaks in REGISTERS.items()
        if any(has_numbers(table, f"peak_{peak}_change_cents") for peak in peaks)
    ]
    if registers:
        return registers
    if not has_numbers(table, CENTS):
        return []
    return [
        series(
            "first resonance",
            column_of(table, CENTS),
            column_of(table, f"{CENTS}_uncertainty"),
            ("resonance", "first"),
        )
    ]


def _register(table: pd.DataFrame, name: str, peaks: range) -> Series:
    """Means of the changes of the peaks of a register that every bore has."""
    names = [f"peak_{peak}_change_cents" for peak in peaks]
    value = np.array([column_of(table, one) for one in names])
    error = np.array([column_of(table, f"{one}_uncertainty") for one in names])
    whole, key = np.isfinite(value).all(axis=1), ("register", name)
    if not whole.any():
        nothing = np.full(len(table), np.nan)
        return series(f"{name} register", nothing, nothing, key)
    mean, spread = (one[whole].mean(axis=0) for one in (value, error))
    return series(f"{name} register", mean, spread, key)


def _along(study: PicturedStudy) -> Along:
    place = positions(study.comparison, study.varied)
    return Along(place.x, place.axis_label, place.tick_labels, place.groups)


def window(varied: Sequence[str], outlines: Sequence[Outline]) -> tuple[float, float] | None:
    """From where to where [mm] bores are drawn small: about what is varied; None for whole bores.

    A throat's entry is drawn with somewhat more than a diameter of bore round it, a cup up to the
    throat.
    """
    if varied and all(name.startswith(ENTRY) for name in varied):
        diameter = max(outline.throat_diameter_mm for outline in outlines)
        start = min(outline.entry_start_mm for outline in outlines)
        throat = max(outline.throat_start_mm for outline in outlines)
        return max(0.0, start - 0.8 * diameter), throat + 1.5 * diameter
    if varied and all(name.startswith(CUP) for name in varied):
        return 0.0, max(outline.throat_start_mm for outline in outlines) + 4.0
    return None
