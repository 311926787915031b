"""What a bore changes in the tone: pitch, spectrum and where it starts and ends.

A change is against the first case's tone at the same multiple of each bore's own threshold, in the
same register.  The tone is computed with the study's own lips alone, so that a word says so: no
other lips were asked.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import pandas as pd

from borestudy.results.case import CaseResults
from borestudy.results.changes import ITSELF, NO_RESULT, UNKNOWN, Change, Scale
from borestudy.results.onset_changes import change_of
from borestudy.results.tables.files import Row, frame_of
from borestudy.results.tables.flow import change_columns
from borestudy.results.tone import NOT_COMPARABLE, ToneAtLevel, ToneResult

OF_THESE_LIPS = "with the study's own lips"
OF_ANOTHER_REGISTER = "not known: the first case's tone is of another register"
OTHER_LEVEL = "not known: the first case's tone is at another multiple of its threshold"
#: Column, field and unit of what changes at a level, and of what is of the whole tone.
AT_LEVEL: tuple[tuple[str, str, Scale], ...] = (
    ("sounding", "sounding_frequency", "cents"),
    ("cup_pressure", "cup_pressure", "percent"),
    ("cup_centroid", "cup_centroid", "percent"),
    ("shank_centroid", "shank_centroid", "percent"),
)
OF_TONE: tuple[tuple[str, str, Scale], ...] = (
    ("starts_at", "starts_at", "percent"),
    ("ends_at", "ends_at", "percent"),
)


@dataclass(frozen=True)
class ToneChange:
    """What a bore changes in its tone at one level.

    `changes` are by the names of `AT_LEVEL` and `OF_TONE`, in their units.
    """

    level: str
    register: int | None
    validity: str
    changes: dict[str, Change]


def tone_changes(case: CaseResults, first: CaseResults) -> list[ToneChange]:
    """What a case changes at each level against another case; nothing of a case without a tone."""
    if case.tone is None:
        return []
    before = ToneResult() if first.tone is None else first.tone
    theirs = {one.level: one for one in before.at_levels}
    return [
        ToneChange(
            one.level,
            case.tone.register,
            one.validity,
            _changes(case.tone, one, before, theirs.get(one.level), case is first),
        )
        for one in case.tone.at_levels
    ]


def _changes(
    tone: ToneResult, level: ToneAtLevel, before: ToneResult, other: ToneAtLevel | None, same: bool
) -> dict[str, Change]:
    """All changes of a level and of the tone that it is of."""
    pairs = [(level, other, AT_LEVEL), (tone, before, OF_TONE)]
    why = ""
    if before.register != tone.register and before.register is not None:
        why = OF_ANOTHER_REGISTER
    found = {}
    for ours, theirs, names in pairs:
        reason = why
        if names is AT_LEVEL and not reason:
            reason = _why_not(level, other)
        for stem, name, scale in names:
            own, base = getattr(ours, name), getattr(theirs, name, None)
            if reason:
                found[stem] = Change(unknown=reason)
            elif same:
                found[stem] = ITSELF if own is not None else UNKNOWN
            else:
                found[stem] = change_of(own, base, scale)
    return found


def _why_not(level: ToneAtLevel, other: ToneAtLevel | None) -> str:
    """Why a level cannot be compared with the first case's; empty where it can."""
    if other is None:
        return ""
    if other.times_threshold != level.times_threshold:
        return OTHER_LEVEL
    for whose, one in (("", level), ("the first case's tone: ", other)):
        if found := [word for word in NOT_COMPARABLE if word in one.validity]:
            return f"not known: {whose}{found[0]}"
    return ""


def verdict_of(change: Change) -> str:
    """The word of a change, and whose lips it is of."""
    return f"{change.verdict} {OF_THESE_LIPS}" if change.is_beyond else change.verdict


def tone_change_rows(case: CaseResults, first: CaseResults) -> Iterator[Row]:
    """A case's rows, one a level, or one that says that there is none."""
    units = {stem: scale for stem, _, scale in (*AT_LEVEL, *OF_TONE)}
    changes = tone_changes(case, first)
    if not changes:
        nothing = {f"{stem}_change_verdict": NO_RESULT for stem in units}
        yield {"case": case.name, "register": None, "level": "", **nothing}
    for found in changes:
        row: Row = {"case": case.name, "register": found.register, "level": found.level}
        for stem, change in found.changes.items():
            row |= change_columns(stem, units[stem], change)
            row[f"{stem}_change_verdict"] = verdict_of(change)
        yield row | {"validity": found.validity}


def tone_changes_table(cases: Sequence[CaseResults]) -> pd.DataFrame:
    """One row a case and level, with its changes against the first case's same level."""
    return frame_of([row for case in cases for row in tone_change_rows(case, cases[0])])
