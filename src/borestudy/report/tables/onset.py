"""The report's tables of starting a tone and of the tone itself."""

import pandas as pd

from borestudy.report.captions import text
from borestudy.report.tables import columns as printed
from borestudy.report.tables.layout import Table, build_table, chosen
from borestudy.rounding import is_missing

#: Quantities whose changes are counted among the lips of the set.
CHANGED = ("threshold", "sounding")


def printed_onset(onset: pd.DataFrame) -> Table:
    """The least mouth pressure of every register, and where it sounds.

    A register that nothing limits is good, as a tone's level is.
    """
    told = onset.assign(validity=["good" if is_missing(one) or not one else one
                                  for one in onset["validity"]])  # fmt: skip
    return build_table(told, text("tables", "onset"), columns=chosen(told, printed.ONSET))


def printed_changes(changes: pd.DataFrame) -> Table | None:
    """The changes against the first case in every register; None without another case.

    In how many of the set's lips the direction is the same stands in one cell, "47 of 50".
    """
    others = _of_others(changes)
    if others.empty:
        return None
    counts = {
        f"{stem}_change_alike": [
            "" if is_missing(alike) or not of else f"{int(alike)} of {int(of)}"
            for alike, of in zip(
                others[f"{stem}_lips_alike"], others[f"{stem}_lips_compared"], strict=True
            )
        ]
        for stem in CHANGED
        if f"{stem}_lips_alike" in others
    }
    table = others.assign(**counts)
    wanted = chosen(table, printed.ONSET_CHANGES)
    return build_table(table, text("tables", "onset_changes"), columns=wanted)


def printed_tone(tone: pd.DataFrame) -> Table:
    """The tone of every bore at each level."""
    return build_table(tone, text("tables", "tone"), columns=chosen(tone, printed.TONE))


def printed_tone_changes(changes: pd.DataFrame) -> Table | None:
    """What the tone of every other bore has more or less of; None without another case."""
    others = _of_others(changes)
    if others.empty:
        return None
    wanted = chosen(others, printed.TONE_CHANGES)
    return build_table(others, text("tables", "tone_changes"), columns=wanted)


def _of_others(changes: pd.DataFrame) -> pd.DataFrame:
    """The rows of every case but the first."""
    return changes[changes["case"] != changes["case"].iloc[0]] if len(changes) else changes
