"""What the throat entry's shape is worth: the maker's answer."""

from collections.abc import Sequence

from borestudy.report.sentences import words
from borestudy.report.topic import RESONANCE, Sentences, Topic
from borestudy.results.case import CaseResults, solved_cases
from borestudy.results.changes import NO_DIFFERENCE, flow_change, resonance_change
from borestudy.results.merged_flow import SOLUTIONS
from borestudy.results.span_changes import span_change
from borestudy.rounding import significant


def entry_answers(cases: Sequence[CaseResults], rate: int, topic: Topic) -> list[str]:
    """What the throat entry's shape changes, from which radius on no more, and what it costs."""
    first = cases[0]
    others = [case for case in solved_cases(cases, rate) if case is not first]
    shown = others[0] if others else cases[-1]
    if others and first.converged(rate):
        flow = _resistance(cases, others, rate)
    else:
        place = words.where(first, rate)
        flow = [f"What the throat entry changes {place} is not known: no solution."]
    cost = "" if topic == RESONANCE else "What it costs elsewhere: "
    height = words.change_text(resonance_change(shown, first, 0, "impedance_peak"))
    sound = (
        f"{cost}with {shown.varied['entry']} instead of {first.varied['entry']} "
        f"{words.resonance_text(shown, first)}, and its peak is {height}."
    )
    return Sentences([words.capital(sound)], flow).opening_with(topic)


def _resistance(
    cases: Sequence[CaseResults], others: Sequence[CaseResults], rate: int
) -> list[str]:
    """What the entry with the least resistance saves, and from which radius on."""
    first, best = cases[0], others[0]
    shape, base = best.varied["entry"], first.varied["entry"]
    saved = words.resistance_at(best, first, rate)
    if all(span_change(case, first, rate).verdict == NO_DIFFERENCE for case in others):
        sentences = [
            f"No entry computed differs from {base} in flow resistance beyond the numerical "
            f"uncertainty; the least, {shape}, is {saved}."
        ]
    else:
        sentences = [
            f"With the throat entry {shape} instead of {base} the flow resistance is {saved}: "
            f"{words.figure_text(best, rate)} instead of {words.figure_text(first, rate)}."
        ]
    louder = range(rate + 1, len(first.rates))
    if louder:
        found = "; ".join(words.resistance_at(best, first, each, True) for each in louder)
        sentences.append(f"Blown harder, with {shape} instead of {base}, it is {found}.")
    for each in [rate, *louder[-1:]]:
        sentences += _enough_rounding(cases, each)
    return sentences + _soft_playing(best, first, rate)


def _rounded(cases: Sequence[CaseResults]) -> list[tuple[float, CaseResults]]:
    """The cases whose entry has a radius [mm], and the radius, smallest first."""
    radii = [(case.varied.get("entry_radius_mm"), case) for case in cases]
    known = [(float(radius), case) for radius, case in radii if isinstance(radius, float | int)]
    return sorted(known, key=lambda pair: pair[0])


def enough_radius(
    cases: Sequence[CaseResults], rate: int, solution: str | None = None
) -> tuple[float, float | None] | None:
    """Smallest computed radius beyond which more rounding changes nothing, and the one before.

    Every pair of a radius and a larger one is compared with its own uncertainty, in one solution
    of the flow.  The limit lies between the radius before [mm] and the one returned first [mm];
    None where the largest radius still differs from the one before it, or there are fewer
    than two.
    """
    rounded = [
        (radius, case)
        for radius, case in _rounded(cases)
        if (row := case.rate(rate)) is not None and row.of(solution) is not None
    ]
    for place, (radius, case) in enumerate(rounded[:-1]):
        changes = [
            flow_change(larger, case, rate, solution=solution) for _, larger in rounded[place + 1 :]
        ]
        if all(change.verdict == NO_DIFFERENCE for change in changes):
            return radius, rounded[place - 1][0] if place else None
    return None


def _enough_rounding(cases: Sequence[CaseResults], rate: int) -> list[str]:
    """Say from which radius on more rounding is no use, by each solution that was asked for."""
    first = cases[0].rate(rate)
    if len(_rounded(cases)) < 3 or first is None or not first.converged:
        return []
    solutions: list[str | None] = [None]
    rows = [case.rate(rate) for case in cases]
    if all(row is not None and row.is_judged_by_both for row in rows):
        solutions = [word for word in SOLUTIONS if first.of(word) is not None]
    limits = {word: _limit(cases, rate, word) for word in solutions}
    place = words.capital(words.where(cases[0], rate))
    if len(set(limits.values())) == 1:
        both = ", in both solutions" if len(limits) > 1 else ""
        return [f"{place}{both}, {next(iter(limits.values()))}."]
    told = "; in the ".join(f"{word} solution {limit}" for word, limit in limits.items())
    return [f"{place}: in the {told}."]


def _limit(cases: Sequence[CaseResults], rate: int, solution: str | None) -> str:
    found = enough_radius(cases, rate, solution)
    if found is None:
        return (
            "more rounding still changes the flow resistance beyond the numerical uncertainty up "
            f"to the largest radius computed, {_size(cases[0], _rounded(cases)[-1][0])}"
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
    if case.geometry is None:
        return f"{significant(radius)} mm"
    share = significant(radius / case.geometry.throat_diameter_mm, 2)
    return f"{significant(radius)} mm ({share} throat diameters)"


def _soft_playing(best: CaseResults, first: CaseResults, rate: int) -> list[str]:
    """Whether the difference is gone at the lowest flow rate."""
    if min(len(best.rates), len(first.rates)) < 2:
        return []
    change = span_change(best, first, 0)
    if not change.computed.is_known or not (change.is_beyond or change.verdict == NO_DIFFERENCE):
        return []
    state = "still there" if change.is_beyond else "gone"
    softest = words.rate_text(first.rates[0])
    told = f"At the softest playing computed, {softest}, the difference is {state}"
    if rate == 0:  # the size has been said
        return [f"{told}."]
    return [f"{told}: the flow resistance is {words.resistance_at(best, first, 0)}."]
