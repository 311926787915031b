"""Which sentences answer a study, by what it varies and what it asks about."""

from collections.abc import Mapping, Sequence

from borestudy.report.sentences.entry import enough_radius
from borestudy.report.sentences.first.onset import onset_opening
from borestudy.report.sentences.first.pitch import pitch_sentences, resonance_or_pitch
from borestudy.report.sentences.first.single import single_sentences
from borestudy.report.sentences.first.told import (
    RESISTANCE,
    FirstSentence,
    changed,
    flow_sentence,
    sound_sentence,
)
from borestudy.report.sentences.lead import instead, word
from borestudy.report.sentences.words import mean_move
from borestudy.report.topic import FLOW, Topic, asks_of_onset, topic_of
from borestudy.results.case import CaseResults, solved_cases, varied_columns
from borestudy.results.changes import flow_change
from borestudy.rounding import significant, with_uncertainty

#: What is asked where nobody writes a question.
ENTRY_QUESTION = "Does rounding the throat entry lower the flow resistance?"
ENTRY = ("entry", "entry_radius_mm")
#: As many sentences as are read at a glance.
MOST = 3
#: Begin of a sentence on what the sentence before is about.
SAME = "With the same change"


def first_sentences(
    cases: Sequence[CaseResults], rate: int, question: str = ""
) -> list[FirstSentence]:
    """The answer in at most three sentences, about what was asked, with one number in each.

    Changes are against the study's first bore wherever one of its sentences does not say
    otherwise, so that the tables hold them.

    Parameters
    ----------
    cases : sequence of CaseResults
        All of a study.
    rate : int
        Index of the flow rate that a player uses.
    question : str
        What the study asks.
    """
    if not cases:
        return []
    columns = varied_columns(cases)
    topic = topic_of(question, columns)
    playing = onset_opening(cases) if asks_of_onset(question) else []
    if len(cases) == 1:
        found = single_sentences(cases[0], rate, topic)
    elif len(columns) == 1:
        found = _of_one_dimension(cases, columns, rate, topic)
    else:
        found = _of_several(cases, columns, rate, topic)
    return [*playing, *found][:MOST]


def _of_one_dimension(
    cases: Sequence[CaseResults], columns: list[str], rate: int, topic: Topic
) -> list[FirstSentence]:
    """What the bore that differs most does, in what was asked about and in what it costs."""
    base = cases[0]
    if columns[0] in ENTRY and topic == FLOW:
        solved = [case for case in solved_cases(cases, rate) if case is not base]
        best = solved[0] if solved else cases[-1]
    else:
        best = _furthest(cases[1:], base, rate, topic)
    lead = instead(best, base, columns)
    sound = resonance_or_pitch(lead, best, base)
    if topic == FLOW:
        enough = _enough(cases, rate) if columns[0] in ENTRY else []
        if not enough:  # then the sentence before is about the same bore
            sound = resonance_or_pitch(SAME, best, base)
        return [flow_sentence(lead, best, base, rate), *enough, *sound]
    return [*sound, flow_sentence(SAME, best, base, rate)]


def _enough(cases: Sequence[CaseResults], rate: int) -> list[FirstSentence]:
    """From which radius of the throat entry on more rounding does nothing, if any does."""
    rounded = {
        float(radius): case
        for case in cases
        if isinstance(radius := case.varied.get("entry_radius_mm"), int | float)
        and case.converged(rate)
    }
    base, radii = cases[0], sorted(rounded)
    if len(rounded) < 2 + (0.0 in rounded) or not base.converged(rate):
        return []
    if (found := enough_radius(cases, rate)) is not None:
        radius = found[0]
        change = flow_change(rounded[radius], base, rate)
        if radius == 0.0 or not change.is_beyond or (change.value or 0.0) > 0:
            return []
        size = with_uncertainty(abs(change.value or 0.0), change.uncertainty)
        told = flow_sentence("", rounded[radius], base, rate)
        text = (
            f"A radius of {significant(radius)} mm is enough: it lowers the flow resistance by "
            f"{size} % already, and no larger one that was computed differs from it by more than "
            "the uncertainty."
        )
        return [_said(told, text)]
    last, before = radii[-1], radii[-2]
    change = flow_change(rounded[last], rounded[before], rate)
    if not change.is_beyond:
        return []
    told = flow_sentence("", rounded[last], rounded[before], rate)
    text = (
        f"From a radius of {significant(before)} mm to one of {significant(last)} mm, the largest "
        f"computed, {changed(RESISTANCE, change, '%')} more."
    )
    return [_said(told, text)]


def _said(found: FirstSentence, text: str) -> FirstSentence:
    """The same number in other words."""
    return FirstSentence(**found.source(), text=text)


def _furthest(
    others: Sequence[CaseResults], base: CaseResults, rate: int, topic: Topic
) -> CaseResults:
    """The bore that differs most in what was asked about."""
    return max(others, key=lambda case: _size(case, base, rate, topic))


def _size(case: CaseResults, base: CaseResults, rate: int, topic: Topic) -> float:
    """How much a bore differs from another; less than nothing where that is not known."""
    value = flow_change(case, base, rate).value if topic == FLOW else mean_move(case, base)
    return -1.0 if value is None else abs(value)


def _of_several(
    cases: Sequence[CaseResults], columns: list[str], rate: int, topic: Topic
) -> list[FirstSentence]:
    """What each dimension does alone, the one that does most first, and what that costs."""
    base = cases[0]
    if topic == FLOW and columns[0] in ENTRY and (by_group := _by_throat(cases, columns, rate)):
        return by_group
    alone: dict[str, CaseResults] = {}
    for column in columns:
        mine = [case for case in cases[1:] if _differs_in(case, base, columns) == [column]]
        if mine:
            alone[column] = _furthest(mine, base, rate, topic)
    if not alone:
        best = _furthest(cases[1:], base, rate, topic)
        lead = instead(best, base, columns)
        sound = resonance_or_pitch(lead, best, base)
        if topic == FLOW:
            return [flow_sentence(lead, best, base, rate), *sound]
        return [*sound, flow_sentence(SAME, best, base, rate)]
    ranked = sorted(alone, key=lambda one: -_size(alone[one], base, rate, topic))
    leads = {
        column: f"{instead(alone[column], base, [column])} and nothing else changed"
        for column in ranked
    }
    if base.has_air_column and topic != FLOW:
        return pitch_sentences([(leads[one], alone[one]) for one in ranked], base)
    return _asked_then_cost(alone, ranked, leads, base, rate, topic)


def _asked_then_cost(
    alone: Mapping[str, CaseResults],
    ranked: Sequence[str],
    leads: Mapping[str, str],
    base: CaseResults,
    rate: int,
    topic: Topic,
) -> list[FirstSentence]:
    """What the two foremost dimensions do to what was asked about, and the most of the other."""

    def flow(column: str, errors: bool) -> FirstSentence:
        return flow_sentence(leads[column], alone[column], base, rate, errors=errors)

    if topic == FLOW:
        found = [flow(one, place == 0) for place, one in enumerate(ranked[:2])]
        dearest = max(ranked, key=lambda one: abs(mean_move(alone[one], base) or 0.0))
        return [*found, *resonance_or_pitch(leads[dearest], alone[dearest], base)[:1]]
    sound = [sound_sentence(leads[one], alone[one], base) for one in ranked[:2]]
    dearest = max(ranked, key=lambda one: _size(alone[one], base, rate, FLOW))
    return [*sound, flow(dearest, True)]


def _differs_in(case: CaseResults, base: CaseResults, columns: Sequence[str]) -> list[str]:
    return [one for one in columns if case.varied.get(one) != base.varied.get(one)]


def _by_throat(cases: Sequence[CaseResults], columns: list[str], rate: int) -> list[FirstSentence]:
    """Where the shape of the entry matters most and where least, and from which flow rate on."""
    groups: dict[tuple[object, ...], list[CaseResults]] = {}
    for case in cases:
        groups.setdefault(tuple(case.varied.get(one) for one in columns[1:]), []).append(case)
    pairs = []
    for group in groups.values():
        solved = [case for case in solved_cases(group, rate) if case is not group[0]]
        if solved and group[0].converged(rate) and flow_change(solved[0], group[0], rate).is_known:
            pairs.append((solved[0], group[0]))
    if len(pairs) < 2:
        return []
    pairs.sort(key=lambda pair: flow_change(pair[0], pair[1], rate).value or 0.0)
    most, least = pairs[0], pairs[-1]
    found = [
        flow_sentence(
            _among(pair[0], pair[1], columns, degree),
            pair[0],
            pair[1],
            rate,
            errors=degree == "most",
        )
        for pair, degree in ((most, "most"), (least, "least"))
    ]
    onset = _onset(pairs)
    if onset is not None:
        pair, first = onset
        told = flow_sentence("", pair[0], pair[1], first)
        others = ", ".join(word(pair[0], one) for one in columns[1:])
        size = changed(RESISTANCE, flow_change(pair[0], pair[1], first), "%")
        text = (
            f"The entry begins to matter at {told.flow_rate_L_per_s:g} L/s, the softest rate at "
            f"which a change can be told: there, with {others}, {size}."
        )
        found.append(_said(told, text))
    return found


def _among(case: CaseResults, base: CaseResults, columns: list[str], degree: str) -> str:
    others = ", ".join(word(case, one) for one in columns[1:])
    entry = columns[:1]
    shapes = instead(case, base, entry).removeprefix("With ")
    return f"The entry matters {degree} with {others}: with {shapes}"


def _onset(
    pairs: Sequence[tuple[CaseResults, CaseResults]],
) -> tuple[tuple[CaseResults, CaseResults], int] | None:
    """The softest rate at which an entry matters in any throat, and where it does so most."""
    for rate in range(len(pairs[0][1].rates)):
        changes = [flow_change(pair[0], pair[1], rate) for pair in pairs]
        seen = [
            (abs(change.value or 0.0), place)
            for place, change in enumerate(changes)
            if change.is_beyond
        ]
        if seen:
            return pairs[max(seen)[1]], rate
    return None
