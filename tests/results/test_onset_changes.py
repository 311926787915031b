"""What a bore changes in the onset: with its uncertainty, and only where nearly all lips agree."""

from dataclasses import replace
from math import log2

import pytest
from scipy.stats import binom, binomtest

from borestudy.quantity import Quantity
from borestudy.results import onset_changes as changes
from borestudy.results.case import CaseResults
from borestudy.results.changes import NO_DIFFERENCE, NO_RESULT, NO_UNCERTAINTY, Change
from borestudy.results.onset import NO_TONE, OnsetOfRegister
from borestudy.results.onset_changes import (
    DEPENDS,
    NO_TONE_BEFORE,
    TOO_FEW_LIPS,
    LipsChange,
    change_of,
    onset_change_rows,
    onset_changes_table,
)

from .played import LIPS, of_levels, played, register, silent

FIRST = played("first", [register(2, 1000.0, 240.0), register(3, 2000.0, 360.0)])


def rows(*registers: OnsetOfRegister, first: CaseResults = FIRST) -> dict[int, dict]:
    """The rows of another case by their registers."""
    return {row["register"]: row for row in onset_change_rows(played("other", registers), first)}


def shares(lower: int, higher: int, none: int = 0) -> list[float | None]:
    """Of the lips so many start with less, with more, and not at all."""
    return [0.9] * lower + [1.1] * higher + [None] * none


def test_a_threshold_changes_in_percent_and_a_pitch_in_cents() -> None:
    found = rows(register(2, 950.0, 243.0))[2]
    assert found["threshold_change_percent"] == pytest.approx(-5.0, abs=1e-9)
    assert found["sounding_change_cents"] == pytest.approx(1200 * log2(243 / 240), abs=1e-9)
    assert found["threshold_change_verdict"] == "lower"
    assert found["sounding_change_verdict"] == "higher"


def test_each_register_is_compared_with_the_same_of_the_first_case() -> None:
    found = rows(register(3, 2200.0, 354.0), register(2, 950.0, 243.0))
    assert found[3]["threshold_change_percent"] == pytest.approx(10.0, abs=1e-9)
    assert found[2]["threshold_change_percent"] == pytest.approx(-5.0, abs=1e-9)
    assert found[3]["sounding_change_verdict"] == "lower"


def test_registers_are_paired_by_their_peaks_where_a_range_cuts_one_off() -> None:
    whole = [register(n, 500.0 * n, 120.0 * n, peak_frequency=of_levels(115.0 * n, "Hz"))
             for n in range(1, 8)]  # fmt: skip
    counted = [replace(one, register=one.register - 1) for one in whole[1:]]
    found = rows(*counted, first=played("first", whole))
    assert sorted(found) == list(range(2, 8))
    assert all(abs(row["threshold_change_percent"]) < 1e-9 for row in found.values())


def test_what_sound_alone_changes_has_a_column_of_its_own() -> None:
    found = rows(register(2, 950.0, 243.0, mouth_pressure_without_stream=of_levels(909.0, "Pa")))[2]
    assert found["threshold_by_sound_change_percent"] == pytest.approx(1.0, abs=1e-9)
    assert found["threshold_change_percent"] == pytest.approx(-5.0, abs=1e-9)


def test_lips_that_go_the_same_way_are_counted() -> None:
    pressures, frequencies = shares(47, 3), shares(4, 46)
    found = rows(register(2, 990.0, 243.0, pressures, frequencies))[2]
    assert found["threshold_lips_alike"] == 47
    assert found["sounding_lips_alike"] == 46
    assert found["threshold_lips_compared"] == found["sounding_lips_compared"] == LIPS
    assert found["threshold_change_lips_low_percent"] == pytest.approx(-10.9, abs=1e-9)
    assert found["threshold_change_lips_high_percent"] == pytest.approx(8.9, abs=1e-9)
    low, high = (1200 * log2(share * 243 / 240) for share in (0.9, 1.1))
    assert found["sounding_change_lips_low_cents"] == pytest.approx(low)
    assert found["sounding_change_lips_high_cents"] == pytest.approx(high)


@pytest.mark.parametrize(("lower", "word"), [(45, "lower"), (44, DEPENDS), (50, "lower")])
def test_a_word_needs_nine_in_ten_of_the_lips(lower: int, word: str) -> None:
    found = rows(register(2, 990.0, 243.0, shares(lower, LIPS - lower)))[2]
    assert found["threshold_change_verdict"] == word


def test_nine_in_ten_of_fifty_come_neither_of_chance_nor_of_four_in_five() -> None:
    most = changes.NEARLY_ALL * LIPS
    assert most == 45
    assert binom.sf(most - 1, LIPS, 0.8) == pytest.approx(0.048, abs=5e-4)
    assert 1 / binomtest(45, LIPS).pvalue == pytest.approx(2.4e8, rel=0.1)


def test_as_few_lips_as_agree_by_chance_say_nothing() -> None:
    assert binomtest(changes.FEWEST_LIPS, changes.FEWEST_LIPS).pvalue < 0.05
    assert binomtest(changes.FEWEST_LIPS - 1, changes.FEWEST_LIPS - 1).pvalue > 0.05
    own = Change(-5.0, 0.1)
    assert LipsChange(own, (-5.0,) * 6).verdict == "lower"
    assert LipsChange(own, (-5.0,) * 5).verdict == TOO_FEW_LIPS
    assert LipsChange(own).verdict == TOO_FEW_LIPS


def test_lips_without_a_tone_are_not_counted_and_most_of_the_set_must_sound() -> None:
    found = rows(register(2, 990.0, 243.0, shares(25, 0, 25)))[2]
    assert found["threshold_lips_compared"] == found["threshold_lips_alike"] == 25
    assert found["threshold_change_verdict"] == "lower"
    found = rows(register(2, 990.0, 243.0, shares(24, 0, 26)))[2]
    assert found["threshold_change_verdict"] == TOO_FEW_LIPS


def test_no_difference_is_said_where_nearly_all_lips_have_none() -> None:
    found = rows(register(2, 1000.01, 240.0, [1.0] * 45 + [1.1] * 5))[2]
    assert found["threshold_lips_within_uncertainty"] == 45
    assert found["threshold_change_verdict"] == NO_DIFFERENCE
    found = rows(register(2, 1000.01, 240.0, [1.0] * 44 + [1.1] * 6))[2]
    assert found["threshold_change_verdict"] == DEPENDS


def test_a_change_within_the_numerical_uncertainty_is_no_difference() -> None:
    ladder = of_levels(1001.0, "Pa", (2e-3, 0.0))
    other = of_levels(1000.0, "Pa", (-2e-3, 0.0))
    before = played("first", [register(2, 1000.0, 240.0, mouth_pressure=other)])
    found = rows(register(2, 1001.0, 240.0, mouth_pressure=ladder), first=before)[2]
    assert found["threshold_change_percent"] == pytest.approx(0.1, abs=1e-9)
    assert found["threshold_change_percent_uncertainty"] > 0.1
    assert found["threshold_change_verdict"] == NO_DIFFERENCE


def test_errors_that_both_bores_have_on_every_mesh_leave_the_change() -> None:
    found = rows(register(2, 950.0, 240.0))[2]
    assert 0 < found["threshold_change_percent_uncertainty"] < 0.2
    apart = rows(register(2, 950.0, 240.0, mouth_pressure=Quantity(950.0, 2.85, "Pa")))[2]
    # 0.3 % of each, independent of one another
    assert apart["threshold_change_percent_uncertainty"] == pytest.approx(
        95 * 0.003 * 2**0.5, rel=1e-3
    )
    pitch = Quantity(240.0, 0.24, "Hz")
    apart = rows(register(2, 950.0, 240.0, sounding_frequency=pitch))[2]
    cent = 1200 * log2(1 + 1e-3 * (1 + 9) ** 0.5)
    assert apart["sounding_change_cents_uncertainty"] == pytest.approx(cent, rel=2e-3)


def test_a_register_without_a_tone_says_so_and_has_no_number() -> None:
    found = rows(silent(2), register(3, 2200.0, 360.0))
    assert found[2]["threshold_change_verdict"] == f"not known: {NO_TONE}"
    assert found[2]["sounding_change_verdict"] == f"not known: {NO_TONE}"
    assert found[2]["threshold_change_percent"] is None
    assert found[2]["validity"] == NO_TONE
    assert found[3]["threshold_change_verdict"] == "higher"
    before = played("first", [silent(2)])
    assert rows(register(2, 1000.0, 240.0), first=before)[2]["threshold_change_verdict"] == (
        NO_TONE_BEFORE
    )


def test_lips_of_another_set_are_not_compared() -> None:
    found = rows(register(2, 950.0, 243.0, [1.0] * 40))[2]
    assert found["threshold_lips_compared"] == 0
    assert found["threshold_change_verdict"] == TOO_FEW_LIPS


def test_the_first_case_does_not_differ_from_itself() -> None:
    table = onset_changes_table([FIRST, played("other", [register(2, 950.0, 243.0)])])
    own = table[table["case"] == "first"]
    assert list(own["register"]) == [2, 3]
    assert (own["threshold_change_percent"] == 0).all()
    assert (own["threshold_change_percent_uncertainty"] == 0).all()
    assert set(own["threshold_change_verdict"]) == {NO_DIFFERENCE}
    assert set(own["threshold_lips_within_uncertainty"]) == {LIPS}
    assert list(table["case"]) == ["first", "first", "other"]


def test_a_case_without_an_onset_is_a_row_that_says_so() -> None:
    table = onset_changes_table([FIRST, CaseResults("other")])
    last = table.iloc[-1]
    assert (last["case"], last["threshold_change_verdict"]) == ("other", NO_RESULT)
    assert last["sounding_change_verdict"] == NO_RESULT


def test_an_uncertainty_beyond_that_of_the_meshes_counts_on_either_side() -> None:
    meshes = (1000.2, 1000.1)
    plain, doubtful = (Quantity(1000.1, error, "Pa", meshes) for error in (0.1, 40.0))
    small, ours, theirs = (
        change_of(*pair, "percent").uncertainty or 0.0
        for pair in ((plain, plain), (doubtful, plain), (plain, doubtful))
    )
    # a quarter of 4 %, since two meshes may agree by chance
    assert ours == pytest.approx(theirs, rel=1e-3) == pytest.approx(1.0, rel=1e-2)
    assert small < 0.02


def test_values_on_one_mesh_alone_leave_the_errors_as_they_are() -> None:
    one, other = (Quantity(value, 3.0, "Pa", (value,)) for value in (1010.0, 1000.0))
    found = change_of(one, other, "percent")
    assert found.value == pytest.approx(1.0)
    assert found.uncertainty == pytest.approx(101 * 3e-3 * (1 / 1.01**2 + 1) ** 0.5)


def test_what_is_of_two_meshes_cancels_no_better_where_there_are_three() -> None:
    finer = Quantity(1000.0, 40.0, "Pa", (1000.4, 1000.1, 1000.0))
    other = Quantity(1000.0, 0.1, "Pa", (1000.4, 1000.1, 1000.0))
    found = change_of(finer, other, "percent")
    assert found.value == 0.0
    assert found.uncertainty == pytest.approx(4.0 / 4, rel=1e-3)


def test_a_threshold_without_an_uncertainty_leaves_none_of_the_change() -> None:
    unknown = Quantity(950.0, None, "Pa", (950.2, 950.0))
    found = rows(register(2, 950.0, 243.0, mouth_pressure=unknown))[2]
    assert found["threshold_change_percent"] == pytest.approx(-5.0, abs=0.02)
    assert found["threshold_change_percent_uncertainty"] is None
    assert found["threshold_change_verdict"] == NO_UNCERTAINTY
