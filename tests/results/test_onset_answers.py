"""What is said of the start of a tone: by how much, where, and with how many of the lips."""

import re
from collections.abc import Callable, Sequence
from dataclasses import replace

import pytest

from borestudy.acoustics.result import AcousticResult
from borestudy.bore.measured.record import MeasurementRecord
from borestudy.quantity import Quantity
from borestudy.report.sentences.answers import answers
from borestudy.report.sentences.first import first_sentences
from borestudy.report.sentences.first.onset import onset_first, onset_sentences
from borestudy.report.sentences.onset import onset_answers, ranked_by_ease, registers_text
from borestudy.report.sentences.onset_limits import READINGS, of_onset
from borestudy.report.sentences.tone import tone_answers
from borestudy.report.sentences.validity import validity_sentences
from borestudy.results.case import CaseResults
from borestudy.results.onset import NO_TONE, OnsetResult
from borestudy.results.onset_changes import onset_changes_table
from borestudy.results.stream import NOT_QUASI_STEADY
from borestudy.results.tone import ToneResult

from .played import level, played, register, silent
from .test_first import NEEDS_EXPLANATION, SIZE

INSTRUMENT = AcousticResult(termination="air column of measured stations")
PIPE = AcousticResult(termination="anechoic pipe")
QUESTION = "Is a deeper cup easier to start?"
Factor = Callable[[int], float]


def case(
    depth: float,
    pressure: Factor = lambda number: 1.0,
    pitch: Factor = lambda number: 1.0,
    others: Callable[[int], Sequence[float | None]] = lambda number: (),
    behind: AcousticResult = INSTRUMENT,
) -> CaseResults:
    """A bore of registers 1 to 8, with factors on what the plain one has."""
    registers = [
        register(
            number,
            500.0 * number * pressure(number),
            120.0 * number * pitch(number),
            others(number),
            sounding_above_peak=Quantity(70.0 + number, 0.5, "cents"),
        )
        for number in range(1, 9)
    ]
    return played(f"{depth:g}", registers, varied={"cup_depth_mm": depth}, acoustics=behind)


PLAIN = case(9.0)
#: Easier from register 4 on, harder below 3, and in register 5 so for half of the lips.
DEEP = case(
    10.7,
    lambda number: 1 - 0.02 * (number - 3),
    lambda number: 1 - 0.001 * number,
    lambda number: [1.0] * 25 + [1.5] * 25 if number == 5 else [1.0] * 47 + [1.2] * 3,
)
SAME = case(9.5)
SHALLOW = case(8.0, lambda number: 1.03, lambda number: 1.01)


def test_the_section_opens_with_pressure_and_pitch_of_the_easiest_bore() -> None:
    pressure, pitch = onset_sentences([PLAIN, SHALLOW, DEEP, SAME])
    assert pressure.startswith("With cup depth 10.7 mm instead of 9 mm a tone takes less pressure")
    assert "in registers 4 and 6 to 8, most in register 8: 10.00 ± 0.12 % less" in pressure
    told = "so with 47 of 50 other lips; it takes more pressure in the mouth to start in register 2"
    assert told in pressure
    assert pressure.endswith("; in register 5 it depends on the lips.")
    assert pitch.startswith(
        "It starts at a lower pitch in registers 2 to 8, most in register 8: 14"
    )
    assert pitch.endswith(": 14 ± 2 cents lower, and so with 50 of 50 other lips.")


def test_a_bore_that_makes_it_harder_is_told_as_such() -> None:
    pressure, pitch = onset_sentences([PLAIN, SAME, SHALLOW])
    assert pressure.startswith(
        "No bore computed starts a tone with less pressure in the mouth; with"
    )
    assert "cup depth 8 mm instead of 9 mm a tone takes more pressure in the mouth" in pressure
    assert "3.00 ± 0.14 % more, and so with 50 of 50 other lips." in pressure
    assert pitch.startswith("It starts at a higher pitch")


def test_where_nothing_changes_the_largest_is_told_with_its_uncertainty() -> None:
    pressure, pitch = onset_sentences([PLAIN, SAME])
    nothing = "shows no change beyond the uncertainty: at most"
    assert f"{nothing} 0.00 ± 0.13 %, in register 2." in pressure
    assert f"{nothing} 0 ± 2 cents, in register 2." in pitch


def test_where_the_lips_do_not_agree_nothing_is_said_to_be_lower() -> None:
    torn = case(10.7, lambda number: 0.9, others=lambda number: [1.0] * 40 + [1.5] * 10)
    pressure, _ = onset_sentences([PLAIN, torn])
    assert "less" not in pressure
    assert "the pressure in the mouth at which a tone starts changes by −10.00 ± 0.12 %" in pressure
    assert pressure.endswith("but only 40 of 50 other lips go the same way.")
    few = case(10.7, lambda number: 0.9, others=lambda number: [1.0] * 17 + [None] * 33)
    assert onset_sentences([PLAIN, SAME, few])[0].endswith("but only 17 of 50 other lips sound.")
    same = case(9.5, others=lambda number: [1.0] * 40 + [1.5] * 10)
    assert onset_sentences([PLAIN, same])[0].endswith(", but with 10 of 50 other lips it does.")


def test_the_first_screen_answers_what_is_asked_with_one_number_a_sentence() -> None:
    cases = [PLAIN, SHALLOW, DEEP]
    told = first_sentences(cases, 0, QUESTION)
    assert [one.text for one in told[:2]] == onset_sentences(cases)
    assert len(told) == 3
    for one in told[:2]:
        assert len(SIZE.findall(one.text)) == 1
        assert not NEEDS_EXPLANATION.search(one.text)
    assert answers(cases, 0, QUESTION)[: len(cases) - 1] == onset_answers(cases)
    other = first_sentences(cases, 0, "Does a deeper cup lower the pitch?")
    assert [one.quantity for one in other] != [one.quantity for one in told]


def test_the_number_of_a_first_sentence_is_in_the_table() -> None:
    cases = [PLAIN, SHALLOW, DEEP]
    table = onset_changes_table(cases)
    for one in onset_first(cases):
        assert one.file == "onset_changes.csv"
        assert one.against == PLAIN.name
        number = int(one.quantity.rsplit(" ", 1)[1])
        row = table[(table["case"] == one.case) & (table["register"] == number)].iloc[0]
        assert row[one.column] == one.value
        assert row[f"{one.column}_numerical_uncertainty"] == one.numerical


def test_each_of_a_few_bores_has_its_sentence_and_of_many_the_ends() -> None:
    told = onset_answers([PLAIN, SAME, DEEP, SHALLOW])
    assert [text.split(" instead")[0] for text in told] == [
        "With cup depth 9.5 mm", "With cup depth 10.7 mm", "With cup depth 8 mm",
    ]  # fmt: skip
    assert "(3.600 ± 0.011 instead of 4.000 ± 0.012 kPa)" in told[1]
    assert (
        "it takes more pressure in the mouth to start in register 2: 2.00 ± 0.14 % more" in told[1]
    )
    assert "the threshold of register 8 would change by −10.00 ± 0.12 %" in told[1]
    many = [PLAIN, SAME, SHALLOW, DEEP, replace(SAME, name="again")]
    assert [one.name for one in ranked_by_ease(many)] == ["10.7", "9.5", "again", "8"]
    told = onset_answers(many)
    assert [text.split(" instead")[0] for text in told] == [
        "With cup depth 10.7 mm", "With cup depth 8 mm",
    ]  # fmt: skip


def test_without_an_instrument_the_tone_is_of_the_mouthpiece_on_its_own_pipe() -> None:
    cases = [case(9.0, behind=PIPE), case(10.0, lambda number: 0.9, behind=PIPE)]
    pressure, _ = onset_sentences(cases)
    assert "a tone of the mouthpiece on its own pipe takes less pressure" in pressure
    assert "in registers 1 to 8" in pressure
    assert "own pipe" not in " ".join(onset_sentences([PLAIN, DEEP]))


def test_of_a_single_bore_its_figures_are_told() -> None:
    toned = replace(PLAIN, tone=ToneResult(register=4))
    pressure, above = onset_sentences([toned])
    assert (
        "in register 4 at 2.000 ± 0.006 kPa of pressure in the mouth (with other lips" in pressure
    )
    assert "74.0 ± 0.5 cents above the resonance" in above
    figures = [(one.value, one.numerical, one.unit, one.column) for one in onset_first([toned])]
    threshold = PLAIN.onset.registers[3].mouth_pressure if PLAIN.onset else None
    assert threshold is not None
    assert figures == [
        (threshold.value, threshold.uncertainty, "Pa", "mouth_pressure_Pa"),
        (74.0, 0.5, "cents", "sounding_above_peak_cents"),
    ]
    told = onset_answers([toned])
    assert "1.000 ± 0.003 kPa in register 2 and 4.000 ± 0.012 kPa in register 8" in told[0]
    assert "72.0 ± 0.5 cents in register 2 and 78.0 ± 0.5 cents in register 8" in told[1]
    mute = played("mute", [silent(2)], acoustics=INSTRUMENT)
    assert "no tone starts within 20 kPa" in onset_sentences([mute])[0]


def test_a_study_without_lips_says_nothing_of_them() -> None:
    bare = [replace(one, onset=None) for one in (PLAIN, DEEP)]
    assert onset_sentences(bare) == onset_answers(bare) == tone_answers(bare) == []
    assert not [text for text in validity_sentences(bare) if "tone" in text]
    assert first_sentences(bare, 0, QUESTION)


def test_the_tone_is_compared_at_both_levels_with_whose_lips_it_is() -> None:
    base = ToneResult(
        register=4, at_levels=(level("soft", 466.0, 700.0), level("loud", 468.0, 1000.0))
    )
    ours = ToneResult(
        register=4, at_levels=(level("soft", 465.0, 707.0), level("loud", 468.0, 980.0))
    )
    told = tone_answers([replace(PLAIN, tone=base), replace(DEEP, tone=ours)])
    assert len(told) == 2
    soft, loud = told
    assert "with the study's own lips in register 4 at 1.2 times" in soft
    assert "is 1.0 ± 0.2 % higher in the cup" in soft
    assert "the pitch is 3.719 ± 0.005 cents lower." in soft
    assert "at 2.5 times" in loud
    assert "2.00 ± 0.14 % lower in the cup" in loud
    assert "the pitch is not different beyond the numerical uncertainty" in loud
    assert not re.search(r"bright|dark|warm|good|better", " ".join(told))


def test_what_limits_the_onset_is_said_once() -> None:
    beyond = "flow beyond the rates solved"
    registers = [register(2, 1000.0, 240.0), register(3, 2000.0, 360.0, validity=beyond),
                 register(4, 2000.0, 480.0, validity=f"{beyond}; {NOT_QUASI_STEADY}"),
                 silent(5)]  # fmt: skip
    one = played("one", registers)
    assert one.onset is not None
    noted = replace(one, onset=replace(one.onset, note="no air column: on its own pipe"))
    told = validity_sentences([noted, replace(noted, name="two")])
    assert f"Start of a tone, all bores: registers 3 and 4: {beyond}." in told
    assert f"Start of a tone, all bores: register 5: {NO_TONE}." in told
    assert [text for text in told if "all bores: register 4: the oscillation is too fast" in text]
    assert "Start of a tone, all bores: no air column: on its own pipe." in told
    assert sum("lips of one mass" in text for text in told) == 1
    assert READINGS not in list(of_onset(noted))
    measured = replace(noted, measurement=MeasurementRecord(file="readings.csv", findings=()))
    assert READINGS in list(of_onset(measured))


def test_a_tone_that_does_not_repeat_itself_is_said() -> None:
    silence = level("loud", 1.0, 1.0, validity="none")
    lost = ToneResult(register=4, note="of register 4", at_levels=(silence,))
    told = validity_sentences([replace(PLAIN, tone=lost)])
    assert "Tone, the bore: loud: none." in told
    assert "Tone, the bore: of register 4." in told


@pytest.mark.parametrize(
    ("numbers", "text"),
    [
        ([4], "register 4"),
        ([2, 3], "registers 2 and 3"),
        ([2, 3, 4, 7], "registers 2 to 4 and 7"),
        ([9, 2, 5, 6, 7], "registers 2, 5 to 7 and 9"),
    ],
)
def test_registers_are_told_in_runs(numbers: list[int], text: str) -> None:
    assert registers_text(numbers) == text


def test_an_onset_without_registers_says_nothing() -> None:
    empty = replace(PLAIN, onset=OnsetResult(note="not meshed"))
    assert onset_sentences([empty, empty]) == []


def test_the_direction_of_the_greatest_change_is_told_first() -> None:
    harder = case(11.0, lambda number: 1.3 if number == 2 else 0.98 if number > 6 else 1.0,
                  lambda number: 1.02 if number == 2 else 0.99 if number > 6 else 1.0)  # fmt: skip
    pressure, pitch = onset_sentences([PLAIN, harder])
    assert "a tone takes more pressure in the mouth to start in register 2: 30.0" in pressure
    assert "; it takes less pressure in the mouth to start in registers 7 and 8." in pressure
    assert pitch.startswith("It starts at a higher pitch in register 2: 34")
    assert pitch.endswith("; it starts at a lower pitch in registers 7 and 8.")


def test_lips_that_do_not_sound_are_told() -> None:
    sound = [1.0] * 30 + [None] * 20
    silent_ones = case(10.0, lambda number: 0.9, others=lambda number: sound)
    pressure, _ = onset_sentences([PLAIN, silent_ones])
    assert pressure.endswith("and so with 30 of the 30 other lips of 50 that sound.")
    few = case(10.0, lambda number: 0.9, others=lambda number: sound if number < 4 else
               [1.0] * 10 + [None] * 40)  # fmt: skip
    (told,) = onset_answers([PLAIN, few])
    assert "in registers 4 to 8 too few of the lips sound to tell" in told
    assert "too few" not in onset_sentences([PLAIN, few])[0]


def test_of_several_dimensions_only_those_that_differ_are_named() -> None:
    def of(depth: float, width: float, factor: float) -> CaseResults:
        found = case(depth, lambda number: factor)
        return replace(
            found,
            varied={"throat_diameter_mm": width, "cup_depth_mm": depth},
            name=f"{depth}{width}",
        )

    cases = [of(9.0, 3.6, 1.0), of(10.0, 3.6, 0.95), of(9.0, 3.8, 1.05)]
    assert onset_sentences(cases)[0].startswith("With cup depth 10 mm instead of 9 mm a tone")
    assert [text.split(" a tone")[0] for text in onset_answers(cases)] == [
        "With cup depth 10 mm instead of 9 mm", "With throat diameter 3.8 mm instead of 3.6 mm",
    ]  # fmt: skip


def test_where_several_dimensions_vary_alone_the_first_screen_tells_of_each() -> None:
    def of(name: str, depth: float, width: float, factor: float) -> CaseResults:
        varied = {"throat_diameter_mm": width, "cup_depth_mm": depth}
        return replace(case(depth, lambda number: factor), varied=varied, name=name)

    cases = [of("a", 9.0, 3.6, 1.0), of("b", 10.0, 3.6, 0.9), of("c", 9.0, 3.8, 1.05),
             of("d", 9.0, 3.7, 0.98), of("e", 10.0, 3.8, 0.95)]  # fmt: skip
    told = first_sentences(cases, 0, QUESTION)
    assert [(one.case, one.column) for one in told] == [
        ("b", "threshold_change_percent"),
        ("d", "threshold_change_percent"),
        ("b", "sounding_change_cents"),
    ]
    assert told[1].text.startswith(
        "With throat diameter 3.7 mm instead of 3.6 mm a tone takes less"
    )
    assert onset_sentences(cases) == [told[0].text, told[2].text]


def test_bores_without_any_tone_are_told_as_not_known() -> None:
    cases = [
        played(
            f"{one}", [silent(2)], varied={"cup_depth_mm": 9.0 + one, "length_mm": 88.0 - one % 2}
        )
        for one in range(4)
    ]
    told = first_sentences(cases, 0, QUESTION)
    assert "what the pressure in the mouth at which" in told[0].text
    assert "does is not known" in told[0].text
    assert told[0].value is None
    assert onset_answers(cases)
