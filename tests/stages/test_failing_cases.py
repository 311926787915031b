"""A case that fails leaves the others alone, says why, and is the only one to be tried again."""

import json
import os
import signal
from pathlib import Path

import psutil
import pytest

from borestudy.files import FileError
from borestudy.mesh import EndedError, UnmeshedError
from borestudy.stages.air import air_stage
from borestudy.stages.batches import run as batch
from borestudy.stages.batches.record import read_case_record
from borestudy.stages.batches.run import Bounds, run_batch
from borestudy.stages.batches.steps import sources_of
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
FAILING, OTHER = "join-straight", "join-smooth"


@pytest.fixture
def layout(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv(RUN, str(os.getpid()))
    (tmp_path / "bore.csv").write_text(STATIONS)
    found = Layout(study_from_mapping(STUDY, tmp_path, "two"), "results/two")
    for name, case in found.airs.items():
        air_stage(*case.air.values(), "", found.air_file(name))
    return found


def refuse():
    raise ValueError("the iteration does not converge")


def fill_memory():
    blocks = []
    while True:
        blocks.append(b"x" * 50_000_000)


def go_on():
    while True:
        pass


def lose_gmsh():
    raise EndedError("gmsh was ended by SIGKILL, as the system does where memory runs out")


def fail_to_mesh():
    raise UnmeshedError("gmsh made no mesh of this bore")


def ended():
    os.kill(os.getpid(), signal.SIGKILL)


def run(layout, monkeypatch, failing, last):
    """Run a batch of two cases, of which one fails; whether it ended, and who was done."""
    done = Path("done")
    done.mkdir()

    def solve_case(work):
        if work.case.name == FAILING:
            failing()
        (done / work.case.name).touch()

    monkeypatch.setattr(batch, "solve_case", solve_case)
    memory = psutil.Process().memory_info().rss / 1e6 + 300
    bounds = Bounds(memory_MB=memory, seconds=1 if failing is go_on else 60, last=last)
    file, names = Path(layout.batch_file("0001")), list(layout.cases)
    whole = run_batch(layout, names, sources_of(layout), bounds, file)
    assert whole == file.exists()
    return whole, [path.name for path in done.iterdir()]


@pytest.mark.parametrize(
    ("failing", "kind", "words"),
    [
        (refuse, "error", "the iteration does not converge"),
        (fail_to_mesh, "error", "made no mesh of this bore"),
        (fill_memory, "memory", "out of memory"),
        (go_on, "time", "out of time"),
        (ended, "killed", "ended by SIGKILL"),
        (lose_gmsh, "killed", "gmsh was ended by SIGKILL"),
    ],
)
def test_a_failing_case_is_named_with_its_reason_and_the_others_go_on(
    layout, monkeypatch, capfd, failing, kind, words
):
    whole, done = run(layout, monkeypatch, failing, last=True)
    assert whole
    assert done == [OTHER]
    home = Path(layout.result(f"cases/{FAILING}"))
    failure = read_case_record(home).failure
    assert failure.kind == kind
    assert words in failure.words
    assert read_case_record(Path(layout.result(f"cases/{OTHER}"))).failure is None
    # Its results say the same, so that tables and report do.
    flow = json.loads((home / "flow-estimate.json").read_text())
    assert words in json.dumps(flow)
    recorded = json.loads(Path(layout.batch_file("0001")).read_text())["cases"]
    assert words in recorded[FAILING]["failure"]
    assert recorded[OTHER]["failure"] is None


@pytest.mark.parametrize("failing", [fill_memory, go_on, ended, lose_gmsh])
def test_what_more_memory_or_time_may_cure_is_tried_again(layout, monkeypatch, failing):
    whole, done = run(layout, monkeypatch, failing, last=False)
    assert not whole
    assert done == [OTHER]


def test_an_error_is_not_cured_by_more(layout, monkeypatch):
    assert run(layout, monkeypatch, refuse, last=False) == (True, [OTHER])


def test_a_full_disk_ends_the_batch_and_no_case_is_called_failing(layout, monkeypatch):
    def no_room():
        raise FileError("flow.json: cannot be written (No space left on device)")

    with pytest.raises(FileError, match="No space left on device"):
        run(layout, monkeypatch, no_room, last=True)
    assert read_case_record(Path(layout.result(f"cases/{FAILING}"))).failure is None
