"""What a bore changes in the tone, with the uncertainty of both tones."""

from math import log2

import pytest

from borestudy.quantity import Quantity
from borestudy.results.case import CaseResults
from borestudy.results.changes import NO_DIFFERENCE, NO_RESULT
from borestudy.results.tone import NOT_COMPARABLE, SILENT, ToneResult
from borestudy.results.tone_changes import (
    OF_ANOTHER_REGISTER,
    OTHER_LEVEL,
    tone_change_rows,
    tone_changes_table,
)

from .played import level, played

UNITS = {
    "sounding": "cents", "cup_pressure": "percent", "cup_centroid": "percent",
    "shank_centroid": "percent", "starts_at": "percent", "ends_at": "percent",
}  # fmt: skip


def tone(*levels, register: int = 4, starts: float = 2000.0, ends: float = 1900.0) -> ToneResult:
    return ToneResult(
        register=register,
        starts_at=Quantity(starts, 1.0, "Pa"),
        ends_at=Quantity(ends, 1.0, "Pa"),
        at_levels=levels,
    )


FIRST = played("first", [], tone(level("soft", 466.0, 700.0), level("loud", 468.0, 1000.0)))


def rows(given: ToneResult, first: CaseResults = FIRST) -> dict[str, dict]:
    return {row["level"]: row for row in tone_change_rows(played("other", [], given), first)}


def test_every_change_is_of_its_own_quantity_and_level() -> None:
    found = rows(
        tone(
            level("soft", 465.0, 707.0, cup_pressure=Quantity(1050.0, 1.0, "Pa")),
            level("loud", 469.0, 980.0, shank_centroid=Quantity(2080.0, 1.0, "Hz")),
            starts=1980.0,
            ends=1957.0,
        )
    )
    expected = {
        "soft": [1200 * log2(465 / 466), 5.0, 1.0, 1.0, -1.0, 3.0],
        "loud": [1200 * log2(469 / 468), 0.0, -2.0, 4.0, -1.0, 3.0],
    }
    for name, values in expected.items():
        got = [found[name][f"{stem}_change_{unit}"] for stem, unit in UNITS.items()]
        assert got == pytest.approx(values, abs=1e-9)


def test_the_uncertainty_is_that_of_two_independent_tones() -> None:
    found = rows(tone(level("soft", 466.0, 1400.0)))["soft"]
    # 1 Hz of 1400 and 1 Hz of 700, of twice the centroid
    assert found["cup_centroid_change_percent_uncertainty"] == pytest.approx(
        200 * (1 / 1400**2 + 1 / 700**2) ** 0.5
    )
    cent = 1200 / 466 * 1e-3 * 2**0.5 / 0.6931471805599453
    assert found["sounding_change_cents_uncertainty"] == pytest.approx(cent, rel=1e-9)


def test_a_word_says_whose_lips_it_is_of() -> None:
    found = rows(tone(level("soft", 465.0, 707.0), starts=2000.5))["soft"]
    assert found["sounding_change_verdict"] == "lower with the study's own lips"
    assert found["cup_centroid_change_verdict"] == "higher with the study's own lips"
    assert found["starts_at_change_verdict"] == NO_DIFFERENCE


def test_tones_of_other_registers_or_levels_are_not_compared() -> None:
    other = rows(tone(level("soft", 350.0, 700.0), register=3))["soft"]
    assert {other[f"{stem}_change_verdict"] for stem in UNITS} == {OF_ANOTHER_REGISTER}
    assert other["sounding_change_cents"] is None
    louder = rows(tone(level("soft", 466.0, 700.0, times_threshold=1.5)))["soft"]
    assert louder["cup_centroid_change_verdict"] == OTHER_LEVEL
    assert louder["starts_at_change_percent"] == pytest.approx(0.0)


def test_a_level_without_a_tone_says_so() -> None:
    lost = level("soft", 466.0, 700.0, sounding_frequency=None, validity=SILENT)
    found = rows(tone(lost))["soft"]
    assert found["sounding_change_cents"] is None
    assert found["sounding_change_verdict"] == f"not known: {SILENT}"
    assert found["validity"] == SILENT


@pytest.mark.parametrize("word", NOT_COMPARABLE)
def test_a_tone_that_is_not_what_was_asked_for_is_not_compared(word: str) -> None:
    doubtful = level("soft", 300.0, 700.0, validity=f"{word}; loud")
    found = rows(tone(doubtful))["soft"]
    assert found["cup_centroid_change_percent"] is None
    assert found["cup_centroid_change_verdict"] == f"not known: {word}"
    assert found["starts_at_change_percent"] == pytest.approx(0.0)
    first = played("first", [], tone(doubtful))
    found = rows(tone(level("soft", 466.0, 700.0, validity="good")), first)["soft"]
    assert found["sounding_change_verdict"] == f"not known: the first case's tone: {word}"


def test_the_first_case_does_not_differ_from_itself() -> None:
    table = tone_changes_table([FIRST, CaseResults("other")])
    assert list(table["level"]) == ["soft", "loud", ""]
    assert set(table.iloc[-1][[f"{stem}_change_verdict" for stem in UNITS]]) == {NO_RESULT}
    table = table.iloc[:-1]
    for stem, unit in UNITS.items():
        assert (table[f"{stem}_change_{unit}"] == 0).all()
        assert set(table[f"{stem}_change_verdict"]) == {NO_DIFFERENCE}
