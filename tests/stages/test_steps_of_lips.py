"""What a case of a study with lips has besides: its steps, what makes them stale, its files."""

import os
from dataclasses import asdict, replace

import numpy as np
import pytest

from borestudy.files import FileError
from borestudy.mesh.unmeshed import mark_unmeshed
from borestudy.playing.lips import Lips
from borestudy.playing.load import Load
from borestudy.playing.steady import SteadyDrop
from borestudy.records import read_record
from borestudy.results.onset import OnsetResult
from borestudy.results.tone import ToneAtLevel, ToneResult
from borestudy.stages import tone as tone_module
from borestudy.stages.air import air_stage
from borestudy.stages.batches.failure import record_failure
from borestudy.stages.batches.keys import keys_of, stale_counts
from borestudy.stages.batches.one_case import without_kinds
from borestudy.stages.batches.record import CaseRecord, Failure, StepRecord
from borestudy.stages.batches.steps import KINDS, sources_of, steps_of
from borestudy.stages.batches.work import CaseWork
from borestudy.stages.jobs import RUN
from borestudy.stages.layout import Layout
from borestudy.stages.loads import CaseLoads, loads_stage, read_loads, save_loads
from borestudy.stages.onset import onset_stage
from borestudy.stages.tone import tone_stage
from borestudy.study import study_from_mapping

STUDY = {
    "bore": {"stations": "bore.csv"},
    "resonance": {"from": "500 Hz", "to": "16000 Hz", "points": 31, "behind": "closed"},
    "flow": {"rates": "0.005 L/s"},
    "mesh": {"resolution": "coarse"},
    "lips": {},
}
OF_LIPS = {"loads", "onset", "tone"}


@pytest.fixture
def layout(tmp_path, monkeypatch):
    """A layout of one small case, in a folder that has its air."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv(RUN, str(os.getpid()))
    (tmp_path / "bore.csv").write_text("position_mm,diameter_mm\n0,5\n4,4\n8,4\n20,5\n")

    def make(**changed):
        found = Layout(study_from_mapping(STUDY | changed, tmp_path, "one"), "results/one")
        for name, case in found.airs.items():
            air_stage(*case.air.values(), "", found.air_file(name))
        return found

    return make


def work_of(layout):
    (case,) = layout.cases.values()
    return CaseWork(layout, case, sources_of(layout))


def keys(layout, **sources):
    work = work_of(layout)
    return keys_of(replace(work, sources={**work.sources, **sources}), steps_of(layout))


def test_a_study_without_lips_has_none_of_their_steps(layout):
    assert not OF_LIPS & {*layout(lips=None).steps}
    assert layout().steps[-3:] == ["loads", "onset", "tone"]
    assert {*layout().steps} - OF_LIPS == {*layout(lips=None).steps}
    assert {*stale_counts(layout())} >= OF_LIPS


@pytest.mark.parametrize(
    ("changed", "stale"),
    [
        ({"lips": {"width": "9 mm"}}, {"onset", "tone"}),
        ({"lips": {"opening": "0.4 mm"}}, {"onset", "tone"}),
        ({"lips": {"mass_per_area": "3 kg/m2"}}, {"onset", "tone"}),
        ({"lips": {"quality_factor": 8}}, {"onset", "tone"}),
        ({"lips": {"set": 20}}, {"onset", "tone"}),
        ({"lips": {"register": 2}}, {"tone"}),
        ({"lips": {"soft": 1.3}}, {"tone"}),
        ({"lips": {"loud": 3}}, {"tone"}),
        ({"lips": {"sources": {"width": "measured by ourselves"}}}, set()),
        ({"keep": ["tables"]}, set()),
        ({"flow": {"rates": "0.006 L/s"}}, {"flow-estimate", "stream", *OF_LIPS}),
        ({"resonance": {**STUDY["resonance"], "points": 41}}, {"resonance"}),
        ({"resonance": {**STUDY["resonance"], "behind": "open"}},
         {"resonance", "stream", *OF_LIPS}),
    ],
)  # fmt: skip
def test_what_of_the_lips_is_changed_does_their_steps_again_alone(layout, changed, stale):
    before, after = keys(layout()), keys(layout(**changed))
    assert {name for name in before if before[name] != after[name]} == stale


def test_a_change_of_lips_is_told_to_the_workflow(layout):
    class Wildcards:
        batch = "0001"

    asked = {
        layout(**changed).asked_of_batch(Wildcards)
        for changed in ({}, {"lips": None}, {"lips": {"width": "9 mm"}})
    }
    assert len(asked) == 3


def made_up_loads():
    frequencies = np.array([100.0, 150.0, 225.0])
    shift = 1j * frequencies

    def load(correction):
        return Load(
            frequencies=frequencies,
            front=np.arange(12.0).reshape(3, 2, 2) + shift[:, None, None],
            behind=5 + shift,
            to_shank=6 - shift,
            correction=correction * shift,
            steady=SteadyDrop.of([1e-4, 2e-4], [100.0, 350.0], [2e6, 3e6]),
            throat_diameter=3.66e-3,
            density=1.18,
        )

    higher = SteadyDrop.of([1e-4, 2e-4], [101.0, 352.0], [2.1e6, 3.2e6])
    return CaseLoads((load(0.1), load(0.2)), higher, "air column, open", "said", 1000.0)


def test_what_lips_blow_into_is_read_as_it_was_written(tmp_path):
    asked = made_up_loads()
    save_loads(asked, tmp_path / "loads.npz")
    found = read_loads(tmp_path / "loads.npz")
    assert (found.behind, found.note, found.trusted_below) == ("air column, open", "said", 1000.0)
    assert len(found.loads) == 2
    for ours, theirs in zip(asked.loads, found.loads, strict=True):
        for name, value in asdict(ours).items():
            if name != "steady":
                assert np.array_equal(value, getattr(theirs, name))
    for steady, other in (
        (asked.loads[0].steady, found.loads[1].steady),
        (asked.higher, found.higher),
    ):
        assert np.array_equal(steady.drop([5e-5, 1.5e-4]), other.drop([5e-5, 1.5e-4]))
        assert np.array_equal(steady.slope([5e-5, 1.5e-4]), other.slope([5e-5, 1.5e-4]))
    file = tmp_path / "loads.npz"
    file.write_bytes(file.read_bytes()[:-100])
    with pytest.raises(FileError, match=r"loads\.npz.*not whole"):
        read_loads(file)


def test_a_bore_without_mesh_has_an_onset_and_a_tone_that_say_why(tmp_path):
    whole, loads = tmp_path / "two_port.npz", tmp_path / "loads.npz"
    mark_unmeshed([whole], "too thin")
    loads_stage(
        whole=whole, halves=(), solutions={}, bore="", termination="closed", air_column=None,
        output=loads,
    )  # fmt: skip
    onset_stage(loads=loads, own=Lips(), others=(), source="", results=tmp_path / "onset.json")
    tone_stage(
        loads=loads, onset=tmp_path / "onset.json", own=Lips(), register=4, soft=1.2, loud=2.5,
        source="", results=tmp_path / "tone.json",
    )  # fmt: skip
    assert read_record(tmp_path / "onset.json", OnsetResult).not_meshed == "too thin"
    assert read_record(tmp_path / "tone.json", ToneResult).not_meshed == "too thin"


def test_sounds_of_an_earlier_tone_do_not_stay(tmp_path, monkeypatch):
    save_loads(made_up_loads(), tmp_path / "loads.npz")
    (tmp_path / "tone-loud.wav").write_bytes(b"of another tone")
    from borestudy.records import write_record

    write_record(tmp_path / "onset.json", OnsetResult())
    level = ToneAtLevel(level="soft", times_threshold=1.2, mouth_pressure_Pa=1.0, validity="good")
    found = ToneResult(register=1, at_levels=(replace(level, sound="tone-soft.wav"),))
    monkeypatch.setattr(tone_module, "tone_result", lambda *_: (found, {"tone-soft.wav": b"RIFF"}))
    tone_stage(
        loads=tmp_path / "loads.npz", onset=tmp_path / "onset.json", own=Lips(), register=1,
        soft=1.2, loud=2.5, source="", results=tmp_path / "tone.json",
    )  # fmt: skip
    assert [path.name for path in tmp_path.glob("*.wav")] == ["tone-soft.wav"]
    assert (tmp_path / "tone-soft.wav").read_bytes() == b"RIFF"
    assert read_record(tmp_path / "tone.json", ToneResult).at_levels[0].sound == "tone-soft.wav"


def test_a_case_that_failed_has_stand_ins_that_say_why(layout):
    work = work_of(layout())
    work.home.mkdir(parents=True)
    record_failure(work, Failure(step="loads", kind="memory", words="not solved: no memory"))
    assert read_record(work.home / "onset.json", OnsetResult).not_meshed == "not solved: no memory"
    assert read_record(work.home / "tone.json", ToneResult).not_meshed == "not solved: no memory"
    assert "not solved: no memory" in (work.home / "loads.npz").read_text()


def test_sounds_are_a_kind_that_a_study_may_do_without(layout, tmp_path):
    assert "sounds" in layout().study.keep
    assert KINDS["sounds"] == ("tone-*.wav",)
    assert "tone-*.wav" in steps_of(layout())["tone"].files
    for name in ("tone.json", "tone-soft.wav"):
        (tmp_path / name).write_text("of a tone")
    done = StepRecord(
        key="", files={"tone.json": 9, "tone-soft.wav": 9}, wall_time_s=1, cpu_time_s=1,
        peak_memory_MB=1,
    )  # fmt: skip
    left = without_kinds(tmp_path, CaseRecord(steps={"tone": done}), ("tables", "meshes", "fields"))
    assert left.steps["tone"].files == {"tone.json": 9}
    assert left.steps["tone"].dropped == ("sounds",)
    assert not (tmp_path / "tone-soft.wav").exists()
