"""What the throat entry's shape is worth: the maker's answer."""

from collections.abc import Sequence

from borestudy.compare.changes import NO_DIFFERENCE, flow_change, resonance_change
from borestudy.compare.results import CaseResults, other_rates, solved_cases
from borestudy.compare.rounding import significant
from borestudy.compare.sentences import (
    change_text,
    figure_text,
    resistance_at,
    resonance_text,
    where,
)


def entry_answers(cases: Sequence[CaseResults], rate: float) -> list[str]:
    """What the throat entry's shape changes, from which radius on no more, and what it costs."""
    first = cases[0]
    others = [case for case in solved_cases(cases, rate) if case is not first]
    if not others or not first.converged(rate):
        return [f"What the throat entry changes {where(first, rate)} is not known: no solution."]
    best = others[0]
    gain = flow_change(best, first, rate)
    shape, base = best.varied["entry"], first.varied["entry"]
    if not any(flow_change(case, first, rate).is_beyond for case in others):
        sentences = [
            f"No entry computed differs from {base} in flow resistance beyond the numerical "
            f"uncertainty {where(first, rate)}; the least, {shape}, is {change_text(gain)}."
        ]
    else:
        sentences = [
            f"With the throat entry {shape} instead of {base} the flow resistance is "
            f"{resistance_at(best, first, rate)}: {figure_text(best, rate)} instead of "
            f"{figure_text(first, rate)}."
        ]
    louder = [each for each in other_rates(cases, rate) if each > rate]
    if louder:
        found = "; ".join(resistance_at(best, first, each) for each in louder)
        sentences.append(f"Blown harder, with {shape} instead of {base}, it is {found}.")
    sentences += _enough_rounding(cases, rate)
    sentences += _soft_playing(best, first, rate)
    sentences.append(
        f"What it costs elsewhere: with {shape} instead of {base} {resonance_text(best, first)}, "
        f"and its peak is {_peak_height(best, first)}."
    )
    return sentences


def _peak_height(case: CaseResults, first: CaseResults) -> str:
    return change_text(resonance_change(case, first, 0, "impedance_peak_Pa_s_per_m3"))


def enough_radius(cases: Sequence[CaseResults], rate: float) -> tuple[float, float | None] | None:
    """Smallest computed radius beyond which more rounding changes nothing, and the one before.

    Every pair of a radius and a larger one is compared with its own uncertainty.  The limit lies
    between the radius before [mm] and the one returned first [mm]; None where the largest
    radius still differs from the one before it, or there are fewer than two.
    """
    rounded = sorted(
        (
            case
            for case in solved_cases(cases, rate)
            if case.varied.get("entry_radius_mm") is not None
        ),
        key=_radius,
    )
    for place, case in enumerate(rounded[:-1]):
        changes = [flow_change(larger, case, rate) for larger in rounded[place + 1 :]]
        if all(change.verdict == NO_DIFFERENCE for change in changes):
            return _radius(case), _radius(rounded[place - 1]) if place else None
    return None


def _radius(case: CaseResults) -> float:
    return float(case.varied["entry_radius_mm"] or 0.0)


def _enough_rounding(cases: Sequence[CaseResults], rate: float) -> list[str]:
    radii = sorted(
        _radius(case) for case in cases if case.varied.get("entry_radius_mm") is not None
    )
    if len(radii) < 3:
        return []
    found = enough_radius(cases, rate)
    place = where(cases[0], rate)
    if found is None:
        return [
            f"More rounding still changes the flow resistance beyond the numerical uncertainty up "
            f"to the largest radius computed, {significant(radii[-1])} mm, {place}."
        ]
    radius, before = found
    if before is None:
        return [f"No amount of rounding that was computed changes it, {place}."]
    return [
        f"From a radius of {significant(radius)} mm on, more rounding no longer changes the flow "
        f"resistance beyond the numerical uncertainty {place}; the limit lies between "
        f"{significant(before)} and {significant(radius)} mm, the radii that were computed."
    ]


def _soft_playing(best: CaseResults, first: CaseResults, rate: float) -> list[str]:
    """Whether the difference is gone at the lowest flow rate."""
    rates = sorted(set(best.rates) & set(first.rates))
    if len(rates) < 2:
        return []
    change = flow_change(best, first, rates[0])
    if not change.is_known:
        return []
    state = "still there" if change.is_beyond else "gone"
    if rates[0] == rate:
        return [f"This is the softest playing computed, and the difference is {state}."]
    return [
        f"At the softest playing computed, {significant(rates[0])} L/s, the difference is {state}: "
        f"the flow resistance is {change_text(change)}."
    ]
