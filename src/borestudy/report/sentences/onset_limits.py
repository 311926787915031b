"""What limits what is said of the start of a tone and of the tone, a plain sentence each."""

from collections.abc import Iterable, Sequence

from borestudy.report.sentences.onset import registers_text
from borestudy.results.case import CaseResults
from borestudy.results.onset import OnsetOfRegister
from borestudy.results.onset_changes import registers_of
from borestudy.results.stream import NOT_QUASI_STEADY

MODEL = (
    "The start of a tone and the tone are of a model: lips of one mass that open outward, on a "
    "bore in which sound is linear; the player's own mouth and throat, vibrating walls and the "
    "steepening of loud sound are left out"
)
READINGS = (
    "what the errors of the readings make of the start of a tone and of the tone is not computed"
)
#: What words of a record mean to a reader.
EXPLAINED = {
    NOT_QUASI_STEADY: "the oscillation is too fast for the stream in the throat to follow "
    "(not quasi-steady), so what the stream does there is a rough figure"
}
#: What a register is where nothing limits it.
GOOD = ("", "good")


def of_onset(case: CaseResults) -> Iterable[str]:
    """What limits a case's onset."""
    if case.onset is None:
        return
    if case.onset.note:
        yield case.onset.note.rstrip(".")
    said: dict[str, list[OnsetOfRegister]] = {}
    for one in registers_of(case):
        for words in one.validity.split("; "):
            if words not in GOOD:
                said.setdefault(words, []).append(one)
    for words, found in said.items():
        told = EXPLAINED.get(words, words)
        yield f"{registers_text([one.register for one in found])}: {told}"
    if case.measurement is not None:
        yield READINGS


def of_tone(case: CaseResults) -> Iterable[str]:
    """What limits a case's tone."""
    if case.tone is None:
        return
    if case.tone.note:
        yield case.tone.note.rstrip(".")
    for level in case.tone.at_levels:
        if level.validity not in GOOD:
            yield f"{level.level}: {level.validity}"


def has_lips(cases: Sequence[CaseResults]) -> bool:
    """Whether an onset was asked for."""
    return any(case.onset is not None for case in cases)
