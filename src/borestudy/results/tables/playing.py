"""Tables of what it takes to start a tone and of the tone: rows of a case."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import pandas as pd

from borestudy.records import columns
from borestudy.results.case import CaseResults
from borestudy.results.onset import OnsetOfRegister
from borestudy.results.tables.files import Row, frame_of
from borestudy.results.tone import ToneAtLevel, ToneResult

#: What a row is told where there is nothing at all.
NOT_COMPUTED = "not computed"
NOT_MESHED = "not meshed: "
#: Places in a tone's columns of those of the tone as a whole, which every level's row has.
OF_TONE = ("register", "lips_frequency_Hz", "threshold", "modes", "fit_deviation_percent",
           "growth_rate", "starts_at", "ends_at")  # fmt: skip


def onset_rows(case: CaseResults) -> Iterator[Row]:
    """One row a register of the case; one that says why where it has none."""
    found = case.onset
    if found is None or not found.registers:
        reason = NOT_COMPUTED if found is None else found.note or NOT_COMPUTED
        if found is not None and found.not_meshed is not None:
            reason = f"{NOT_MESHED}{found.not_meshed}"
        nothing = OnsetOfRegister(register=0, validity=reason)
        yield {"case": case.name, **columns(nothing), "register": None, **_of_set(nothing)} | {
            "behind": "" if found is None else found.behind,
            "note": "" if found is None else found.note,
        }
        return
    for one in found.registers:
        yield {"case": case.name, **columns(one), **_of_set(one)} | {
            "behind": found.behind,
            "note": found.note,
        }


def _of_set(found: OnsetOfRegister) -> Row:
    """How many of the set of lips have a tone in a register, and between which thresholds."""
    known = [one for one in found.set_mouth_pressure_Pa if one is not None]
    middle = float(np.median(known)) if known else None
    return {
        "set_lips": len(found.set_mouth_pressure_Pa),
        "set_with_tone": len(known),
        "set_mouth_pressure_low_Pa": min(known, default=None),
        "set_mouth_pressure_median_Pa": middle,
        "set_mouth_pressure_high_Pa": max(known, default=None),
    }


def tone_rows(case: CaseResults) -> Iterator[Row]:
    """One row a level of the case's tone; one that says why where it has none."""
    found = case.tone or ToneResult(note=NOT_COMPUTED)
    levels: Sequence[ToneAtLevel] = found.at_levels
    if not levels:
        reason = found.note or NOT_COMPUTED
        if found.not_meshed is not None:
            reason = f"{NOT_MESHED}{found.not_meshed}"
        nothing = ToneAtLevel(level="", times_threshold=0, mouth_pressure_Pa=0, validity=reason)
        unknown = dict.fromkeys(("times_threshold", "mouth_pressure_Pa"))
        yield {"case": case.name, **_of_tone(found), **columns(nothing), **unknown} | {
            "note": found.note
        }
        return
    for level in levels:
        yield {"case": case.name, **_of_tone(found), **columns(level), "note": found.note}


def _of_tone(found: ToneResult) -> Row:
    """What is known of a tone whatever its level."""
    every = columns(replace(found, provenance=None))
    return {
        name: cell
        for name, cell in every.items()
        if any(name == of or name.startswith(f"{of}_") for of in OF_TONE)
    }


def harmonic_rows(case: CaseResults) -> Iterator[Row]:
    """One row a level and harmonic of the case's tone; none without a tone."""
    for level in case.tone.at_levels if case.tone is not None else ():
        pitch = level.sounding_frequency
        pairs = zip(level.cup_harmonics_dB, level.shank_harmonics_dB, strict=True)
        for number, (cup, shank) in enumerate(pairs, start=1):
            yield {
                "case": case.name,
                "level": level.level,
                "harmonic": number,
                "frequency_Hz": None if pitch is None else number * pitch.value,
                "cup_dB": cup,
                "shank_dB": shank,
            }


def onset_table(cases: Sequence[CaseResults]) -> pd.DataFrame:
    """One row a case and register."""
    return frame_of([row for case in cases for row in onset_rows(case)])


def tone_table(cases: Sequence[CaseResults]) -> pd.DataFrame:
    """One row a case and level."""
    return frame_of([row for case in cases for row in tone_rows(case)])


def harmonics_table(cases: Sequence[CaseResults]) -> pd.DataFrame:
    """One row a case, level and harmonic."""
    return frame_of([row for case in cases for row in harmonic_rows(case)])
