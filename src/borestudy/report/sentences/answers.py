"""The study's answer in plain sentences, each with its uncertainty and where it holds."""

import math
from collections.abc import Sequence

from borestudy.report.sentences import words
from borestudy.report.sentences.entry import entry_answers
from borestudy.report.sentences.grid import by_pitch, several_answers
from borestudy.report.sentences.onset import onset_answers
from borestudy.report.sentences.parts import parts_answers, separation_answers
from borestudy.report.sentences.stream import stream_answers
from borestudy.report.sentences.tone import tone_answers
from borestudy.report.topic import FLOW, RESONANCE, Sentences, Topic, asks_of_onset, topic_of
from borestudy.results.case import (
    CaseResults,
    other_rates,
    solved_cases,
    split_column,
    varied_columns,
)
from borestudy.results.changes import Change, flow_change, resonance_change
from borestudy.rounding import with_uncertainty

ENTRY = ("entry", "entry_radius_mm")
#: As many other cases as are gone through one by one.
FEW = 3


def answers(cases: Sequence[CaseResults], reference_rate: int, question: str = "") -> list[str]:
    """A few plain sentences that answer the study's question, its topic first.

    Changes are against the first case; the reference rate, of which is spoken first, is an index.
    None is said only if there is no case.
    """
    if not cases:
        return []
    columns = varied_columns(cases)
    topic = topic_of(question, columns)
    first = _answers(cases, columns, reference_rate, topic)
    further = Sentences(
        stream_answers(cases, columns[0] if len(columns) == 1 else None),
        [*parts_answers(cases), *separation_answers(cases)],
    )
    playing = [*onset_answers(cases), *tone_answers(cases)]
    if asks_of_onset(question):
        return [*playing, *first, *further.opening_with(topic)]
    return [*first, *further.opening_with(topic), *playing]


def _answers(
    cases: Sequence[CaseResults], columns: list[str], rate: int, topic: Topic
) -> list[str]:
    if len(cases) == 1:
        told = _single_answers(cases[0], rate).opening_with(topic)
        return told or ["Nothing was computed for this bore."]
    if len(columns) > 1:
        return several_answers(cases, columns, rate, topic)
    if columns[0] in ENTRY:
        return entry_answers(cases, rate, topic)
    if all(isinstance(case.varied.get(columns[0]), int | float) for case in cases):
        return _numeric_answers(cases, columns[0], rate).opening_with(topic)
    return _worded_answers(cases, columns[0], rate, topic)


def _single_answers(case: CaseResults, rate: int) -> Sentences:
    """The figures of a study's only case."""
    sound = []
    if case.resonances and case.acoustics is not None:
        peak = case.resonances[0]
        quality = "" if peak.Q is None else f" with a Q of {words.quantity_text(peak.Q)}"
        sound = [
            f"The first resonance is at {words.quantity_text(peak.frequency)} Hz{quality} "
            f"(shank end: {case.acoustics.termination or 'unknown'})."
        ]
    flow = [
        f"The flow resistance is {words.figure_text(case, each)} {words.where(case, each)}"
        for each in [rate, *other_rates([case], rate)]
        if case.rate(each) is not None
    ]
    # what both signs are is said once
    flow = [
        f"{told}{'' if place else f', {words.BOTH_ERRORS}'}." for place, told in enumerate(flow)
    ]
    return Sentences(sound, flow)


def _numeric_answers(cases: Sequence[CaseResults], column: str, rate: int) -> Sentences:
    """What a dimension in numbers changes over its range and for a step of it."""
    sizes = {case.name: float(case.varied[column] or 0.0) for case in cases}
    low, *_, high = sorted(cases, key=lambda case: sizes[case.name])
    span = sizes[high.name] - sizes[low.name]
    cents = factor = ""
    if not high.has_air_column:
        cents = _per_step(RESONANCE, resonance_change(high, low), span, column)
    factor = _per_step(FLOW, flow_change(high, low, rate), span, column)
    name = split_column(column)[0]
    ends = [words.value_text(column, case.varied[column]) for case in (high, low)]
    changed = f"With {name} {ends[0]} instead of {ends[1]}"
    flow = [f"{changed} the flow resistance is {words.resistance_changes(high, low, rate)}."]
    if factor:
        flow[0] = f"{flow[0][:-1]}; {words.where(low, rate, brief=True)} {factor}."
    flow += [told for told in [words.drops_instead(high, low, rate)] if told]
    solved = solved_cases(cases, rate)
    if len(solved) > 2:
        for word, case, next_to in (
            ("lowest", solved[0], solved[1]),
            ("highest", solved[-1], solved[-2]),
        ):
            if case not in (low, high) and flow_change(case, next_to, rate).is_beyond:
                size = words.value_text(column, case.varied[column])
                place = words.where(case, rate)
                flow.append(f"It is {word} in between, with {name} {size} {place}.")
    return Sentences([f"{changed} {words.resonance_text(high, low)}{cents}."], flow)


def _per_step(topic: Topic, change: Change, span: float, column: str) -> str:
    """The mean change for the greatest power of ten within a dimension's range.

    Cents of a resonance add up, percents of a resistance do not: it is multiplied at every step.
    Empty where nothing is known to move.
    """
    if change.value is None or change.uncertainty is None or not change.is_beyond or span <= 0:
        return ""
    step = 10.0 ** math.floor(math.log10(span * (1 + 1e-9)))
    share, size = step / span, words.value_text(column, step)
    if topic == RESONANCE:
        found = with_uncertainty(change.value * share, change.uncertainty * share)
        return f", on average {found} cents for {size}"
    ratio = 1 + change.value / 100
    factor = ratio**share
    found = with_uncertainty(factor, factor * share * change.uncertainty / 100 / ratio)
    return f"each {size} more multiplies it by {found} on average"


def _worded_answers(
    cases: Sequence[CaseResults], column: str, rate: int, topic: Topic
) -> list[str]:
    """What a dimension in words changes, case by case or from least to greatest."""
    first = cases[0]
    name, base = split_column(column)[0], words.value_text(column, first.varied[column])
    shown = list(cases[1:])
    if len(shown) > FEW:
        ordered = by_pitch(cases) if topic == RESONANCE else solved_cases(cases, rate)
        solved = [case for case in ordered if case is not first]
        shown = [solved[0], solved[-1]] if len(solved) > 1 else solved
    sentences = []
    for case in shown:
        found = words.resistance_changes(case, first, rate)
        told = Sentences([words.resonance_text(case, first)], [f"the flow resistance is {found}"])
        sentences.append(
            f"With {name} {words.value_text(column, case.varied[column])} instead of {base} "
            f"{'; '.join(told.opening_with(topic))}."
        )
    return sentences or [f"What {name} changes is not known: no solution."]
