"""What the throat entry's shape is worth: the maker's answer."""

from collections.abc import Sequence

from borestudy.report.sentences import words
from borestudy.report.topic import RESONANCE, Sentences, Topic
from borestudy.results.case import CaseResults, solved_cases
from borestudy.results.changes import flow_change, resonance_change
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
    """What the entry with the least resistance saves at each rate, and from which radius on."""
    first, best = cases[0], others[0]
    shape, base = best.varied["entry"], first.varied["entry"]
    saved = words.resistance_changes(best, first, rate)
    rates = words.told_rates(first, rate)
    if any(flow_change(case, first, each).is_beyond for case in others for each in rates):
        told = f"With the throat entry {shape} instead of {base} the flow resistance is {saved}."
    else:
        told = (
            f"No entry computed differs from {base} in flow resistance beyond the uncertainty; "
            f"the least, {shape}, is {saved}."
        )
    sentences = [told, words.drops_instead(best, first, rate)]
    for each in dict.fromkeys([rate, len(first.rates) - 1]):
        sentences += _enough_rounding(cases, each)
    return sentences


def _rounded(cases: Sequence[CaseResults]) -> list[tuple[float, CaseResults]]:
    """The cases whose entry has a radius [mm], and the radius, smallest first."""
    radii = [(case.varied.get("entry_radius_mm"), case) for case in cases]
    known = [(float(radius), case) for radius, case in radii if isinstance(radius, float | int)]
    return sorted(known, key=lambda pair: pair[0])


def enough_radius(cases: Sequence[CaseResults], rate: int) -> tuple[float, float | None] | None:
    """Smallest computed radius beyond which more rounding changes nothing, and the one before.

    Every pair of a radius and a larger one is compared with its own uncertainty.  The limit lies
    between the radius before [mm] and the one returned first [mm]; None where the largest radius
    still differs from the one before it, or there are fewer than two.
    """
    rounded = [(radius, case) for radius, case in _rounded(cases) if case.converged(rate)]
    for place, (radius, case) in enumerate(rounded[:-1]):
        # The largest first, which differs most: of thousands of radii few pairs are then compared.
        larger = (other for _, other in reversed(rounded[place + 1 :]))
        changes = (flow_change(other, case, rate) for other in larger)
        if all(change.is_known and not change.is_beyond for change in changes):
            return radius, rounded[place - 1][0] if place else None
    return None


def _enough_rounding(cases: Sequence[CaseResults], rate: int) -> list[str]:
    """Say from which radius on more rounding is no use."""
    if len(_rounded(cases)) < 3 or not cases[0].converged(rate):
        return []
    return [f"{words.capital(words.where(cases[0], rate, brief=True))}, {_limit(cases, rate)}."]


def _limit(cases: Sequence[CaseResults], rate: int) -> str:
    found = enough_radius(cases, rate)
    if found is None:
        return (
            "more rounding still changes the flow resistance beyond the uncertainty up to the "
            f"largest radius computed, {_size(cases[0], _rounded(cases)[-1][0])}"
        )
    radius, before = found
    if before is None:
        return "no amount of rounding that was computed changes the flow resistance"
    return (
        f"from a radius of {_size(cases[0], radius)} on more rounding no longer changes the flow "
        f"resistance beyond the uncertainty (the limit lies between {significant(before)} and "
        f"{significant(radius)} mm, the radii that were computed)"
    )


def _size(case: CaseResults, radius: float) -> str:
    """A radius in millimetres and in throat diameters."""
    if case.geometry is None:
        return f"{significant(radius)} mm"
    share = significant(radius / case.geometry.throat_diameter_mm, 2)
    return f"{significant(radius)} mm ({share} throat diameters)"
