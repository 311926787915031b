"""What a study is about, and so what its report opens with: the resonance or the flow."""

import re
from collections.abc import Sequence
from typing import Literal, NamedTuple

Topic = Literal["resonance", "flow"]
RESONANCE: Topic = "resonance"
FLOW: Topic = "flow"

#: Beginnings of the words of a question that tell what it asks about.
WORDS: dict[Topic, tuple[str, ...]] = {
    RESONANCE: (
        "air column", "cent", "harmonic", "impedance", "intonation", "note", "peak", "pitch",
        "register", "resona", "tune", "tuning",
    ),
    FLOW: ("air", "blow", "breath", "flow", "pressure", "resist"),
}  # fmt: skip
#: Beginnings of the words of a question about the start of a tone.
ONSET_WORDS = ("attack", "eas", "onset", "push", "respon", "speak", "start", "threshold")
#: Beginnings of the columns of dimensions that are varied for the flow's sake.
FLOW_DIMENSIONS = ("entry", "throat")


def topic_of(question: str, varied: Sequence[str]) -> Topic:
    """Tell what a study is about.

    The question decides, by the first word in it that names the resonance or the flow.  A question
    that names neither leaves it to the first column of those that are varied: the flow for
    the throat and its entry, the resonance for every other.

    >>> topic_of("Does a deeper cup lower the pitch, and does it cost air?", ["cup_depth_mm"])
    'resonance'
    >>> topic_of("Is it worth it?", ["entry_radius_mm"])
    'flow'
    """
    found = {
        match.start(): topic
        # the resonance comes last, so that an air column is not taken for air
        for topic in (FLOW, RESONANCE)
        for match in re.finditer(rf"\b(?:{'|'.join(WORDS[topic])})", question, re.IGNORECASE)
    }
    if found:
        return found[min(found)]
    return FLOW if varied and varied[0].startswith(FLOW_DIMENSIONS) else RESONANCE


def asks_of_onset(question: str) -> bool:
    """Whether a question is about the start of a tone, in a study that has lips.

    >>> asks_of_onset("Is a deeper cup easier to start?"), asks_of_onset("What does rounding do?")
    (True, False)
    """
    return re.search(rf"\b(?:{'|'.join(ONSET_WORDS)})", question, re.IGNORECASE) is not None


class Sentences(NamedTuple):
    """What is said of the resonance and what is said of the flow."""

    resonance: list[str]
    flow: list[str]

    def in_order(self, topic: Topic) -> tuple[list[str], list[str]]:
        """Sentences of both subjects, those of the topic first."""
        return self if topic == RESONANCE else (self.flow, self.resonance)

    def opening_with(self, topic: Topic) -> list[str]:
        """All sentences in one list, those of the topic first."""
        first, then = self.in_order(topic)
        return [*first, *then]
