"""What a bore changes in the onset of a tone, and whether that holds for other lips.

A change is against the first case's register of the same impedance peak, and is of the study's own
lips; its numerical uncertainty is that of the series of changes over the mesh levels
(`borestudy.results.changes`), or of what the figures' uncertainties hold besides.  The threshold's
change has a model error, too (`borestudy.results.onset_error`).

The same change is computed for every lips of the set.  A word is earned where nearly all of them
agree with the study's own: `NEARLY_ALL` of those that sound on both bores.  Of 50 lips that is 45:
if one in five of all lips went the other way, 45 or more of 50 drawn at random would agree once in
twenty times (0.048), and of lips without any tendency 45 of 50 agree one way or the other once in
five hundred million (the sign test, Dixon & Mood 1946, J. Am. Stat. Assoc. 41, 557; from memory).
The set is spread evenly and not drawn, so that these are sizes and no confidence levels.  Of fewer
than `FEWEST_LIPS` nothing is said, since five of five agree by chance once in sixteen times.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import hypot

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from borestudy.intervals import CENTS_PER_SHARE, cents
from borestudy.quantity import Quantity
from borestudy.results.case import CaseResults
from borestudy.results.changes import (
    BELIEVED_CANCELLING,
    HIGHER,
    ITSELF,
    LOWER,
    NO_RESULT,
    UNKNOWN,
    Change,
    Scale,
    change_of_levels,
    shift_between,
)
from borestudy.results.onset import OnsetOfRegister
from borestudy.results.onset_error import change_error
from borestudy.results.tables.files import Row, frame_of
from borestudy.results.tables.flow import change_columns

#: Share of the lips that must agree for a word, and how many there must be at least.
NEARLY_ALL, FEWEST_LIPS = 0.9, 6
#: Share of the set that must sound on both bores.
MOST_OF_THE_SET = 0.5
DEPENDS = "depends on the lips"
TOO_FEW_LIPS = "not known: too few of the lips sound"
NO_TONE_BEFORE = "not known: no tone in the first case"


@dataclass(frozen=True)
class LipsChange:
    """A change with the study's own lips, and the same with others.

    Attributes
    ----------
    own : Change
    others : tuple of float or None
        The same change, in the same unit, with each lips of the set; None where they have no tone
        on one of the bores.
    """

    own: Change = UNKNOWN
    others: tuple[float | None, ...] = ()

    @property
    def known(self) -> tuple[float, ...]:
        """The changes of those other lips that sound on both bores."""
        return tuple(one for one in self.others if one is not None)

    @property
    def compared(self) -> int:
        """Number of other lips that sound on both bores."""
        return len(self.known)

    @property
    def alike(self) -> int:
        """In how many of them the change has the direction that it has with the study's own."""
        return int(np.sum(np.sign(self.known) == np.sign(self.own.value or 0.0)))

    @property
    def within(self) -> int:
        """In how many of them the change is within the uncertainty of the study's own."""
        return sum(abs(one) <= (self.own.uncertainty or 0.0) for one in self.known)

    @property
    def verdict(self) -> str:
        """Lower, higher or no difference, where nearly all lips agree; else that they do not."""
        if not self.own.is_known:
            return self.own.verdict
        if self.compared < max(FEWEST_LIPS, MOST_OF_THE_SET * len(self.others)):
            return TOO_FEW_LIPS
        agreeing = self.alike if self.own.is_beyond else self.within
        return self.own.verdict if agreeing >= NEARLY_ALL * self.compared else DEPENDS

    @property
    def is_told(self) -> bool:
        """Whether the direction is known and nearly all lips agree on it."""
        return self.verdict in (LOWER, HIGHER)


@dataclass(frozen=True)
class OnsetChange:
    """What a bore changes in one register against another bore.

    Attributes
    ----------
    register : int
        As counted in the bore that it is compared with.
    found, before : OnsetOfRegister or None
        The register of both bores.
    threshold : LipsChange [percent]
        Of the least mouth pressure at which a tone starts.
    sounding : LipsChange [cents]
        Of the frequency that it starts with.
    by_sound : Change [percent]
        Of the threshold if the stream made no resistance.
    """

    register: int
    found: OnsetOfRegister | None = None
    before: OnsetOfRegister | None = None
    threshold: LipsChange = LipsChange()
    sounding: LipsChange = LipsChange()
    by_sound: Change = UNKNOWN


def registers_of(case: CaseResults) -> Sequence[OnsetOfRegister]:
    """A case's registers from the lowest up; none where no onset was computed."""
    return () if case.onset is None else case.onset.registers


def onset_changes(case: CaseResults, first: CaseResults) -> list[OnsetChange]:
    """What a case changes in each of its registers against another case.

    Registers are paired by their impedance peaks, of which a range can cut one off.
    """
    theirs = {one.register: one for one in registers_of(first)}
    shift = shift_between(*(_peaks(each) for each in (first, case)))
    return [
        _of_register(case, first, found, theirs.get(found.register - shift), shift)
        for found in registers_of(case)
    ]


def _peaks(case: CaseResults) -> list[float]:
    peaks = [one.peak_frequency for one in registers_of(case)]
    # without a peak in between the others would change their places
    return [] if None in peaks else [float(peak) for peak in peaks if peak is not None]


def _of_register(
    case: CaseResults,
    first: CaseResults,
    found: OnsetOfRegister,
    before: OnsetOfRegister | None,
    shift: int,
) -> OnsetChange:
    number = found.register - shift
    if before is None:
        return OnsetChange(number, found)
    solvers = sum(
        0.0 if each.acoustics is None else each.acoustics.reduced_basis.held_out_error
        for each in (case, first)
    )
    missing = Change(unknown=_why(found, before))

    def own(name: str, scale: Scale) -> Change:
        if case is first:
            return ITSELF if getattr(found, name) is not None else missing
        change = change_of(getattr(found, name), getattr(before, name), scale, solvers)
        return change if change.value is not None else missing

    threshold = own("mouth_pressure", "percent")
    if case is not first and threshold.value is not None:
        threshold = replace(threshold, model=change_error(case, first, found, before))
    pressures = (found.set_mouth_pressure_Pa, before.set_mouth_pressure_Pa)
    frequencies = (found.set_sounding_frequency_Hz, before.set_sounding_frequency_Hz)
    return OnsetChange(
        number,
        found,
        before,
        LipsChange(threshold, _of_others(*pressures, "percent")),
        LipsChange(own("sounding_frequency", "cents"), _of_others(*frequencies, "cents")),
        own("mouth_pressure_without_stream", "percent"),
    )


def _why(found: OnsetOfRegister, before: OnsetOfRegister) -> str:
    """Why there is no change, where one of the bores has no tone."""
    if found.mouth_pressure is None:
        return f"not known: {found.validity}" if found.validity else NO_RESULT
    return NO_TONE_BEFORE if before.mouth_pressure is None else NO_RESULT


def change_of(
    ours: Quantity | None, theirs: Quantity | None, scale: Scale, solver_error: float = 0.0
) -> Change:
    """Change of a quantity with its numerical uncertainty.

    That of the meshes is of the changes on each of them.  What the two uncertainties hold besides,
    such as that of the steady drop, which was solved on two meshes, is believed to cancel as far as
    two meshes show it.  Errors of two quantities without values on meshes count as independent.
    """
    if ours is None or theirs is None:
        return UNKNOWN
    if theirs.value <= 0 or ours.value <= 0:
        return UNKNOWN
    ratio = ours.value / theirs.value
    unit = CENTS_PER_SHARE if scale == "cents" else 100 * ratio
    value = float(cents(ratio)) if scale == "cents" else 100 * (ratio - 1)
    if ours.uncertainty is None or theirs.uncertainty is None:
        return Change(value)
    apart = hypot(ours.uncertainty / ours.value, theirs.uncertainty / theirs.value)
    if min(len(ours.levels), len(theirs.levels)) < 2:
        return Change(value, unit * (apart + solver_error))
    found = change_of_levels(ours.levels, theirs.levels, scale, solver_error)
    if found.numerical is None:
        return found
    besides = unit * (apart / BELIEVED_CANCELLING[2] + solver_error)
    return replace(found, numerical=max(found.numerical, besides))


def _of_others(
    ours: Sequence[float | None], theirs: Sequence[float | None], scale: Scale
) -> tuple[float | None, ...]:
    """The change with each lips of the set."""
    if len(ours) != len(theirs):  # of another set
        return ()
    pair = [np.array(each, dtype=float) for each in (ours, theirs)]
    ratio: NDArray[np.float64] = pair[0] / pair[1]
    found = cents(ratio) if scale == "cents" else 100 * (ratio - 1)
    return tuple(float(one) if np.isfinite(one) else None for one in found)


def onset_change_rows(case: CaseResults, first: CaseResults) -> Iterator[Row]:
    """A case's rows, one a register, or one that says that there is none."""
    changes = onset_changes(case, first)
    if not changes:
        nothing = {f"{stem}_change_verdict": NO_RESULT for stem in ("threshold", "sounding")}
        yield {"case": case.name, "register": None, **nothing}
    for change in changes:
        row: Row = {"case": case.name, "register": change.register}
        row |= _told("threshold", "percent", change.threshold)
        by_sound = change_columns("threshold_by_sound", "percent", change.by_sound)
        del by_sound["threshold_by_sound_change_verdict"]  # of which no other lips were asked
        row |= by_sound
        row |= _told("sounding", "cents", change.sounding)
        found = change.found
        yield row | {"validity": "" if found is None else found.validity}


def _told(stem: str, unit: str, change: LipsChange) -> Row:
    """The columns of a change: of the study's own lips, and of the others."""
    row = change_columns(stem, unit, change.own)
    row[f"{stem}_change_{unit}_numerical_uncertainty"] = change.own.numerical
    row[f"{stem}_change_verdict"] = change.verdict
    known = change.known
    return row | {
        f"{stem}_lips_alike": change.alike,
        f"{stem}_lips_within_uncertainty": change.within,
        f"{stem}_lips_compared": change.compared,
        f"{stem}_change_lips_low_{unit}": min(known, default=None),
        f"{stem}_change_lips_high_{unit}": max(known, default=None),
    }


def onset_changes_table(cases: Sequence[CaseResults]) -> pd.DataFrame:
    """One row a case and register, with its changes against the first case's same register."""
    return frame_of([row for case in cases for row in onset_change_rows(case, cases[0])])
