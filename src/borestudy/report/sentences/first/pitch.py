"""What a bore does to the pitch of an instrument's registers, in cents."""

from collections.abc import Sequence

from borestudy.report.sentences.first.told import FirstSentence, sound_sentence
from borestudy.report.sentences.words import REGISTERS, change_text, register_moves
from borestudy.results.case import CaseResults
from borestudy.results.changes import Change

#: A register's name and, as players count the natural notes, its partials.
NAMES = {name: (peaks[0], peaks[-1]) for name, peaks in REGISTERS.items()}


def resonance_or_pitch(lead: str, case: CaseResults, base: CaseResults) -> list[FirstSentence]:
    """What a bore does to the first resonance; with an instrument, to the pitch by register."""
    if not base.has_air_column:
        return [sound_sentence(lead, case, base)]
    moves = register_moves(case, base)
    return [_register(lead, case, base, name, move) for name, move in moves.items()] or [
        FirstSentence(text=f"{lead} what the pitch does is not known.", quantity="pitch")
    ]


def pitch_sentences(
    changes: Sequence[tuple[str, CaseResults]], base: CaseResults
) -> list[FirstSentence]:
    """Of the foremost change the registers that move most and least, of the next the most.

    Each change is the begin of its sentence and the bore that has it.
    """
    found: list[FirstSentence] = []
    for place, (lead, case) in enumerate(changes):
        moves = register_moves(case, base)
        ranked = sorted(moves, key=lambda name: -abs(moves[name].value or 0.0))
        wanted = [("most", ranked[:1]), ("least", ranked[1:][-1:] if place == 0 else [])]
        found += [
            _register(lead, case, base, name, moves[name], degree)
            for degree, names in wanted
            for name in names
        ]
    return found


def _register(
    lead: str, case: CaseResults, base: CaseResults, name: str, move: Change, degree: str = ""
) -> FirstSentence:
    """The mean move of a register's partials."""
    first, last = NAMES[name]
    which = f"moves {degree} and " if degree else ""
    size = change_text(move, "cents")
    return FirstSentence(
        text=f"{lead} the {name} register (partials {first} to {last}) {which}is {size} on "
        "average.",
        quantity=f"pitch of the {name} register",
        value=move.value,
        numerical=move.numerical,
        model=0.0,
        unit="cents",
        file="peaks.csv",
        column="resonance_change_cents",
        case=case.name,
        against=base.name,
    )
