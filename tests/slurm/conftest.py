"""One Slurm, one run without it, and runs through it, for all tests of a session."""

import csv
import fcntl
import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pytest

from .one_node import OneNode, why_not

REPOSITORY = Path(__file__).resolve().parents[2]
#: The throat sweep, blown softly and on coarse meshes, which is a third of its time.
SWEEP = (REPOSITORY / "configs" / "throat-sweep.yaml").read_text()
SWEEP = SWEEP.replace('rates: "0.05, 0.1, 0.2, 0.3 L/s"', "rates: 0.05 L/s")
SWEEP = SWEEP[SWEEP.index("question:") :] + "mesh: {resolution: coarse}\n"
#: Every other drill of it, and those of a study that meets accidents.
DRILLS, FEWER = (30, 28, 26, 24, 22, 20), (30, 24, 20)
#: Profiles are for clusters with hundreds of jobs, which are asked about once in a while.
PROFILE = (
    "--workflow-profile", "slurm",
    "--slurm-init-seconds-before-status-checks", "1",
    "--seconds-between-status-checks", "1",
    "--slurm-delete-logfiles-older-than", "0",
)  # fmt: skip
#: Of so many minutes of cases the sweep is two jobs or more.
MINUTES = 0.25
#: Tables of how long jobs took.
OF_TIMES = ("benchmarks", "costs", "mesh_costs")
#: How long a run may take [s]: a few times what it takes on two busy processors.
LIMIT = 1200


def sweep_of(drills):
    """The sweep with other drills."""
    begin, end = SWEEP.index("    - drill"), SWEEP.index("resonance:")
    return SWEEP[:begin] + "".join(f"    - drill {drill}\n" for drill in drills) + SWEEP[end:]


class Study:
    """A study in a folder of its own, run with or without Slurm."""

    def __init__(self, folder, name, text, environment):
        self.folder, self.name, self.environment = folder, name, environment
        self.file = folder / f"{name}.yaml"
        self.file.write_text(text)
        self.results = folder / "results" / name

    def start(self, *options):
        """Begin a run."""
        said = open(self.folder / f"{self.name}.out", "w", encoding="utf-8")  # noqa: SIM115
        with said:
            return subprocess.Popen(
                [sys.executable, "-m", "borestudy", "run", self.file.name, *options],
                cwd=self.folder, env=self.environment, stdin=subprocess.DEVNULL,
                stdout=said, stderr=subprocess.STDOUT,
            )  # fmt: skip

    @property
    def said(self):
        """All that the run has said."""
        return (self.folder / f"{self.name}.out").read_text()

    def finish(self, run):
        """Wait for a run's end, and want it to have succeeded."""
        try:
            code = run.wait(LIMIT)
        finally:
            if run.poll() is None:
                run.terminate()
                run.wait(60)
        assert code == 0, self.said[-5000:]
        return self

    def run(self, *options):
        """A whole run."""
        return self.finish(self.start(*options))

    def tables(self, cases=None):
        """Text of every table that tells nothing of times, of some cases or of all, by its name."""
        found = {}
        for path in sorted(self.results.glob("*.csv")):
            if path.stem not in OF_TIMES:
                # Some begin with a byte order mark, for spreadsheets.
                rows = path.read_text(encoding="utf-8-sig").splitlines(keepends=True)
                header = next(csv.reader(rows))
                if cases is not None and "case" in header:
                    place = header.index("case")
                    body = [row for row in rows[1:] if next(csv.reader([row]))[place] in cases]
                    rows = [rows[0], *body]
                found[path.stem] = "".join(rows)
        return found

    def steps(self):
        """Steps that each case's record has, with keys and times."""
        return {
            path.parent.name: json.loads(path.read_text())["steps"]
            for path in self.results.glob("cases/*/case.json")
        }


@pytest.fixture(scope="session")
def node(tmp_path_factory):
    """A Slurm that is stopped when the tests have ended, however they end."""
    reason = why_not()
    if reason is not None:
        pytest.skip(f"no Slurm here: {reason}")
    # Slurm's own commands look in one place, which is the machine's.
    with open(Path(tempfile.gettempdir()) / "borestudy-slurm.lock", "w") as lock:
        end = time.monotonic() + LIMIT
        while True:
            try:
                fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
                break
            except BlockingIOError:
                assert time.monotonic() < end, "other tests keep a Slurm on this machine"
                time.sleep(1)
        slurm = OneNode(tmp_path_factory.mktemp("slurm") / "node")
        try:
            slurm.start()
            yield slurm
        finally:
            slurm.stop()


@pytest.fixture(scope="session")
def local(tmp_path_factory):
    """The sweep without Slurm."""
    return Study(
        tmp_path_factory.mktemp("local"), "drills", sweep_of(DRILLS), os.environ.copy()
    ).run("--cores", "2")


@pytest.fixture(scope="session")
def shared(tmp_path_factory):
    """Folder of all studies that go through Slurm, which verify once between them."""
    return tmp_path_factory.mktemp("shared")


@pytest.fixture(scope="session")
def through_slurm(node, shared):
    """The sweep through the shipped profile, from submission to report."""
    study = Study(shared, "drills", sweep_of(DRILLS), node.environment)
    return study.run(*PROFILE, "--config", f"minutes_per_job={MINUTES}")
