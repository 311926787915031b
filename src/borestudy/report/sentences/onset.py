"""What a bore does to the start of a tone, in sentences that a maker reads.

Said is only what is beyond the uncertainty and what nearly all lips of the set agree on; elsewhere
that there is no such thing.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from borestudy.report.sentences.lead import instead_of
from borestudy.report.sentences.words import PLAYED_PEAKS, listed, quantity_text
from borestudy.results.case import CaseResults, varied_columns
from borestudy.results.changes import HIGHER, LOWER
from borestudy.results.onset import OnsetOfRegister
from borestudy.results.onset_changes import (
    DEPENDS,
    TOO_FEW_LIPS,
    LipsChange,
    OnsetChange,
    onset_changes,
    registers_of,
)
from borestudy.rounding import with_uncertainty

#: As many other cases as are gone through one by one.
FEW = 3


@dataclass(frozen=True)
class Kind:
    """A kind of change: where it is, its unit, and its words for lower and higher."""

    of: Callable[[OnsetChange], LipsChange]
    unit: str
    verbs: dict[str, str]
    sizes: dict[str, str]
    name: str


THRESHOLD = Kind(
    lambda change: change.threshold,
    "%",
    {
        LOWER: "takes less pressure in the mouth to start",
        HIGHER: "takes more pressure in the mouth to start",
    },
    {LOWER: "less", HIGHER: "more"},
    "the pressure in the mouth at which a tone starts",
)
SOUNDING = Kind(
    lambda change: change.sounding,
    "cents",
    {LOWER: "starts at a lower pitch", HIGHER: "starts at a higher pitch"},
    {LOWER: "lower", HIGHER: "higher"},
    "the pitch at which it starts",
)


def onset_answers(cases: Sequence[CaseResults]) -> list[str]:
    """What each of a few bores does to the start of a tone, and what the stream has to do with it.

    Of many bores those that need the least and the most pressure against the first.
    """
    if not cases or not registers_of(cases[0]):
        return []
    if len(cases) == 1:
        return single_sentences(cases[0])
    shown, columns, sentences = list(cases[1:]), varied_columns(cases), []
    if len(shown) > FEW:
        ranked = ranked_by_ease(cases)
        shown = list({case.name: case for case in (ranked[0], ranked[-1])}.values())
    for case in shown:
        found = played_changes(case, cases[0])
        parts = [
            f"{instead_of(case, cases[0], columns)} {change_text(found, THRESHOLD, tone_of(case))}",
            change_text(found, SOUNDING, "it"),
            *_by_sound(found),
        ]
        sentences.append(f"{'; '.join(parts)}.")
    return sentences


def single_sentences(case: CaseResults) -> list[str]:
    """Where a single bore's lowest and highest registers start, with all lips."""
    known = [one for one in played(case, registers_of(case)) if one.mouth_pressure is not None]
    if not known:
        return ["With the study's own lips no register starts a tone within 20 kPa in the mouth."]
    ends = [known[0], *known[1:][-1:]]
    pressures = listed([f"{_kPa(one)} kPa in register {one.register}" for one in ends])
    spans = [f"{span} kPa" for one in ends if (span := span_of(one)) is not None]
    others = f" (with the other lips at {listed(spans)})" if len(spans) == len(ends) else ""
    sentences = [
        f"With the study's own lips {tone_of(case)} starts at a pressure in the mouth of "
        f"{pressures}{others}."
    ]
    if all(one.sounding_above_peak is not None for one in ends):
        above = [
            f"{quantity_text(one.sounding_above_peak)} cents in register {one.register}"
            for one in ends
        ]
        sentences.append(
            f"It starts above the impedance peak, by {listed(above)}, as lips that open outward do."
        )
    return sentences


def foremost(cases: Sequence[CaseResults]) -> CaseResults:
    """The bore that lowers a threshold against the first, or else the one that raises them most."""
    ranked = ranked_by_ease(cases)
    if is_easier(ranked[0], cases[0]) or not any(
        one.threshold.is_told for one in played_changes(ranked[-1], cases[0])
    ):
        return ranked[0]
    return ranked[-1]


def is_easier(case: CaseResults, first: CaseResults) -> bool:
    """Whether the threshold of any register is told to be lower."""
    return any(one.threshold.verdict == LOWER for one in played_changes(case, first))


def ranked_by_ease(cases: Sequence[CaseResults]) -> list[CaseResults]:
    """All bores but the first, by the mean change of their thresholds, the lowest first.

    What is not told counts as no change; of bores alike in that, what the study's own lips do
    beyond the uncertainty decides.
    """

    def means(case: CaseResults) -> tuple[float, float]:
        found = [one.threshold for one in played_changes(case, cases[0])]
        told_of = sum(one.own.value or 0.0 for one in found if one.is_told)
        beyond = sum(one.own.value or 0.0 for one in found if one.own.is_beyond)
        count = max(len(found), 1)
        return told_of / count, beyond / count

    scores = [(*means(case), place) for place, case in enumerate(cases) if place]
    return [cases[place] for *_, place in sorted(scores)]


def played_changes(case: CaseResults, first: CaseResults) -> list[OnsetChange]:
    """The changes of those registers that are played: with an air column from the second on."""
    found = onset_changes(case, first)
    return [one for one in found if not case.has_air_column or one.register in PLAYED_PEAKS]


def played(case: CaseResults, registers: Sequence[OnsetOfRegister]) -> list[OnsetOfRegister]:
    """Those registers that are played."""
    return [one for one in registers if not case.has_air_column or one.register in PLAYED_PEAKS]


def change_text(found: Sequence[OnsetChange], kind: Kind, who: str, *, brief: bool = False) -> str:
    """In which registers something changes, by how much at most, and with how many of the lips.

    Parameters
    ----------
    found : sequence of OnsetChange
        Of one bore.
    kind : Kind
        What changes.
    who : str
        What the sentence is about: the tone.
    brief : bool
        Whether to give one number alone.
    """
    parts: list[str] = []
    for word in sorted((LOWER, HIGHER), key=lambda word: -_greatest(found, kind, word)):
        mine = [one for one in found if kind.of(one).verdict == word]
        if not mine:
            continue
        most = max(mine, key=lambda one: abs(kind.of(one).own.value or 0.0))
        text = f"{who if not parts else 'it'} {kind.verbs[word]} in {_registers(mine)}"
        if not (brief and parts):
            which = f", most in register {most.register}" if len(mine) > 1 else ""
            text = f"{text}{which}: {_most(most, kind, word, brief)}"
        parts.append(text)
    depending = [one for one in found if kind.of(one).verdict == DEPENDS]
    if depending and parts:
        parts.append(f"in {_registers(depending)} it depends on the lips")
    few = [one for one in found if kind.of(one).verdict == TOO_FEW_LIPS]
    if few and parts and not brief:
        parts.append(f"in {_registers(few)} too few of the lips sound to tell")
    return "; ".join(parts) or _nothing(found, kind, who)


def _greatest(found: Sequence[OnsetChange], kind: Kind, word: str) -> float:
    """The size of the greatest change of a direction."""
    sizes = [abs(kind.of(one).own.value or 0.0) for one in found if kind.of(one).verdict == word]
    return max(sizes, default=0.0)


def _most(change: OnsetChange, kind: Kind, word: str, brief: bool) -> str:
    """The greatest change of a direction, with both figures and the count of the lips."""
    of, both = kind.of(change), ""
    size = with_uncertainty(abs(of.own.value or 0.0), of.own.uncertainty)
    if kind is THRESHOLD and not brief and change.found is not None and change.before is not None:
        both = f" ({_kPa(change.found)} instead of {_kPa(change.before)} kPa)"
    return f"{size} {kind.unit} {kind.sizes[word]}{both}, {lips_text(of)}"


def lips_text(change: LipsChange) -> str:
    """For how many of the other lips the direction is the same."""
    every = len(change.others)
    if change.compared == every:
        return f"and so with {change.alike} of {every} other lips"
    return f"and so with {change.alike} of the {change.compared} other lips of {every} that sound"


def foremost_change(found: Sequence[OnsetChange], kind: Kind) -> OnsetChange | None:
    """The greatest change that is told; else that is beyond its uncertainty; else that is known."""
    known = [one for one in found if kind.of(one).own.is_known]
    beyond = [one for one in known if kind.of(one).own.is_beyond]
    told = [one for one in beyond if kind.of(one).is_told]
    among = told or beyond or known
    return max(among, key=lambda one: abs(kind.of(one).own.value or 0.0), default=None)


def _nothing(found: Sequence[OnsetChange], kind: Kind, who: str) -> str:
    """That there is no change to be told with all lips, how large the largest is, and why."""
    name = kind.name.replace("a tone", who)
    most = foremost_change(found, kind)
    if most is None:
        return f"what {name} does is not known"
    of = kind.of(most)
    size = f"{with_uncertainty(of.own.value, of.own.uncertainty)} {kind.unit}"
    few = f"{of.compared} of {len(of.others)} other lips sound"
    if of.own.is_beyond:
        why = f"{of.alike} of {of.compared} other lips go the same way"
        return (
            f"{name} changes by {size} in register {most.register} with the study's own lips, but "
            f"only {few if of.verdict == TOO_FEW_LIPS else why}"
        )
    text = f"{name} shows no change beyond the uncertainty: at most {size}, in register "
    text += str(most.register)
    if of.verdict == DEPENDS:
        text += f", but with {of.compared - of.within} of {of.compared} other lips it does"
    elif of.verdict == TOO_FEW_LIPS:
        text += f", and only {few}"
    return text


def _by_sound(found: Sequence[OnsetChange]) -> list[str]:
    """What the greatest change of threshold would be without the stream's resistance."""
    told_of = [one for one in found if one.threshold.is_told and one.by_sound.is_known]
    if not told_of:
        return []
    most = max(told_of, key=lambda one: abs(one.threshold.own.value or 0.0))
    size = with_uncertainty(most.by_sound.value, most.by_sound.uncertainty)
    return [
        f"by sound alone, without the stream, the threshold of register {most.register} would "
        f"change by {size} %"
    ]


def _registers(changes: Sequence[OnsetChange]) -> str:
    return registers_text([one.register for one in changes])


def registers_text(numbers: Sequence[int]) -> str:
    """``register 4``, ``registers 2 to 5 and 8``."""
    ordered = sorted(set(numbers))
    if len(ordered) == 1:
        return f"register {ordered[0]}"
    groups = [[ordered[0]]]
    for before, number in pairwise(ordered):
        if number == before + 1:
            groups[-1].append(number)
        else:
            groups.append([number])
    parts: list[str] = []
    for group in groups:
        parts += [f"{group[0]} to {group[-1]}"] if len(group) > 2 else map(str, group)
    return f"registers {listed(parts)}"


def tone_of(case: CaseResults) -> str:
    """The tone, and that there is no instrument behind the mouthpiece where there is none."""
    return "a tone" if case.has_air_column else "a tone of the mouthpiece on its own pipe"


def _kPa(found: OnsetOfRegister) -> str:
    return quantity_text(found.mouth_pressure, 1e-3)


def span_of(found: OnsetOfRegister) -> str | None:
    """The least and the greatest threshold of the other lips [kPa]."""
    known = [1e-3 * one for one in found.set_mouth_pressure_Pa if one is not None]
    return f"{min(known):.2g} to {max(known):.2g}" if known else None
