"""Which dimension matters most, in sentences: what a thousandth of an inch on it is worth."""

import pandas as pd

from borestudy.report.effects import (
    RESISTANCE,
    RESONANCE,
    Effect,
    Effects,
    effects_of,
    peaks_of,
)
from borestudy.report.sentences.words import listed
from borestudy.rounding import in_short, significant


def dimension_sentences(table: pd.DataFrame, rate: float | None = None) -> list[str]:
    """What matters most for the first case's resonance and its flow resistance at a rate [L/s].

    Empty where no derivative of either is known; the quantities that a table lacks are left out.
    """
    found = [effects_of(table, RESONANCE)]
    found += [] if rate is None else [effects_of(table, RESISTANCE, rate)]
    known = [one for one in found if one is not None and one.lengths]
    leaders: dict[str, list[str]] = {}
    labels: dict[str, str] = {}
    for one in known:
        first = one.lengths[0]
        leaders.setdefault(first.key, []).append(f"the {named(one)}")
        labels[first.key] = first.label
    sentences = [
        f"For {listed(quantities)} the {labels[key]} matters most: 0.001 in more on it "
        f"{listed([worth(one, effect) for one in known if (effect := one.of(key))])}."
        for key, quantities in leaders.items()
    ]
    return [*sentences, *_peaks(table), *_unseen(known)]


def named(found: Effects) -> str:
    """A quantity in words, with its flow rate."""
    return f"{found.words} {found.at_rate}".strip()


def worth(found: Effects, effect: Effect) -> str:
    """``raises the first resonance by 5.9 ± 0.2 cents``."""
    verb = "raises" if effect.value > 0 else "lowers"
    size = in_short(abs(effect.value), effect.uncertainty, found.unit)
    return f"{verb} the {named(found)} by {size}"


def _peaks(table: pd.DataFrame) -> list[str]:
    """What matters most for each peak of an air column, those with the same dimension together."""
    leaders: dict[str, list[int]] = {}
    for number in peaks_of(table):
        found = effects_of(table, f"peak {number}")
        if found is not None and found.lengths:
            leaders.setdefault(found.lengths[0].label, []).append(number)
    told = [
        f"the {label} for peak{'s' if len(numbers) > 1 else ''} {listed(_runs(numbers))}"
        for label, numbers in leaders.items()
    ]
    return [f"Of the instrument’s peaks, what matters most is {listed(told)}."] if told else []


def _runs(numbers: list[int]) -> list[str]:
    """Rising numbers as texts, those that follow one another as ``7 to 13``."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return [
        text
        for run in runs
        for text in ([f"{run[0]} to {run[-1]}"] if len(run) > 2 else [str(one) for one in run])
    ]


def _unseen(known: list[Effects]) -> list[str]:
    """Say where even the largest effect of a thousandth is lost in the numerical noise."""
    lost = [
        f"the {named(one)} (± {significant(one.noise, 2)} {one.unit})"
        for one in known
        if one.noise and abs(one.lengths[0].value) <= one.noise
    ]
    if not lost:
        return []
    return [
        f"No thousandth stands out of the numerical noise of {listed(lost)}: two separate "
        "computations could not tell it, which its derivative can."
    ]
