"""The names of reported quantities as a study writes them, and what each may be wished to be."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Literal

from borestudy import units

Scale = Literal["cents", "percent"]
#: Of the flow: names with a rate after them, and the kind of quantity that each is.
AT_RATE = {
    "pressure drop": units.PRESSURE,
    "pressure drop to throat end": units.PRESSURE,
    "backbore pressure drop": units.PRESSURE,
    "flow resistance": units.RESISTANCE,
    "slope of pressure drop": units.RESISTANCE,
}
VOLUMES = ("cup volume", "throat volume", "backbore volume")
#: Figures of a resonance beside its frequency, and the kind of each; a quality factor has no unit.
OF_RESONANCE = {"Q": None, "impedance": units.IMPEDANCE}

#: Factor from SI to the unit of results, and that unit, by the words for a kind of quantity.
IN_RESULTS = {
    units.FREQUENCY.word: (1.0, "Hz"),
    units.PRESSURE.word: (1.0, "Pa"),
    units.RESISTANCE.word: (1e-6, "kPa_s_per_L"),
    units.IMPEDANCE.word: (1.0, "Pa_s_per_m3"),
    units.VOLUME.word: (1e6, "cm3"),
}


@dataclass(frozen=True)
class Named:
    """A quantity by its name: how it changes, what kind it is, and its flow rate [m³/s]."""

    name: str
    scale: Scale
    kind: units.Kind | None
    rate: float | None = None


class NameProblem(ValueError):
    """A name that is no quantity of the study: what is allowed, with the nearest by name."""

    def __init__(self, message: str, nearest: str) -> None:
        super().__init__(message)
        self.nearest = nearest


def named(text: str, rates: Sequence[str], instrument: bool) -> Named:
    """The quantity that a text names.

    Parameters
    ----------
    text : str
        Such as ``resonance``, ``peak 4 Q``, ``flow resistance at 0.2 L/s`` or ``cup volume``;
        ``_`` stands for a space.
    rates : sequence of str
        The study's flow rates as written, of which a quantity of the flow names one.
    instrument : bool
        Whether there is an air column behind the shank end, so that peaks are numbered.

    Raises
    ------
    NameProblem
        If there is no such quantity.
    """
    words = " ".join(text.replace("_", " ").split())
    head, _, at = words.partition(" at ")
    if head in AT_RATE:
        return _at_rate(head, at, rates)
    if words in VOLUMES:
        return Named(words, "percent", units.VOLUME)
    peak = re.fullmatch(r"(resonance|peak ([1-9]\d?))(?: (Q|impedance))?", words)
    if peak and (instrument or not peak[2]):
        if peak[3]:
            return Named(words, "percent", OF_RESONANCE[peak[3]])
        return Named(words, "cents", units.FREQUENCY)
    known = names(rates, instrument)
    near = get_close_matches(words, known, n=1)
    hint = f"did you mean {near[0]}? " if near else ""
    nearest = near[0] if near else "resonance"
    if peak:
        nearest = f"resonance {peak[3] or ''}".strip()
        hint = "peaks are numbered where resonance.behind is an air column. "
    words = f"no quantity of this study; {hint}Allowed are {', '.join(known)}"
    raise NameProblem(words, nearest)


def names(rates: Sequence[str], instrument: bool) -> list[str]:
    """Every name, those of the flow at the lowest rate alone, those of peaks for the fourth."""
    resonances = ["resonance", *(["peak 4"] if instrument else [])]
    sound = [f"{one}{rest}" for one in resonances for rest in ("", " Q", " impedance")]
    return [*sound, *(f"{name} at {rates[0]}" for name in AT_RATE), *VOLUMES]


def reported_value(quantity: Named, value: float) -> tuple[float, str]:
    """A value in SI in the unit that results have it in, and that unit."""
    if quantity.kind is None:
        return value, ""
    factor, unit = IN_RESULTS[quantity.kind.word]
    return factor * value, unit


def litres_per_second(rate: float) -> str:
    """A flow rate [m³/s] as it ends a quantity's name."""
    return f"{1e3 * rate:.6g} L/s"


def _at_rate(head: str, at: str, rates: Sequence[str]) -> Named:
    known = {units.parse(rate, units.FLOW_RATE): rate for rate in rates}
    allowed = f"allowed is one of flow.rates ({', '.join(rates)}) after 'at'"
    try:
        rate = units.parse(at, units.FLOW_RATE)
    except units.UnitError:
        raise NameProblem(
            f"found {at or 'no rate'!r}; {allowed}", f"{head} at {rates[0]}"
        ) from None
    if rate not in known:
        nearest = f"{head} at {min(known.items(), key=lambda one: abs(one[0] - rate))[1]}"
        raise NameProblem(f"found {at!r}, and no such rate in flow.rates; {allowed}", nearest)
    return Named(f"{head} at {litres_per_second(rate)}", "percent", AT_RATE[head], rate)
