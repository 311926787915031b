"""The study's answer in plain sentences, each with its uncertainty and where it holds."""

import math
from collections.abc import Sequence

from borestudy.report.sentences.entry import entry_answers
from borestudy.report.sentences.grid import by_pitch, several_answers
from borestudy.report.sentences.parts import parts_answers, separation_answers
from borestudy.report.sentences.stream import stream_answers
from borestudy.report.sentences.words import (
    figure_text,
    quantity_text,
    resistance_at,
    resonance_text,
    value_text,
    where,
)
from borestudy.report.topic import RESONANCE, Told, Topic, topic_of
from borestudy.results.case import (
    CaseResults,
    other_rates,
    solved_cases,
    split_column,
    varied_columns,
)
from borestudy.results.changes import Change, flow_change, resonance_change
from borestudy.results.span_changes import span_change
from borestudy.results.spans import LAMINAR
from borestudy.rounding import with_uncertainty

ENTRY = ("entry", "entry_radius_mm")
#: As many other cases as are gone through one by one.
FEW = 3


def answers(cases: Sequence[CaseResults], reference_rate: int, question: str = "") -> list[str]:
    """One to a few plain sentences that answer the study's question, its topic first.

    Parameters
    ----------
    cases : sequence of CaseResults
        In the study's order; changes are against the first.
    reference_rate : int
        Index of the flow rate that is spoken of first.
    question : str, optional
        The study's; `borestudy.report.topic.topic_of` says what it decides.

    Returns
    -------
    list of str
        Empty only if there is no case.
    """
    if not cases:
        return []
    columns = varied_columns(cases)
    topic = topic_of(question, columns)
    alone = columns[0] if len(columns) == 1 else None
    first = _answers(cases, columns, reference_rate, topic)
    if topic == RESONANCE:
        return [*first, *stream_answers(cases, alone), *_flow_details(cases)]
    return [*first, *_flow_details(cases), *stream_answers(cases, alone)]


def _flow_details(cases: Sequence[CaseResults]) -> list[str]:
    return [*parts_answers(cases), *separation_answers(cases)]


def _answers(
    cases: Sequence[CaseResults], columns: list[str], rate: int, topic: Topic
) -> list[str]:
    if len(cases) == 1:
        told = single_answers(cases[0], rate).opening_with(topic)
        return told or ["Nothing was computed for this bore."]
    if len(columns) > 1:
        return several_answers(cases, columns, rate, topic)
    if columns[0] in ENTRY:
        return entry_answers(cases, rate, topic)
    if all(isinstance(case.varied.get(columns[0]), int | float) for case in cases):
        return numeric_answers(cases, columns[0], rate).opening_with(topic)
    return worded_answers(cases, columns[0], rate, topic)


def single_answers(case: CaseResults, rate: int) -> Told:
    """The figures of a study's only case."""
    told = Told([], [])
    if case.resonances:
        peak = case.resonances[0]
        sentence = f"The first resonance is at {quantity_text(peak.frequency)} Hz"
        if peak.Q is not None:
            sentence += f" with a Q of {quantity_text(peak.Q)}"
        termination = case.acoustics.termination if case.acoustics is not None else ""
        told.resonance.append(f"{sentence} (shank end: {termination or 'unknown'}).")
    for each in [rate, *other_rates([case], rate)]:
        if case.rate(each) is not None:
            told.flow.append(
                f"The flow resistance is {figure_text(case, each)} {where(case, each)}."
            )
    return told


def numeric_answers(cases: Sequence[CaseResults], column: str, rate: int) -> Told:
    """What a dimension in numbers changes over its range and for a step of it."""
    ordered = sorted(cases, key=lambda case: _number(case, column))
    low, high = ordered[0], ordered[-1]
    name, _ = split_column(column)
    ends = [value_text(column, case.varied[column]) for case in (low, high)]
    span = _number(high, column) - _number(low, column)
    sentences = [
        f"With {name} {ends[1]} instead of {ends[0]} the flow resistance is "
        f"{resistance_at(high, low, rate)}: {figure_text(high, rate)} instead of "
        f"{figure_text(low, rate)}{_resistance_per_step(high, low, rate, span, column)}."
    ]
    sentences += _in_between(cases, column, (low, high), rate)
    others = other_rates(cases, rate)
    if others:
        found = "; ".join(resistance_at(high, low, each, True) for each in others)
        sentences.append(f"At the other flow rates the flow resistance is {found}.")
    per_step = ""
    if not high.has_air_column:
        per_step = _cents_per_step(resonance_change(high, low), span, column)
    sound = f"With {name} {ends[1]} instead of {ends[0]} {resonance_text(high, low)}{per_step}."
    return Told([sound], sentences)


def _in_between(
    cases: Sequence[CaseResults],
    column: str,
    ends: tuple[CaseResults, CaseResults],
    rate: int,
) -> list[str]:
    """Whether the resistance is least or greatest between the ends of what is varied."""
    sentences = []
    turning = solved_cases(cases, rate)
    if len(turning) > 2:
        for word, case, other in (("lowest", turning[0], 1), ("highest", turning[-1], -2)):
            if case not in ends and span_change(case, turning[other], rate).is_beyond:
                size = value_text(column, case.varied[column])
                name = split_column(column)[0]
                sentences.append(
                    f"It is {word} in between, with {name} {size} {where(case, rate)}."
                )
    return sentences


def _resistance_per_step(
    case: CaseResults, first: CaseResults, rate: int, span: float, column: str
) -> str:
    """What one round step does to the resistance, in laminar flow where it has one figure."""
    rows = case.rate(rate), first.rate(rate)
    if any(row is None or row.regime != LAMINAR for row in rows):
        return ""
    return _factor_per_step(flow_change(case, first, rate), span, column)


def _number(case: CaseResults, column: str) -> float:
    return float(case.varied[column] or 0.0)


def _round_step(change: Change, span: float) -> float | None:
    """The greatest power of ten within a dimension's range; None where nothing is known to move."""
    if not change.is_known or span <= 0 or not change.is_beyond:
        return None
    return 10.0 ** math.floor(math.log10(span * (1 + 1e-9)))


def _cents_per_step(change: Change, span: float, column: str) -> str:
    """The mean change of a resonance for one round step of a dimension: cents add up."""
    step = _round_step(change, span)
    if step is None or change.value is None or change.uncertainty is None:
        return ""
    share = step / span
    found = with_uncertainty(change.value * share, change.uncertainty * share)
    return f", on average {found} cents for {value_text(column, step)}"


def _factor_per_step(change: Change, span: float, column: str) -> str:
    """What one round step multiplies the resistance by on average: percents do not add up."""
    step = _round_step(change, span)
    if step is None or change.value is None or change.uncertainty is None:
        return ""
    share, ratio = step / span, 1 + change.value / 100
    factor = ratio**share
    error = factor * share * change.uncertainty / 100 / ratio
    found = with_uncertainty(factor, error)
    return f"; on average each {value_text(column, step)} more multiplies it by {found}"


def worded_answers(cases: Sequence[CaseResults], column: str, rate: int, topic: Topic) -> list[str]:
    """What a dimension in words changes, case by case or from least to greatest."""
    first = cases[0]
    name, base = split_column(column)[0], value_text(column, first.varied[column])
    shown = list(cases[1:])
    if len(shown) > FEW:
        ordered = by_pitch(cases) if topic == RESONANCE else solved_cases(cases, rate)
        solved = [case for case in ordered if case is not first]
        shown = [solved[0], solved[-1]] if len(solved) > 1 else solved
    sentences = []
    for case in shown:
        rates = [rate, *other_rates(cases, rate)]
        found = "; ".join(resistance_at(case, first, each, each != rate) for each in rates)
        told = Told([resonance_text(case, first)], [f"the flow resistance is {found}"])
        sentences.append(
            f"With {name} {value_text(column, case.varied[column])} instead of {base} "
            f"{'; '.join(told.opening_with(topic))}."
        )
    return sentences or [f"What {name} changes is not known: no solution."]
