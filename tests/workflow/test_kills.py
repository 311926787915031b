"""Whatever is killed outright, the same command completes, does nothing twice and finds the same.

What is killed and when is drawn from a seed; when is told by how much there is of the results, so
that it does not depend on how fast the machine is.
"""

import json
import os
import random
import shutil
import signal
import subprocess
import sys
import time

import psutil
import pytest

from .conftest import REPOSITORY, STATIONS, STUDY

#: What is killed: a process that works, Snakemake alone, or both and all others with them.
VICTIMS = ("job", "snakemake", "everything")
#: Tables of how long things took.
TIMES = {"benchmarks.csv", "costs.csv", "mesh_costs.csv"}


class Killed:
    """A small study in a folder of its own, whose runs are killed."""

    def __init__(self, folder, finished, checks_kept=True):
        self.folder, self.results = folder, folder / "results" / "small"
        self.sources, self.reference = finished[0] / "sources", finished[0] / "results" / "small"
        folder.mkdir()
        (folder / "bore.csv").write_text(STATIONS)
        (folder / "small.yaml").write_text(STUDY)
        kept = finished[0] / "results" / "verification"
        if checks_kept and kept.is_dir():
            # Nothing of a study is in them, and they take longer than it does.
            shutil.copytree(kept, folder / "results" / "verification")

    def start(self, *targets):
        command = [sys.executable, "-m", "snakemake", *targets, "--cores", "2", "--quiet", "all",
                   "--snakefile", str(REPOSITORY / "Snakefile"), "--directory", str(self.folder),
                   "--configfile", "small.yaml"]  # fmt: skip
        return subprocess.Popen(
            command,
            cwd=self.folder,
            env=os.environ | {"PYTHONPATH": str(self.sources)},
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )

    def made(self):
        """Number of results that there are, none of them twice."""
        return sum(path.is_file() and path.suffix != ".log" for path in self.results.rglob("*"))

    def steps(self):
        """The steps that are on record of each case: their keys and what they took."""
        found = {}
        for path in self.results.glob("cases/*/case.json"):
            for name, step in json.loads(path.read_text())["steps"].items():
                times = {key: step[key] for key in ("key", "wall_time_s", "cpu_time_s")}
                found[path.parent.name, name] = times
        return found

    def killed(self, victim, amount, pause, draw, *targets):
        """Run, kill as soon as there are so many results, and wait for the end.

        The steps that were done by then; None where the run was complete before.
        """
        run = self.start(*targets)
        snakemake = psutil.Process(run.pid)
        try:
            while self.made() < amount and run.poll() is None:
                time.sleep(0.02)
            time.sleep(pause)
            jobs = []
            while victim == "job" and not jobs and run.poll() is None:
                jobs = snakemake.children(recursive=True)
            if run.poll() is not None:
                return None
            others = snakemake.children(recursive=True)
            if victim == "job":
                kill([draw.choice(jobs)])
            elif victim == "snakemake":
                kill([snakemake])
            else:
                kill([snakemake, *others])
            done = self.steps()
            run.communicate()
        finally:
            with run:
                run.kill()
        return done

    def completed(self, *targets):
        """Run to the end without a kill."""
        with self.start(*targets) as run:
            told = run.communicate()[0]
        assert run.returncode == 0, told

    def differing(self):
        """Names of tables and answers that are not byte by byte those of the undisturbed run."""
        names = {path.name for path in self.reference.glob("*.csv")} - TIMES
        assert {"comparison.csv", "flow.csv", "peaks.csv", "impedance.csv"} <= names
        return [
            name
            for name in sorted(names | {"answers.json"})
            if (self.results / name).read_bytes() != (self.reference / name).read_bytes()
        ]

    def left(self):
        """Unfinished files that nobody works on."""
        return [path for path in self.results.rglob(".*unfinished*") if path.is_file()]


def kill(processes):
    for process in processes:
        try:
            process.send_signal(signal.SIGKILL)
        except psutil.NoSuchProcess:
            continue


def amount(finished, until="report.html"):
    """Number of results that the undisturbed run had when it had made one of them."""
    results = finished[0] / "results" / "small"
    end = (results / until).stat().st_mtime
    files = [path for path in results.rglob("*") if path.is_file() and path.suffix != ".log"]
    return sum(path.stat().st_mtime < end for path in files)


def test_a_job_snakemake_and_everything_are_killed_and_the_same_command_completes(
    finished, tmp_path
):
    draw = random.Random(20260)
    study = Killed(tmp_path / "study", finished)
    # No more than the tables, since what follows them takes a third of the time of a run.
    tables = "results/small/comparison.csv"
    most = amount(finished, "comparison.csv")
    whens = sorted(draw.uniform(0.02, 0.95) * most for _ in VICTIMS)
    before = {}
    for victim, when in zip(draw.sample(VICTIMS, 3), whens, strict=True):
        done = study.killed(victim, when, draw.uniform(0, 0.5), draw, tables)
        assert done is not None
        assert {name: done[name] for name in before} == before
        before = done
    study.completed(tables)
    after = study.steps()
    assert {name: after[name] for name in before} == before
    assert study.differing() == []
    assert study.left() == []


@pytest.mark.long
@pytest.mark.parametrize("number", range(30))
def test_thirty_kills_at_random_leave_nothing_but_the_same_results(finished, tmp_path, number):
    draw = random.Random(1000 + number)
    # One run in ten makes its own checks of the meshes, which are then killed as well.
    study = Killed(tmp_path / "study", finished, checks_kept=number % 10 != 0)
    when = draw.uniform(0, 0.98) * amount(finished)
    before = study.killed(VICTIMS[number % 3], when, draw.uniform(0, 2), draw)
    assert before is not None
    study.completed()
    after = study.steps()
    assert {name: after[name] for name in before} == before
    assert study.differing() == []
    assert study.left() == []
    assert (study.results / "report.html").stat().st_size > 10_000
