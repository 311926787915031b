"""One run of a study at a time: who holds its results is told, and who is gone holds nothing."""

import errno
import fcntl
import json
import os
import signal
import socket
import subprocess
import sys
from dataclasses import asdict

import pytest

from borestudy.files import FileError
from borestudy.stages.running import locks

PROGRAM = """
import sys
from borestudy.stages.running.locks import hold_results
hold_results(sys.argv[1])
print("held", flush=True)
sys.stdin.read()
"""


@pytest.fixture
def base(tmp_path, monkeypatch):
    """The folder that is run in; what a test locks ends with it."""
    monkeypatch.chdir(tmp_path)
    held = []
    monkeypatch.setattr(locks, "_held", held)
    monkeypatch.setattr(locks.atexit, "register", lambda *call: None)
    yield tmp_path
    for file in held:
        file.close()


@pytest.fixture
def others():
    """Start processes that hold results until they are ended."""
    started = []

    def start(results):
        child = subprocess.Popen(
            [sys.executable, "-c", PROGRAM, results],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        started.append(child)
        assert child.stdout.readline() == "held\n"
        return child

    yield start
    for child in started:
        with child:
            child.kill()


def snakemake_lock(number, *files):
    """A lock as Snakemake writes it."""
    path = locks.SNAKEMAKE / "locks" / f"{number}.output.lock"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("\n".join(files) + "\n")
    return path


def test_the_same_results_are_computed_by_one_process_which_is_named(base, others):
    child = others("results/small")
    with pytest.raises(FileError) as caught:
        locks.hold_results("results/small")
    message = str(caught.value)
    assert message.startswith(f"{base}/results/small: found another run of this study (process ")
    assert f"process {child.pid} on {socket.gethostname()}, since 20" in message
    assert message.count("\n") == 0


def test_other_results_in_the_same_folder_are_free(base, others):
    others("results/small")
    locks.hold_results("results/other")
    names = {path.name for path in locks.SNAKEMAKE.glob("*.lock")}
    assert names == {"borestudy-small.lock", "borestudy-other.lock"}


@pytest.mark.parametrize("ending", [signal.SIGKILL, signal.SIGTERM, None])
def test_a_lock_ends_with_its_process_however_that_ends(base, others, ending):
    child = others("results/small")
    stale = snakemake_lock(0, "results/small/report.html")
    with child:  # whose input ends
        child.send_signal(ending) if ending else None
    text = (locks.SNAKEMAKE / "borestudy-small.lock").read_text()
    assert (text == "") == (ending is None)
    locks.hold_results("results/small")
    assert not stale.exists()


def test_what_asks_only_removes_stale_locks_and_holds_nothing(base, others):
    with others("results/small") as child:
        child.kill()
    stale = snakemake_lock(0, "results/small/report.html")
    locks.tidy_locks("results/small")
    assert not stale.exists()
    others("results/small")
    live = snakemake_lock(0, "results/small/report.html")
    locks.tidy_locks("results/small")
    assert live.exists()


def test_locks_of_a_live_run_and_of_other_workflows_stay(base, others):
    others("results/live")
    mine = snakemake_lock(0, "bore.csv", "results/small/cases.csv")
    theirs = snakemake_lock(1, "bore.csv", "results/live/cases.csv")
    foreign = snakemake_lock(2, "figures/sales.svg")
    validation = snakemake_lock(3, "results/validation/checks.csv")
    locks.hold_results("results/small")
    assert not mine.exists()
    # The live run may be the one that makes what all studies share.
    assert all(lock.exists() for lock in (theirs, foreign, validation))


def test_results_of_one_study_alone_hold_all_files_of_their_folder(base):
    stale = snakemake_lock(0, "report.html")
    elsewhere = snakemake_lock(1, "/data/bore.csv")
    locks.hold_results(".")
    assert not stale.exists()
    assert elsewhere.exists()


def without_locks(*_):
    raise OSError(errno.ENOLCK, os.strerror(errno.ENOLCK))


@pytest.mark.parametrize(
    ("change", "free"),
    [
        ({}, False),
        ({"begun": 1}, True),  # another process has the number now
        ({"host": "node7"}, False),  # which cannot be seen from here
    ],
)
def test_where_the_file_system_knows_no_locks_the_process_is_looked_for(
    base, others, monkeypatch, change, free
):
    others("results/small")
    path = locks.SNAKEMAKE / "borestudy-small.lock"
    found = locks.Holder(**json.loads(path.read_text()))
    path.write_text(json.dumps(asdict(found) | change))
    monkeypatch.setattr(fcntl, "flock", without_locks)
    if free:
        locks.hold_results("results/small")
    else:
        with pytest.raises(FileError, match="found another run of this study"):
            locks.hold_results("results/small")


def test_a_lock_that_is_cut_short_holds_nothing(base):
    path = locks.SNAKEMAKE / "borestudy-small.lock"
    path.parent.mkdir()
    path.write_text('{"process": 47')
    locks.hold_results("results/small")
    assert json.loads(path.read_text())["process"] == os.getpid()


def test_a_file_in_the_place_of_the_results_is_one_line(base):
    (base / "results").mkdir()
    (base / "results" / "small").write_text("")
    with pytest.raises(FileError, match=r"results/small: cannot be written \(File exists\)"):
        locks.hold_results("results/small")
