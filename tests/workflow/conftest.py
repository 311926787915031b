"""Snakemake on this repository's workflow, in a folder of its own."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

REPOSITORY = Path(__file__).resolve().parents[2]


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
        """Number of jobs of each rule that a run would start; empty where there is none."""
        ran = self("--dry-run", *arguments, **options)
        assert ran.returncode == 0, ran.stdout
        table = re.search(r"^job +count\n[- ]+\n(.*?)^total", ran.stdout, re.M | re.S)
        rows = table.group(1).split("\n") if table else []
        return {row.split()[0]: int(row.split()[1]) for row in rows if row.strip()}


@pytest.fixture
def snakemake(tmp_path):
    return Runner(tmp_path)
