"""Tables of the onset and of the tone: a row for everything, and words where there is no number."""

import pytest

from borestudy.quantity import Quantity
from borestudy.results.case import CaseResults
from borestudy.results.onset import NO_TONE, OnsetResult
from borestudy.results.tables.files import read_table, write_table
from borestudy.results.tables.playing import harmonics_table, onset_table, tone_table
from borestudy.results.tone import ToneResult

from .played import level, register, silent

SHARES = [1.0, 1.5, None, 0.5, 2.0]


def case(**found) -> CaseResults:
    return CaseResults("one", **found)


def test_a_register_has_its_threshold_and_those_of_other_lips(tmp_path):
    registers = (register(2, 1000.0, 240.0, SHARES, SHARES), silent(3))
    found = OnsetResult(behind="air column", note="said", registers=registers)
    write_table(onset_table([case(onset=found)]), tmp_path / "onset.csv")
    table = read_table(tmp_path / "onset.csv").set_index("register")
    second, third = table.loc[2], table.loc[3]
    assert second["mouth_pressure_Pa"] == pytest.approx(registers[0].mouth_pressure.value)
    assert second["mouth_pressure_Pa_uncertainty"] == pytest.approx(3.0)
    assert list(second[["set_lips", "set_with_tone"]]) == [5, 4]
    ends = ["low", "median", "high"]
    assert list(second[[f"set_mouth_pressure_{end}_Pa" for end in ends]]) == [500, 1250, 2000]
    assert third["validity"] == NO_TONE
    assert third[["mouth_pressure_Pa", "set_mouth_pressure_low_Pa"]].isna().all()
    assert third["set_with_tone"] == 0
    assert list(table["behind"]) == ["air column"] * 2
    assert list(table["note"]) == ["said"] * 2


@pytest.mark.parametrize(
    ("found", "words"),
    [
        ({}, "not computed"),
        ({"onset": OnsetResult(not_meshed="too thin"), "tone": ToneResult(not_meshed="too thin")},
         "not meshed: too thin"),
        ({"onset": OnsetResult(note="no peak"), "tone": ToneResult(note="no peak")}, "no peak"),
    ],
)  # fmt: skip
def test_a_case_without_any_tone_is_a_row_that_says_why(found, words):
    whole = case(onset=OnsetResult(registers=(register(1, 500.0, 120.0),)))
    for table in (onset_table([whole, case(**found)]), tone_table([case(**found)])):
        last = table.iloc[-1]
        assert last["case"] == "one"
        assert last["validity"] == words
        assert (
            last.drop(["case", "validity", "note", "behind", "level"], errors="ignore")
            .map(lambda cell: cell is None or cell != cell or cell == 0)
            .all()
        )
    assert harmonics_table([case(**found)]).empty


def test_every_level_has_what_is_known_of_the_tone_and_its_harmonics():
    soft = level("soft", 240.0, 900.0, cup_harmonics_dB=(150.0, 140.0),
                 shank_harmonics_dB=(130.0, 133.0), sound="tone-soft.wav")  # fmt: skip
    tone = ToneResult(
        register=2,
        modes=30,
        threshold=Quantity(1000.0, 3.0, "Pa"),
        starts_at=Quantity(1010.0, 5.0, "Pa"),
        rising_mouth_pressure_Pa=(1.0, 2.0),
        at_levels=(soft, level("loud", 241.0, 1200.0)),
    )
    table = tone_table([case(tone=tone)]).set_index("level")
    assert list(table["threshold_Pa"]) == [1000.0] * 2
    assert list(table["starts_at_Pa_uncertainty"]) == [5.0] * 2
    assert list(table["modes"]) == [30, 30]
    assert table.loc["soft", "sound"] == "tone-soft.wav"
    assert table.loc["loud", "cup_centroid_Hz"] == 1200.0
    assert not [name for name in table if "rising" in name or "harmonics" in name]
    rows = harmonics_table([case(tone=tone)])
    assert list(rows["level"]) == ["soft"] * 2
    assert list(rows["harmonic"]) == [1, 2]
    assert list(rows["frequency_Hz"]) == [240.0, 480.0]
    assert list(rows["cup_dB"]) == [150.0, 140.0]
    assert list(rows["shank_dB"]) == [130.0, 133.0]
