"""A study's wish from its words to its files, and a run that goes on where it was interrupted."""

from dataclasses import replace

import pandas as pd
import pytest

from borestudy.records import read_record, write_record
from borestudy.results.case import CaseResults
from borestudy.results.wishes import WishResult
from borestudy.stages import wish as stage
from borestudy.stages.layout import Layout
from borestudy.stages.question import question_of
from borestudy.study import study_from_mapping

STUDY = {
    "bore": {
        "length": "70 mm",
        "cup": {"diameter": "16.2 mm", "depth": "10.8 mm", "shape": 0.6},
        "throat": {"diameter": "drill 27", "length": "5 mm", "entry": "rounded 0.5 mm"},
        "backbore": {"end_diameter": "9 mm"},
    },
    "flow": {"rates": "0.2 L/s"},
    "mesh": {"resolution": "coarse"},
    "wish": {
        "change": {"resonance": "+20 cents"},
        "keep": {"throat volume": "within 6 %"},
        "free": {
            "throat.diameter": {"from": "drill 28", "to": "drill 22", "sizes": "drill"},
            "cup.depth": {"from": "9 mm", "to": "13 mm"},
        },
    },
}
SOURCE = "0123456789abcdef"


@pytest.fixture(scope="module")
def study():
    return study_from_mapping(STUDY, name="small")


@pytest.fixture(scope="module")
def question(study):
    """What the study asks, of sound alone and on coarser meshes than a study may have."""
    (case,) = study.cases()
    return replace(question_of(study, case.build_air()), rates=(), resolution="draft")


@pytest.fixture(scope="module")
def whole(study, question, tmp_path_factory):
    kept = stage.KeptSolves(tmp_path_factory.mktemp("whole"), question, SOURCE)
    return stage.wish_result(study, kept), kept


def test_the_wish_is_met_on_a_drill_with_its_words(whole):
    result, kept = whole
    best = result.returned[0]
    assert best.met
    throat, depth = best.dimensions
    assert throat.tool.startswith("drill ")
    assert (depth.unit, depth.tool) == ("mm", None)
    assert kept.solved == len(result.path) <= 12
    assert kept.reused == 0
    quantities = {one.quantity: one for one in best.quantities}
    assert quantities["resonance"].wish == "+20 cents"
    assert abs(quantities["resonance"].change - 20) <= 1
    assert abs(quantities["throat volume"].change) <= 6
    assert quantities["resonance Q"].wish == ""


def test_an_interrupted_run_goes_on_with_what_it_solved(
    study, question, whole, tmp_path, monkeypatch
):
    solved = []

    def interrupted(*arguments):
        if len(solved) == 2:
            raise KeyboardInterrupt
        solved.append(arguments)
        return solve(*arguments)

    solve = stage.solve_case
    monkeypatch.setattr(stage, "solve_case", interrupted)
    with pytest.raises(KeyboardInterrupt):
        stage.wish_result(study, stage.KeptSolves(tmp_path, question, SOURCE))
    monkeypatch.setattr(stage, "solve_case", solve)
    again = stage.KeptSolves(tmp_path, question, SOURCE)
    assert stage.wish_result(study, again) == whole[0]
    assert (again.reused, again.solved) == (2, len(whole[0].path) - 2)
    # A third run solves nothing, and one of other sources or settings everything.
    third = stage.KeptSolves(tmp_path, question, SOURCE)
    stage.wish_result(study, third)
    assert (third.reused, third.solved) == (len(whole[0].path), 0)
    bore, free = study.cases()[0].build_bore(), study.cases()[0].dimensions()
    for other in (
        stage.KeptSolves(tmp_path, question, "another source"),
        stage.KeptSolves(tmp_path, replace(question, walls="plain"), SOURCE),
    ):
        other.solve(bore, free[:1], ())
        assert (other.reused, other.solved) == (0, 1)


def test_a_kept_solve_that_is_cut_short_is_solved_again(question, study, tmp_path):
    kept = stage.KeptSolves(tmp_path, question, SOURCE)
    bore = study.cases()[0].build_bore()
    kept.solve(bore, [], ())
    (path,) = tmp_path.glob("*.json")
    path.write_bytes(path.read_bytes()[:500])
    kept.solve(bore, [], ())
    assert (kept.reused, kept.solved) == (0, 2)
    assert read_record(path, CaseResults).resonances


def test_results_of_a_case_are_read_as_they_were_written(question, study, tmp_path):
    """With flow, since a search goes on from what is read as from what was solved."""
    case = study.cases()[0]
    free = [one for one in case.dimensions() if one.key == "throat.diameter"]
    with_flow = replace(question, rates=(0.1e-3,))
    found = stage.solve_case("case", case.build_bore(), free, with_flow)
    write_record(tmp_path / "case.json", found)
    read = read_record(tmp_path / "case.json", CaseResults)
    assert read.resonances == found.resonances
    assert read.rates[0].quantity("pressure_drop") == found.rates[0].quantity("pressure_drop")
    assert read.rates[0].model_error == found.rates[0].model_error
    assert read.rates[0].figures.by_dimension == found.rates[0].figures.by_dimension
    assert read.flow.passage == found.flow.passage
    assert read.dimensions == tuple(found.dimensions)


def test_the_stage_writes_record_and_table(study, question, tmp_path, monkeypatch):
    monkeypatch.setattr(stage, "question_of", lambda study, air: question)
    record, table = tmp_path / "wish" / "wish.json", tmp_path / "wishes.csv"
    stage.wish_stage(study, question.air, SOURCE, tmp_path / "wish" / "solved", record, table)
    found = read_record(record, WishResult)
    assert found.provenance.source_hash == SOURCE
    rows = pd.read_csv(table)
    assert set(rows["bore"]) == {one.name for one in found.returned}
    assert len(rows) == sum(len(one.dimensions) + len(one.quantities) for one in found.returned)


def test_only_a_study_with_a_wish_asks_for_its_files(study):
    without = {key: value for key, value in STUDY.items() if key != "wish"}
    asked = Layout(study, "results/small").documented()
    plain = Layout(study_from_mapping(without, name="small"), "results/small").documented()
    assert set(asked) - set(plain) == {"results/small/wishes.csv", "results/small/wish/wish.json"}


def test_the_settings_of_the_wish_are_a_study_with_the_same_wish(study):
    again = study_from_mapping(Layout(study, "results/small").wish_settings(), name="small")
    assert again.asked() == study.asked()
    assert again.resolved() == study.resolved()
