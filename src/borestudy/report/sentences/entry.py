"""What the throat entry's shape is worth: the maker's answer."""

from collections.abc import Sequence

from borestudy.report.sentences.words import (
    capital,
    change_text,
    figure_text,
    rate_text,
    resistance_at,
    resonance_text,
    where,
)
from borestudy.report.topic import RESONANCE, Told, Topic
from borestudy.results.case import CaseResults, solved_cases
from borestudy.results.changes import NO_DIFFERENCE, flow_change, resonance_change
from borestudy.results.merged_flow import SOLUTIONS, MergedRate
from borestudy.results.span_changes import span_change
from borestudy.rounding import significant


def entry_answers(cases: Sequence[CaseResults], rate: int, topic: Topic) -> list[str]:
    """What the throat entry's shape changes, from which radius on no more, and what it costs."""
    first = cases[0]
    others = [case for case in solved_cases(cases, rate) if case is not first]
    shown = others[0] if others else cases[-1]
    if not others or not first.converged(rate):
        flow = [f"What the throat entry changes {where(first, rate)} is not known: no solution."]
    else:
        flow = _resistance(cases, shown, rate)
    cost = "" if topic == RESONANCE else "What it costs elsewhere: "
    sound = (
        f"{cost}with {shown.varied['entry']} instead of {first.varied['entry']} "
        f"{resonance_text(shown, first)}, and its peak is {_peak_height(shown, first)}."
    )
    return Told([capital(sound)], flow).opening_with(topic)


def _resistance(cases: Sequence[CaseResults], best: CaseResults, rate: int) -> list[str]:
    """What the entry with the least resistance saves, and from which radius on."""
    first = cases[0]
    others = [case for case in solved_cases(cases, rate) if case is not first]
    shape, base = best.varied["entry"], first.varied["entry"]
    if all(span_change(case, first, rate).verdict == NO_DIFFERENCE for case in others):
        sentences = [
            f"No entry computed differs from {base} in flow resistance beyond the numerical "
            f"uncertainty; the least, {shape}, is {resistance_at(best, first, rate)}."
        ]
    else:
        sentences = [
            f"With the throat entry {shape} instead of {base} the flow resistance is "
            f"{resistance_at(best, first, rate)}: {figure_text(best, rate)} instead of "
            f"{figure_text(first, rate)}."
        ]
    louder = range(rate + 1, len(first.rates))
    if louder:
        found = "; ".join(resistance_at(best, first, each, True) for each in louder)
        sentences.append(f"Blown harder, with {shape} instead of {base}, it is {found}.")
    for each in dict.fromkeys([rate, *louder[-1:]]):
        sentences += _enough_rounding(cases, each)
    return sentences + _soft_playing(best, first, rate)


def _peak_height(case: CaseResults, first: CaseResults) -> str:
    return change_text(resonance_change(case, first, 0, "impedance_peak"))


def enough_radius(
    cases: Sequence[CaseResults], rate: int, solution: str | None = None
) -> tuple[float, float | None] | None:
    """Smallest computed radius beyond which more rounding changes nothing, and the one before.

    Every pair of a radius and a larger one is compared with its own uncertainty, in one solution
    of the flow.  The limit lies between the radius before [mm] and the one returned first [mm];
    None where the largest radius still differs from the one before it, or there are fewer
    than two.
    """
    rounded = sorted(
        (
            case
            for case in cases
            if case.varied.get("entry_radius_mm") is not None
            and (row := case.rate(rate)) is not None
            and row.of(solution) is not None
        ),
        key=_radius,
    )
    for place, case in enumerate(rounded[:-1]):
        changes = [
            flow_change(larger, case, rate, solution=solution) for larger in rounded[place + 1 :]
        ]
        if all(change.verdict == NO_DIFFERENCE for change in changes):
            return _radius(case), _radius(rounded[place - 1]) if place else None
    return None


def _radius(case: CaseResults) -> float:
    return float(case.varied["entry_radius_mm"] or 0.0)


def _enough_rounding(cases: Sequence[CaseResults], rate: int) -> list[str]:
    """From which radius on more rounding is no use, from each solution that was asked for."""
    radii = sorted(
        _radius(case) for case in cases if case.varied.get("entry_radius_mm") is not None
    )
    first = cases[0].rate(rate)
    if len(radii) < 3 or first is None or not first.converged:
        return []
    words: list[str | None] = [None]
    if all(row is not None and row.is_judged_by_both for row in _rows(cases, rate)):
        words = [word for word in SOLUTIONS if first.of(word) is not None]
    limits = {word: _limit(cases, rate, word, radii[-1]) for word in words}
    place = where(cases[0], rate)
    if len(set(limits.values())) == 1:
        both = ", in both solutions" if len(words) > 1 else ""
        return [f"{capital(place)}{both}, {next(iter(limits.values()))}."]
    told = "; in the ".join(f"{word} solution {limit}" for word, limit in limits.items())
    return [f"{capital(place)}: in the {told}."]


def _rows(cases: Sequence[CaseResults], rate: int) -> list[MergedRate | None]:
    return [case.rate(rate) for case in cases]


def _limit(cases: Sequence[CaseResults], rate: int, solution: str | None, largest: float) -> str:
    found = enough_radius(cases, rate, solution)
    if found is None:
        return (
            "more rounding still changes the flow resistance beyond the numerical uncertainty up "
            f"to the largest radius computed, {_size(cases[0], largest)}"
        )
    radius, before = found
    if before is None:
        return "no amount of rounding that was computed changes the flow resistance"
    return (
        f"from a radius of {_size(cases[0], radius)} on more rounding no longer changes the flow "
        f"resistance beyond the numerical uncertainty (the limit lies between "
        f"{significant(before)} and {significant(radius)} mm, the radii that were computed)"
    )


def _size(case: CaseResults, radius: float) -> str:
    """A radius in millimetres and in throat diameters."""
    share = ""
    if case.geometry is not None:
        diameter = case.geometry.throat_diameter_mm
        share = f" ({significant(radius / diameter, 2)} throat diameters)"
    return f"{significant(radius)} mm{share}"


def _soft_playing(best: CaseResults, first: CaseResults, rate: int) -> list[str]:
    """Whether the difference is gone at the lowest flow rate."""
    if min(len(best.rates), len(first.rates)) < 2:
        return []
    change = span_change(best, first, 0)
    if not change.computed.is_known or not (change.is_beyond or change.verdict == NO_DIFFERENCE):
        return []
    state = "still there" if change.is_beyond else "gone"
    softest = f"At the softest playing computed, {rate_text(first.rates[0])}"
    told = f"{softest}, the difference is {state}"
    if rate == 0:  # the size has been said
        return [f"{told}."]
    return [f"{told}: the flow resistance is {resistance_at(best, first, 0)}."]
