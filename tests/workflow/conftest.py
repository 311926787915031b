"""Snakemake on this repository's workflow, in a folder of its own."""

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from borestudy.provenance import ROOT

REPOSITORY = Path(__file__).resolve().parents[2]

# A bore close to a pipe, blown softly: the smallest study that goes through every stage.
STATIONS = "position_mm,diameter_mm\n0,5\n4,4\n8,4\n20,5\n"
STUDY = """
question: Does the join matter?
bore: {stations: bore.csv}
vary: {join: [straight, smooth]}
resonance: {from: 500 Hz, to: 16000 Hz, points: 31, behind: closed}
flow: {rates: 0.005 L/s}
mesh: {resolution: coarse}
"""


class Runner:
    """Run Snakemake with its working directory, and so its results, in a folder."""

    def __init__(self, folder):
        self.folder = folder

    def __call__(self, *arguments, study=None, sources=None):
        """Run to the end; ``study`` is a study file, ``sources`` a folder that has borestudy."""
        command = [sys.executable, "-m", "snakemake", "--cores", "2", "--quiet", "rules",
                   "--snakefile", str(REPOSITORY / "Snakefile"),
                   "--directory", str(self.folder)]  # fmt: skip
        if study is not None:
            command += ["--configfile", str(study)]
        environment = os.environ | ({"PYTHONPATH": str(sources)} if sources else {})
        return subprocess.run(
            [*command, *arguments],
            cwd=self.folder,
            env=environment,
            text=True,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
        )

    def planned(self, *arguments, **options):
        """Number of jobs of each rule that a run would start; empty where there is none.

        Where cases were solved before, the steps to be done stand beside the rule `solve`.
        """
        ran = self("--dry-run", *arguments, **options)
        assert ran.returncode == 0, ran.stdout
        table = re.search(r"^job +count\n[- ]+\n(.*?)^total", ran.stdout, re.M | re.S)
        rows = table.group(1).split("\n") if table else []
        jobs = {row.split()[0]: int(row.split()[1]) for row in rows if row.strip()}
        told = re.search(r"^Steps of cases to be done: (.*)\.$", ran.stdout, re.M)
        steps = re.findall(r"([\w-]+) (\d+)", told.group(1)) if told else []
        assert bool(steps) <= ("solve" in jobs)
        return jobs | {step: int(count) for step, count in steps}


@pytest.fixture
def snakemake(tmp_path):
    return Runner(tmp_path)


def copy_sources(package, folder):
    """Copy the package into a folder from which Python may import it."""
    shutil.copytree(package, folder / "borestudy", ignore=shutil.ignore_patterns("__pycache__"))


@pytest.fixture(scope="session")
def finished(tmp_path_factory):
    """Folder, study file and output of one whole run, of a copy of the sources as they are."""
    folder = tmp_path_factory.mktemp("study")
    copy_sources(ROOT, folder / "sources")
    (folder / "bore.csv").write_text(STATIONS)
    study = folder / "small.yaml"
    study.write_text(STUDY)
    ran = Runner(folder)(study=study, sources=folder / "sources")
    assert ran.returncode == 0, ran.stdout
    return folder, study, ran.stdout


@pytest.fixture
def results(finished):
    return finished[0] / "results" / "small"
