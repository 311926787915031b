"""Profiles for clusters: what they say is understood, and PBS is told what a job asks for."""

import os
import re
import subprocess
import sys

import pytest
import yaml
from snakemake.cli import get_argument_parser

from borestudy.stages.running import options
from borestudy.stages.running.options import profile_path

from .conftest import REPOSITORY

PROFILES = REPOSITORY / "workflow" / "profiles"
NAMES = sorted(path.name for path in PROFILES.iterdir() if path.is_dir())
#: Settings of the plugin for Kubernetes, by its source of 2025; it is not among what tests install.
KUBERNETES = {"kubernetes-namespace", "kubernetes-persistent-volumes"}

RULES = """
rule all:
    input: "report.txt"

rule solve:
    output: "solved.txt"
    threads: 2
    resources:
        mem_mb=lambda wildcards, attempt: 700 * attempt,
        runtime=lambda wildcards, attempt: 61 * attempt,
    script: "solve.py"

rule collate:
    input: "solved.txt"
    output: "tables.txt"
    shell: "cp {input} {output}"

rule report:
    input: "tables.txt"
    output: "report.txt"
    shell: "cp {input} {output}"
"""
#: Killed at the first attempt, as by a machine without memory.
SOLVE = """
import os, signal
import numpy, threadpoolctl
if snakemake.resources.mem_mb == 700:
    os.kill(os.getppid(), signal.SIGKILL)
    os.kill(os.getpid(), signal.SIGKILL)
threads = {info["num_threads"] for info in threadpoolctl.threadpool_info()}
with open(snakemake.output[0], "w") as stream:
    print(os.environ["OPENBLAS_NUM_THREADS"], *sorted(threads), file=stream)
"""
#: PBS as the profile uses it: a job runs at once, and qstat tells its state as PBS does.
QSUB = """#!/bin/sh
cd {folder}
number=$(($(ls asked.* 2>/dev/null | wc -l) + 1))
echo "$@" >asked.$number
for script; do :; done
(sh "$script" >out.$number 2>&1 </dev/null; echo $? >ended.$number) >/dev/null 2>&1 &
echo "$number.server"
"""
QSTAT = """#!/bin/sh
for id; do :; done
[ "$1 $2" = "-x -f" ] || exit 1
echo "Job Id: $id"
if [ -f {folder}/ended.${{id%.server}} ]; then
    echo "    job_state = F"
    echo "    Exit_status = $(cat {folder}/ended.${{id%.server}})"
else
    echo "    job_state = R"
fi
"""


@pytest.mark.parametrize("name", NAMES)
def test_snakemake_knows_every_setting_of_a_profile(name):
    settings = yaml.safe_load((PROFILES / name / "config.yaml").read_text())
    known = {option.lstrip("-") for option in get_argument_parser()._option_string_actions}
    assert not set(settings) - known - KUBERNETES
    assert settings["retries"] == 2
    assert {"mem_mb=1500", "runtime=15"} <= set(settings["default-resources"])


@pytest.mark.parametrize(
    ("name", "plugin"),
    [
        ("slurm", "snakemake-executor-plugin-slurm"),
        ("pbs", "snakemake-executor-plugin-cluster-generic"),
        ("lsf", "snakemake-executor-plugin-lsf"),
        ("kubernetes", "snakemake-executor-plugin-kubernetes"),
    ],
)
def test_a_profile_without_its_plugin_is_told_what_to_install(name, plugin, monkeypatch):
    monkeypatch.setattr(options, "find_spec", lambda module: None)
    with pytest.raises(ValueError, match=re.escape(f"'borestudy[{name}]'")) as caught:
        profile_path(name)
    assert f"needed is {plugin}, " in str(caught.value)


def test_pbs_is_asked_for_what_jobs_need_and_a_killed_one_is_tried_with_more(tmp_path):
    """Through stand-ins for PBS's commands; the jobs themselves are Snakemake's."""
    (tmp_path / "Snakefile").write_text(RULES)
    (tmp_path / "solve.py").write_text(SOLVE)
    commands = tmp_path / "bin"
    commands.mkdir()
    for name, text in (("qsub", QSUB), ("qstat", QSTAT)):
        (commands / name).write_text(text.format(folder=tmp_path))
        (commands / name).chmod(0o755)
    ran = subprocess.run(
        [sys.executable, "-m", "snakemake", "--workflow-profile", str(PROFILES / "pbs"),
         "--seconds-between-status-checks", "1", "--latency-wait", "10"],
        cwd=tmp_path, env=os.environ | {"PATH": f"{commands}:{os.environ['PATH']}"},
        text=True, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, timeout=300,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stdout
    asked = [(tmp_path / f"asked.{number}").read_text() for number in (1, 2, 3)]
    for times, text in enumerate(asked[:2], start=1):
        assert f"-l select=1:ncpus=2:mem={700 * times}mb" in text
        assert f"-l walltime={61 * 60 * times} " in text
    # What is made of all cases is one job, with the memory of one of its rules and the time of all.
    assert "-l select=1:ncpus=1:mem=1500mb" in asked[2]
    assert not (tmp_path / "asked.4").exists()
    told, *threads = (tmp_path / "report.txt").read_text().split()
    assert told == "2"
    assert threads == ["2"] or os.cpu_count() == 1
