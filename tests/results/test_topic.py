"""A study that asks about pitch opens with pitch, and one that asks about air with the flow."""

import re
from pathlib import Path

import pytest

from borestudy.report.sentences.answers import answers
from borestudy.report.topic import FLOW, RESONANCE, Sentences, topic_of
from borestudy.results.case import CaseResults, varied_columns
from borestudy.study import load_study

from .conftest import make_case

CONFIGS = Path(__file__).parents[2] / "configs"


@pytest.mark.parametrize(
    ("question", "topic"),
    [
        ("Does a shorter mouthpiece raise the pitch?", RESONANCE),
        ("Where does the resonance go, and what does it cost in flow?", RESONANCE),
        ("What does the flow resistance gain, and the resonance lose?", FLOW),
        ("Does it play in tune with this air column?", RESONANCE),
        ("Is the intonation of the upper notes better?", RESONANCE),
        ("Is it freer blowing?", FLOW),
        ("Does it take more air?", FLOW),
        ("HOW FAR DO THE PEAKS MOVE?", RESONANCE),
    ],
)
def test_the_first_word_that_names_a_topic_decides(question: str, topic: str) -> None:
    for column in ("throat_diameter_mm", "length_mm"):  # whatever is varied
        assert topic_of(question, [column]) == topic


@pytest.mark.parametrize(
    ("columns", "topic"),
    [
        (["length_mm", "cup_depth_mm"], RESONANCE),
        (["cup_shape"], RESONANCE),
        (["air_temperature_degC"], RESONANCE),
        (["entry_radius_mm"], FLOW),
        (["entry"], FLOW),
        (["throat_diameter_mm", "cup_depth_mm"], FLOW),
        ([], RESONANCE),
    ],
)
def test_a_question_that_names_neither_leaves_it_to_what_is_varied(
    columns: list[str], topic: str
) -> None:
    assert topic_of("Is it worth it?", columns) == topic


@pytest.mark.parametrize(
    ("name", "topic"),
    [
        ("entry-rounding", FLOW),
        ("throat-sweep", RESONANCE),  # its question names the resonance first
        ("cup-shape", RESONANCE),
        ("overall-length", RESONANCE),
        ("entry-by-throat", FLOW),
    ],
)
def test_each_study_opens_with_what_it_asks(name: str, topic: str) -> None:
    study = load_study(CONFIGS / f"{name}.yaml")
    instrument = {"termination": "air column"} if name == "overall-length" else {}
    cases = [
        make_case(
            case.name,
            case.varied_columns(),
            frequencies=[(850.0 - index) * number for number in range(1, 13)],
            resistance=100 - index,
            **instrument,
        )
        for index, case in enumerate(study.cases())
    ]
    opening = answers(cases, 0, study.question)[0]
    places = {RESONANCE: opening.find(" cents "), FLOW: opening.find("flow resistance")}
    assert places.pop(topic) >= 0
    assert all(place < 0 for place in places.values())
    assert topic_of(study.question, varied_columns(cases)) == topic


def opening_topics(cases: list[CaseResults], question: str) -> list[str]:
    """What is named first and what second, over all answers."""
    text = " ".join(answers(cases, 0, question))
    sound = re.search(r"\b(?:first resonance|pitch)\b", text)
    flow = text.find("flow resistance")
    assert sound is not None
    return [RESONANCE, FLOW] if sound.start() < flow else [FLOW, RESONANCE]


@pytest.mark.parametrize(
    "varied",
    [
        [{}],
        [{"length_mm": 88.0}, {"length_mm": 82.0}],
        [{"join": "straight"}, {"join": "smooth"}],
        [{"join": word} for word in "abcdef"],
        [{"length_mm": a, "cup_depth_mm": b} for a in (88.0, 82.0) for b in (9.0, 10.0)],
        [{"length_mm": 88.0, "cup_depth_mm": 9.0}, {"length_mm": 82.0, "cup_depth_mm": 8.0}],
        [
            {"entry": "square", "entry_radius_mm": 0.0},
            {"entry": "rounded 1 mm", "entry_radius_mm": 1.0},
        ],
    ],
    ids=["single", "numbers", "words", "many words", "grid", "pairs", "entries"],
)
def test_every_kind_of_study_opens_with_either_topic(
    varied: list[dict[str, float | str | None]],
) -> None:
    cases = [
        make_case(str(index), values, frequencies=[800.0 + index], resistance=100.0 - index)
        for index, values in enumerate(varied)
    ]
    assert opening_topics(cases, "What of the pitch?") == [RESONANCE, FLOW]
    assert opening_topics(cases, "What of the resistance?") == [FLOW, RESONANCE]


def test_of_many_words_the_ends_of_the_topic_are_shown() -> None:
    cases = [
        make_case(word, {"join": word}, frequencies=[frequency], resistance=resistance)
        for word, frequency, resistance in (
            ("a", 800.0, 100.0), ("low", 790.0, 100.5), ("c", 801.0, 101.0),
            ("easy", 802.0, 90.0), ("hard", 803.0, 110.0), ("high", 810.0, 100.2),
        )
    ]  # fmt: skip
    found = {
        question: [
            found[1]
            for sentence in answers(cases, 0, question)
            if (found := re.match(r"With join (\w+)", sentence))
        ]
        for question in ("pitch", "resistance")
    }
    assert found == {"pitch": ["low", "high"], "resistance": ["easy", "hard"]}


def test_nothing_is_lost_by_the_order() -> None:
    told = Sentences(["a"], ["b", "c"])
    assert told.opening_with(RESONANCE) == ["a", "b", "c"]
    assert told.opening_with(FLOW) == ["b", "c", "a"]
