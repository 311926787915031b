"""A study's settings reach a bore that is solved in the process."""

from pathlib import Path

import pytest

from borestudy.optimisation.solved import Question
from borestudy.stages.question import question_of
from borestudy.study import load_study

CONFIGS = Path(__file__).parents[2] / "configs"


def asked(name):
    study = load_study(CONFIGS / name)
    return study, question_of(study, study.cases()[0].build_air())


def test_every_setting_of_a_study_that_a_bore_is_asked_with_is_the_studys():
    study, question = asked("overall-length.yaml")
    assert question.frequency_range == (50.0, 1600.0)
    assert question.termination == "air column"
    assert question.air_column == CONFIGS / "air-column.csv"
    assert question.fundamental == 116.5
    assert question.rates == pytest.approx([0.05e-3, 0.1e-3, 0.2e-3])
    assert question.air == study.cases()[0].build_air()
    assert asked("nozzle-benchmark.yaml")[1].inlet == "developed"


def test_a_study_without_settings_of_its_own_asks_as_a_question_does():
    study, question = asked("entry-rounding.yaml")
    rates = tuple(study.flow_rates())
    assert question == Question(air=question.air, rates=rates)
