"""What a bore does to the tone at a soft and at a loud level, in a sentence each."""

from collections.abc import Sequence

from borestudy.report.sentences.lead import instead_of
from borestudy.report.sentences.onset import foremost
from borestudy.report.sentences.words import change_text
from borestudy.results.case import CaseResults, varied_columns
from borestudy.results.onset_changes import registers_of
from borestudy.results.tone_changes import tone_changes
from borestudy.rounding import significant


def tone_answers(cases: Sequence[CaseResults]) -> list[str]:
    """A sentence a level on the bore that starts most easily, against the first.

    None of a single bore, and none without a tone of both.
    """
    if len(cases) < 2 or not registers_of(cases[0]) or cases[0].tone is None:
        return []
    case = foremost(cases)
    lead = instead_of(case, cases[0], varied_columns(cases))
    times = (
        {} if case.tone is None else {one.level: one.times_threshold for one in case.tone.at_levels}
    )
    sentences = []
    for found in tone_changes(case, cases[0]):
        if all(change.value is None for change in found.changes.values()):
            continue
        cup, shank = (
            change_text(found.changes[stem]) for stem in ("cup_centroid", "shank_centroid")
        )
        pitch = change_text(found.changes["sounding"], "cents")
        sentences.append(
            f"{lead}, with the study's own lips in register {found.register} at "
            f"{significant(times[found.level])} times the pressure that each bore starts at "
            f"({found.level}), the mean frequency of the harmonics (spectral centroid) is {cup} in "
            f"the cup and {shank} behind the shank; the pitch is {pitch}."
        )
    return sentences
