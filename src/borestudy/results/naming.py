"""A quantity's name from the words in which somebody writes it."""

import re
from collections.abc import Iterable
from difflib import get_close_matches

from borestudy.results.reported import OF_FLOW, OF_RESONANCE, RESISTANCE, RESONANCE, at_rate
from borestudy.units import FLOW_RATE, UnitError, parse, quoted

#: Other words for what follows a resonance's or a peak's name.
ENDINGS = {
    "frequency": "", "q factor": " Q", "quality factor": " Q", "impedance peak": " impedance",
    "impedance height": " impedance", "peak impedance": " impedance", "height": " impedance",
    **{ending.strip().lower(): ending for ending in OF_RESONANCE.values()},
}  # fmt: skip
#: Other words for the flow's figures.
FIGURES = {
    "drop": "pressure drop",
    "pressure drop to the throat end": "pressure drop to throat end",
    "pressure drop to the throat's end": "pressure drop to throat end",
    "pressure drop of the backbore": "backbore pressure drop",
    "resistance": RESISTANCE,
    "differential resistance": "slope of pressure drop",
    "slope of the pressure drop": "slope of pressure drop",
    **{figure: figure for figure in OF_FLOW},
}
_PEAK = re.compile(r"(?:(first )?resonance|peak (\d+))(?: (.+))?")


def find_quantity(text: str, names: Iterable[str]) -> str:
    """The one of some quantities' names that a text means.

    Capitals, underscores and spaces do not matter, nor how a flow rate is written: ``Peak_4``,
    ``flow resistance at 200 mL/s``.  One of the flow's figures needs no rate where the names have
    it at one rate alone.

    Parameters
    ----------
    text : str
        What somebody wrote.
    names : iterable of str
        As `borestudy.results.reported.reported` has them.

    Raises
    ------
    ValueError
        If there is no such quantity, or it is not clear at which flow rate; with what is allowed.
    """
    allowed = list(names)
    plain = {_plain(name): name for name in allowed}
    words = _plain(text)
    meant = [plain[_plain(one)] for one in (words, *_readings(words)) if _plain(one) in plain]
    if meant:
        return meant[0]
    figure = FIGURES.get(words)
    rates = [name for name in allowed if figure and name.startswith(f"{figure} at ")]
    if len(rates) == 1:
        return rates[0]
    found = f"found {quoted(text)}"
    if rates:
        listed = ", ".join(rates)
        raise ValueError(f"{found} without its flow rate; allowed are {listed}")
    near = get_close_matches(words, plain, n=1)
    hint = f"did you mean {plain[near[0]]}? " if near else ""
    allowed_are = "Allowed are" if hint else "allowed are"
    listed = ", ".join(allowed) or "none"
    example = f", for example {allowed[0]}" if allowed else ""
    raise ValueError(f"{found}, which is no quantity here; {hint}{allowed_are} {listed}{example}")


def _plain(text: str) -> str:
    """Lower case, with one space where there are underscores and spaces."""
    spaced = re.sub(r"[\s_]+", " ", text).strip().lower()
    return re.sub(r"^peak ?(?=\d)", "peak ", spaced)


def _readings(words: str) -> list[str]:
    """Names that words may stand for."""
    if peak := _PEAK.fullmatch(words):
        _, number, rest = peak.groups()
        ending = ENDINGS.get(rest or "")
        stem = f"peak {number}" if number else RESONANCE
        if ending is None:
            return []
        lowest = [f"{RESONANCE}{ending}"] if number == "1" else []
        return [f"{stem}{ending}", *lowest]
    if ENDINGS.get(words):
        return [f"{RESONANCE}{ENDINGS[words]}"]
    figure, separator, rate = words.rpartition(" at ")
    if not separator or figure not in FIGURES:
        return []
    try:
        flow_rate = 1e3 * parse(rate, FLOW_RATE)
    except UnitError:
        return []
    return [at_rate(FIGURES[figure], flow_rate)]
