"""Cases in batches: how they are divided, what makes a step stale, what is kept."""

import json
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from borestudy.stages.air import air_stage
from borestudy.stages.batches import one_case
from borestudy.stages.batches import run as batch
from borestudy.stages.batches.division import LEAST_BATCHES, MINUTES, divide
from borestudy.stages.batches.keys import keys_of, stale_counts
from borestudy.stages.batches.record import read_case_record
from borestudy.stages.batches.run import Bounds, run_batch
from borestudy.stages.batches.steps import KINDS, sources_of, steps_of
from borestudy.stages.batches.work import CaseWork
from borestudy.stages.jobs import RUN
from borestudy.stages.layout import Layout
from borestudy.study import study_from_mapping

STATIONS = "position_mm,diameter_mm\n0,5\n4,4\n8,4\n20,5\n"
STUDY = {
    "bore": {"stations": "bore.csv"},
    "vary": {"join": ["straight", "smooth"]},
    "resonance": {"from": "500 Hz", "to": "16000 Hz", "points": 31, "behind": "closed"},
    "flow": {"rates": "0.005 L/s"},
    "mesh": {"resolution": "coarse"},
}
AMPLE = Bounds(memory_MB=3000, seconds=600)
ALL = ["mesh", "two_port", "resonance", "flow-estimate", "stream"]


@pytest.mark.parametrize("count", [1, 2, 15, 16, 17, 100, 1000, 9999])
@pytest.mark.parametrize("minutes", [None, 0.2, 5.0, 1000.0])
def test_every_case_is_in_one_batch_in_order_and_batches_are_alike(count, minutes):
    names = [f"case-{number}" for number in range(count)]
    batches = divide(names, 7.0, minutes)
    assert [name for batch in batches.values() for name in batch] == names
    sizes = [len(batch) for batch in batches.values()]
    assert max(sizes) - min(sizes) <= 1
    assert list(batches) == sorted(batches)
    allowed = 60 * (MINUTES if minutes is None else minutes)
    assert max(sizes) == 1 or 7.0 * max(sizes) <= allowed


def test_a_few_cases_are_a_batch_each_and_many_fill_their_minutes():
    def sizes(count, minutes=None):
        return [len(one) for one in divide(range(count), 10.0, minutes).values()]

    assert sizes(LEAST_BATCHES) == LEAST_BATCHES * [1]
    assert len(sizes(40)) >= LEAST_BATCHES
    assert set(sizes(10_000)) == {17, 18}  # of 10 s, in three minutes
    assert len(sizes(24, 2.0)) == 2
    assert sizes(3, 0.01) == [1, 1, 1]


@pytest.fixture
def layout(tmp_path, monkeypatch):
    """A layout of two small cases, in a folder that has their air."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv(RUN, str(os.getpid()))  # which a batch sets, for its cases
    (tmp_path / "bore.csv").write_text(STATIONS)

    def make(**changed):
        found = Layout(study_from_mapping(STUDY | changed, tmp_path, "two"), "results/two")
        for name, case in found.airs.items():
            air_stage(*case.air.values(), "", found.air_file(name))
        return found

    return make


def solve(layout, names=None, bounds=AMPLE):
    """Run a batch of cases; its file and what became of it."""
    file = layout.batch_file("0001")
    names = names or list(layout.cases)
    ended = run_batch(layout, names, sources_of(layout), bounds, file)
    return ended, json.loads(Path(file).read_text()) if Path(file).exists() else None


def test_only_what_a_change_concerns_is_done_again_and_what_is_not_kept_is_not_there(layout):
    first = layout(keep=["tables"])
    assert stale_counts(first) == dict.fromkeys(ALL, 2)
    ended, told = solve(first)
    assert ended
    assert [one["failure"] for one in told["cases"].values()] == [None, None]
    assert stale_counts(first) == {}
    home = first.result("cases/join-smooth")
    left = {os.path.relpath(os.path.join(at, one), home)
            for at, _, files in os.walk(home) for one in files}  # fmt: skip
    assert not [one for one in left if one.endswith((".msh", ".vtu"))]
    assert {"bore.json", "two_port.npz", "acoustics.json", "flow-estimate.json"} <= left
    assert not os.path.exists(f"{home}/solved")
    # The bytes on record are those that are there.
    record = read_case_record(CaseWork(first, first.cases["join-smooth"], {}).home)
    for step in record.steps.values():
        for file, size in step.files.items():
            assert os.path.getsize(f"{home}/{file}") == size
    before = Path(home, "acoustics.json").read_text()
    # Another termination joins the same two-port, for which meshes are made again.
    open_end = layout(keep=["tables"], resonance={**STUDY["resonance"], "behind": "anechoic pipe"})
    assert stale_counts(open_end) == {"mesh": 2, "resonance": 2, "stream": 2}
    # What was not kept and now is to be is made again; nothing else was, until it is asked for.
    assert stale_counts(layout(keep=["tables", "meshes"])) == {"mesh": 2, "flow-estimate": 2}
    assert stale_counts(layout(keep=["tables", "fields"])) == {
        "mesh": 2, "resonance": 2, "flow-estimate": 2,
    }  # fmt: skip
    solve(open_end, ["join-smooth"])
    assert Path(home, "acoustics.json").read_text() != before
    assert stale_counts(open_end) == {"mesh": 1, "resonance": 1, "stream": 1}
    assert not os.path.exists(f"{home}/mesh/acoustics-0.msh")


def test_a_step_that_is_cut_off_leaves_no_record_of_what_it_was_before(layout, monkeypatch):
    first = layout(vary={"join": ["smooth"]})
    solve(first)
    assert stale_counts(first) == {}

    def cut_off(work):
        raise ValueError("cut off in the middle")

    cut = dict(steps_of(first))
    cut["resonance"] = replace(cut["resonance"], run=cut_off)
    monkeypatch.setattr(one_case, "steps_of", lambda _: cut)
    open_end = {**STUDY["resonance"], "behind": "anechoic pipe"}
    other = layout(vary={"join": ["smooth"]}, resonance=open_end)
    with pytest.raises(ValueError, match="cut off"):
        # As where the whole job is killed: nobody is left to put a failure on record.
        one_case.solve_case(CaseWork(other, other.cases["join-smooth"], sources_of(other)))
    # Whoever goes back to the first study cannot trust what is there now.
    assert stale_counts(layout(vary={"join": ["smooth"]})) == {"resonance": 1}


def test_a_key_is_of_settings_files_sources_and_what_it_builds_on(layout, tmp_path):
    def keys(found, sources=None):
        work = CaseWork(found, found.cases["join-smooth"], sources or sources_of(found))
        return keys_of(work, steps_of(found))

    base, found = layout(), keys(layout())
    assert keys(layout()) == found

    def changed(other):
        return {name for name in found if other[name] != found[name]}

    assert changed(keys(layout(flow={"rates": "0.006 L/s"}))) == {"flow-estimate", "stream"}
    assert changed(keys(layout(question="Why?", keep=["tables"]))) == set()
    assert changed(keys(layout(air={"temperature": "30 degC"}))) == {*ALL} - {"mesh"}
    longer = {**STUDY["resonance"], "points": 41}
    assert changed(keys(layout(resonance=longer))) == {"resonance"}
    assert changed(keys(base, sources_of(base) | {"two_port": "another"})) == {
        "two_port", "resonance", "stream",
    }  # fmt: skip
    (tmp_path / "bore.csv").write_text(STATIONS.replace("20,5", "21,5"))
    assert changed(keys(layout())) == {*ALL}


def test_kinds_of_files_are_those_that_the_steps_leave(layout):
    left = {pattern for step in steps_of(layout()).values() for pattern in step.files}
    meshes = {pattern for pattern in left if pattern.endswith(".msh")}
    assert all(pattern.startswith("mesh/") for pattern in meshes)
    assert KINDS["meshes"] == ("mesh/*.msh",)
    fields = {pattern for pattern in left if pattern.endswith(".vtu")}
    assert {pattern.split("/")[0].split("-")[0] for pattern in fields} == {
        pattern.split("/")[0].split("-")[0] for pattern in KINDS["fields"] if "vtu" in pattern
    }


def test_a_job_of_a_scheduler_ends_by_itself_before_its_time(monkeypatch):
    monkeypatch.setattr(batch.time, "monotonic", lambda: 1000.0)
    for name in batch.SCHEDULED:
        monkeypatch.delenv(name, raising=False)
    assert batch.bounds_of(1500, 10, 1, 20.0).end == float("inf")
    monkeypatch.setenv("SLURM_JOB_ID", "7")
    bounds = batch.bounds_of(1500, 10, batch.ATTEMPTS, 20.0)
    assert 1000 < bounds.end < 1000 + 600
    assert bounds.last
    assert not batch.bounds_of(1500, 10, 1, 20.0).last


def test_a_job_of_cases_does_not_wait_for_what_tables_and_figures_need():
    loaded = subprocess.run(
        [sys.executable, "-c", f"import sys, {batch.__name__}; print(*sys.modules)"],
        capture_output=True,
        text=True,
        check=True,
    ).stdout.split()
    assert "skfem" in loaded
    assert not {"pandas", "pyarrow", "matplotlib", "altair", "gmsh", "scipy.stats"} & {*loaded}
