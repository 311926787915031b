"""`borestudy run` from an installed wheel, in a folder that has nothing of the clone."""

import importlib.util
import json
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from .conftest import REPOSITORY, STATIONS, STUDY

ONE_CASE = STUDY.replace("vary: {join: [straight, smooth]}\n", "")


@pytest.fixture(scope="session")
def installed(tmp_path_factory):
    """Folder that Python may import the wheel of this repository from."""
    wheels = tmp_path_factory.mktemp("wheel")
    pip = [sys.executable, "-m", "pip", "--disable-pip-version-check", "--quiet"]
    # Without an environment of its own where what builds the wheel is there.
    here = ["--no-build-isolation"] if importlib.util.find_spec("hatchling") else []
    subprocess.run([*pip, "wheel", "--no-deps", *here, "-w", wheels, REPOSITORY], check=True)
    (wheel,) = wheels.glob("borestudy-*.whl")
    subprocess.run([*pip, "install", "--no-deps", "--target", wheels / "site", wheel], check=True)
    return wheels / "site"


class Command:
    """`borestudy` from the wheel, called in a folder of its own beside that of the study."""

    def __init__(self, installed, folder):
        self.installed, self.elsewhere = installed, folder / "elsewhere"
        self.study = folder / "studies" / "small.yaml"
        self.elsewhere.mkdir()
        self.study.parent.mkdir()
        self.study.write_text(ONE_CASE)
        (self.study.parent / "bore.csv").write_text(STATIONS)
        self.results = self.study.parent / "results" / "small"

    def start(self, *arguments):
        return subprocess.Popen(
            [sys.executable, "-m", "borestudy", *map(str, arguments)],
            cwd=self.elsewhere,
            env=os.environ | {"PYTHONPATH": str(self.installed)},
            text=True,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )

    def __call__(self, *arguments):
        child = self.start(*arguments)
        out, err = child.communicate()
        return child.returncode, out, err

    def written(self):
        return sorted(self.elsewhere.rglob("*")) + sorted(self.study.parent.rglob("*"))


@pytest.fixture
def command(installed, tmp_path):
    return Command(installed, tmp_path)


@pytest.fixture(scope="session")
def interrupted(installed, tmp_path_factory):
    """A run whose Snakemake was killed outright in the middle, and what the next one said."""
    command = Command(installed, tmp_path_factory.mktemp("anywhere"))
    child = command.start("run", "../studies/small.yaml", "--cores", "2")
    record = command.results / "cases" / "base" / "case.json"
    until = time.monotonic() + 300
    while not record.exists() and child.poll() is None and time.monotonic() < until:
        time.sleep(0.1)
    tasks = Path(f"/proc/{child.pid}/task/{child.pid}/children").read_text().split()
    (snakemake,) = map(int, tasks)
    os.kill(snakemake, signal.SIGKILL)
    child.communicate()
    locks = list((command.study.parent / ".snakemake" / "locks").glob("*"))
    made = json.loads(record.read_text())["steps"]
    return command, child.returncode, locks, made, command("run", "../studies/small.yaml")


def test_the_wheel_carries_its_own_workflow(command):
    words = "from borestudy.stages.running.options import workflow_folder as f; print(f())"
    found = subprocess.run(
        [sys.executable, "-c", words],
        env=os.environ | {"PYTHONPATH": str(command.installed)},
        cwd=command.elsewhere,
        capture_output=True,
        text=True,
        check=True,
    )
    assert Path(found.stdout.strip()) == command.installed / "borestudy" / "workflow_files"


def test_a_killed_run_goes_on_where_it_stopped_without_being_told_how(interrupted):
    command, code, locks, made, (second, _, told) = interrupted
    assert code == 1
    assert locks  # which Snakemake by itself would have stopped at
    assert second == 0, told
    again = json.loads((command.results / "cases" / "base" / "case.json").read_text())["steps"]
    assert made
    assert {step: again[step] for step in made} == made


def test_the_last_line_is_the_report_from_where_one_is(interrupted):
    command, *_, (_, out, _) = interrupted
    assert out == "Report: ../studies/results/small/report.html\n"
    assert (command.elsewhere / out.split()[-1]).stat().st_size > 10_000
    assert list(command.elsewhere.iterdir()) == []


def test_progress_tells_jobs_and_the_time_left(interrupted):
    *_, (_, _, told) = interrupted
    lines = told.splitlines()
    assert "jobs to do, about" in lines[0]
    assert lines[0].endswith("altogether")
    total = lines[0].split()[0]
    assert lines[-1] == f"{total} of {total} jobs done"
    # Which jobs run is told too where a line is written while one does.
    assert any(line.endswith(" left") or " left; now: " in line for line in lines)


def test_a_finished_study_is_told_at_once_and_as_json(interrupted):
    command = interrupted[0]
    code, out, told = command("run", "../studies/small.yaml", "--json")
    assert (code, told) == (0, "")
    assert json.loads(out) == {
        "study": "../studies/small.yaml",
        "results": "../studies/results/small",
        "report": "../studies/results/small/report.html",
        "exit_code": 0,
    }


def test_questions_are_answered_from_the_results_beside_the_study(interrupted):
    command = interrupted[0]
    code, out, told = command("sensitivities", "../studies/small.yaml")
    assert code == 0, told
    assert "(from ../studies/results/small/sensitivities.csv)" in out.splitlines()[0]


@pytest.mark.parametrize(
    ("change", "arguments", "message"),
    [
        (("rates: ", "rats: "), [], "flow.rats: unknown key; did you mean rates?"),
        (("bore.csv", "bohr.csv"), [], "bohr.csv"),
        (("0.005 L/s", "10 L/s"), [], "case base: flow.rates: found 10 L/s"),
        (None, ["--config", "flow={rates: 10 L/s}"], "case base: flow.rates: found 10 L/s"),
        (None, ["--configfile", "other.yaml"], "allowed is STUDY, for example borestudy run"),
        (
            None,
            ["--coers", "2"],
            "no option of borestudy run, nor of Snakemake; did you mean --",
        ),
        (None, ["--cores", "two"], "must be integer or 'all'; for example"),
        (None, ["--workflow-profile", "slrum"], "did you mean slurm? Allowed is kubernetes, lsf"),
    ],
)
def test_what_is_refused_is_told_once_with_exit_code_2(command, change, arguments, message):
    if change:
        command.study.write_text(ONE_CASE.replace(*change))
    before = command.written()
    code, out, told = command("run", command.study, *arguments)
    assert (code, out) == (2, "")
    assert told.count(message) == 1
    assert "Traceback" not in told
    if "--config" not in arguments:  # which Snakemake reads, in a folder of its own
        assert len(told.splitlines()) == 1
        assert command.written() == before
    assert not command.results.exists()


def test_results_go_where_they_are_asked_for(command):
    code, out, told = command("run", command.study, "--results", "mine", "-n", "--config",
                              "question=Why?")  # fmt: skip
    assert code == 0, told
    assert re.search(r"^ +output: report\.html", out, re.MULTILINE)
    assert not command.results.exists()
    assert (command.elsewhere / "mine").is_dir()


def test_a_study_is_not_run_twice_at_once(command):
    import fcntl

    folder = command.study.parent / ".snakemake"
    folder.mkdir()
    with open(folder / "borestudy-small.lock", "w") as lock:
        lock.write(
            '{"process": 4711, "begun": 1, "host": "node7", "since": "2026-01-02 03:04 UTC", '
            '"results": "results/small"}\n'
        )
        lock.flush()
        fcntl.flock(lock, fcntl.LOCK_EX)
        code, out, told = command("run", command.study)
    assert (code, out) == (1, "")
    assert "found another run of this study (process 4711 on node7, since 2026" in told
    assert len(told.splitlines()) == 1
