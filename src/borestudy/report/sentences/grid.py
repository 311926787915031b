"""The answer to a study of several dimensions: the ends, and what each dimension does."""

from collections.abc import Sequence

from borestudy.report.sentences import words
from borestudy.report.topic import Sentences, Topic
from borestudy.results.case import CaseResults, solved_cases, split_column
from borestudy.results.changes import Change, flow_change, resonance_change
from borestudy.rounding import with_uncertainty


def several_answers(
    cases: Sequence[CaseResults], columns: Sequence[str], rate: int, topic: Topic
) -> list[str]:
    """The ends of the topic, what each dimension does by itself, and the ends of the other."""
    ends = Sentences(_ends_of_resonance(cases, columns), _ends_of_resistance(cases, columns, rate))
    own, other = ends.in_order(topic)
    effects = [_effect(cases, columns, column, rate, topic) for column in columns]
    effects = [effect for effect in effects if effect] or [
        "The dimensions were varied together, so what each does by itself cannot be told."
    ]
    return [*own, *effects, *other]


def by_pitch(cases: Sequence[CaseResults]) -> list[CaseResults]:
    """The cases whose resonances are known against the first case's, lowest in pitch first."""
    known = [
        (pitch, place)
        for place, case in enumerate(cases)
        if (pitch := words.mean_move(case, cases[0])) is not None
    ]
    return [cases[place] for _, place in sorted(known)]


def _ends_of_resonance(cases: Sequence[CaseResults], columns: Sequence[str]) -> list[str]:
    """Which bore is the lowest in pitch and which the highest."""
    ordered = by_pitch(cases)
    if len(ordered) < 2:
        return []
    lowest, highest = ordered[0], ordered[-1]
    what = "pitch" if lowest.has_air_column else "first resonance"
    return [
        f"The {what} is lowest with {words.case_text(lowest, columns)} and highest with "
        f"{words.case_text(highest, columns)}: in the latter "
        f"{words.resonance_text(highest, lowest)}."
    ]


def _ends_of_resistance(
    cases: Sequence[CaseResults], columns: Sequence[str], rate: int
) -> list[str]:
    """Which bore has the lowest flow resistance and which the highest."""
    solved = solved_cases(cases, rate)
    if len(solved) < 2:
        return []
    least, most = solved[0], solved[-1]
    return [
        f"The flow resistance is lowest with {words.case_text(least, columns)} and highest with "
        f"{words.case_text(most, columns)}: {words.figure_text(least, rate)} against "
        f"{words.figure_text(most, rate)} ({words.BOTH_ERRORS}); the lowest is "
        f"{words.resistance_at(least, most, rate)}."
    ]


def _effect(
    cases: Sequence[CaseResults], columns: Sequence[str], column: str, rate: int, topic: Topic
) -> str:
    """What one dimension does while the others stay, over all that the others were set to."""
    groups: dict[tuple[object, ...], list[CaseResults]] = {}
    for case in cases:
        others = tuple(case.varied.get(name) for name in columns if name != column)
        groups.setdefault(others, []).append(case)
    pairs = [
        (group[0], group[-1])
        for group in groups.values()
        if group[0].varied.get(column) != group[-1].varied.get(column)
    ]
    if not pairs:
        return ""
    first, last = pairs[0]
    if first.has_air_column:
        moved = words.resonance_text(last, first)
        moved += " (with the other dimensions as in the first bore)"
    else:
        changes = [resonance_change(last, first) for first, last in pairs]
        moved = f"the first resonance changes by {_range(changes, 'cents')}"
    found = [flow_change(last, first, rate) for first, last in pairs]
    resisted = (
        f"the flow resistance changes by {_range(found, '%')} "
        f"{words.where(first, rate, brief=True)}"
    )
    ends = [words.value_text(column, case.varied.get(column)) for case in (first, last)]
    return (
        f"{words.capital(split_column(column)[0])} from {ends[0]} to {ends[1]}, the other "
        f"dimensions unchanged: {'; '.join(Sentences([moved], [resisted]).opening_with(topic))}."
    )


def _range(changes: Sequence[Change], unit: str) -> str:
    """The least and the greatest change that is known."""
    known = [
        (change.value, change.uncertainty)
        for change in changes
        if change.value is not None and change.uncertainty is not None
    ]
    if not known:
        return "an amount that is not known"
    error = max(uncertainty for _, uncertainty in known)
    least, most = (with_uncertainty(end, error) for end in (min(known)[0], max(known)[0]))
    return f"{least} {unit}" if least == most else f"{least} to {most} {unit}"
