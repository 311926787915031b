"""What is missing, damaged, another study's, or left by a run that was killed."""

import json
import os
import re
import shutil
import signal
import subprocess
import sys
import time

import pandas as pd
import pytest

from .conftest import REPOSITORY, STUDY, Runner

pytestmark = pytest.mark.xdist_group("one run of a small study")


@pytest.fixture
def copied(finished, tmp_path):
    """A copy of the finished run: its results, and how to run it again."""
    folder = tmp_path / "study"
    shutil.copytree(finished[0], folder, copy_function=shutil.copy2)

    def run(*arguments):
        study, sources = folder / "small.yaml", folder / "sources"
        return Runner(folder)(*arguments, study=study, sources=sources)

    return folder / "results" / "small", run


def documented(name):
    """Names of the first column of the table under a heading of results/README.md."""
    text = (REPOSITORY / "results" / "README.md").read_text()
    section = text.split(f"## {name}\n")[1].split("\n## ")[0] if name else text.split("\n## ")[0]
    cells = [line.split("|")[1] for line in section.splitlines() if line.startswith("| `")]
    return [entry for cell in cells for entry in re.findall(r"`([^`]+)`", cell)]


def test_a_study_asks_for_every_documented_file(snakemake):
    ran = snakemake("--dry-run", "--forcerun", "all", "--quiet", "host")
    inputs = re.search(r"rule all:\n +input: (.*)", ran.stdout).group(1).split(", ")
    home = "results/entry-rounding/"
    asked = {path.removeprefix(home) for path in inputs}
    for name in documented(None):
        if name != "cases/CASE/":
            assert name.rstrip("/") in asked, name


def test_a_case_has_every_documented_file_on_its_record(results):
    home = results / "cases" / "join-smooth"
    record = json.loads((home / "case.json").read_text())
    files = {file for step in record["steps"].values() for file in step["files"]}
    for name in documented("cases/CASE/"):
        if name == "case.json" or re.search("laminar|turbulent", name):
            continue  # the record itself, and solutions that others ask for
        pattern = re.escape(name.rstrip("/")).replace("N", r"\d+").replace(r"\*", "[^/]+")
        assert [file for file in files if re.fullmatch(pattern + "(/.*)?", file)], name


def test_a_deleted_table_is_made_again_by_the_same_command(copied):
    results, run = copied
    (results / "comparison.csv").unlink()
    ran = run()
    assert ran.returncode == 0, ran.stdout
    assert len(pd.read_csv(results / "comparison.csv")) == 2


def test_a_run_without_anything_to_do_ends_with_the_report(copied):
    _, run = copied
    ran = run()
    assert "Nothing to be done" in ran.stdout
    assert ran.stdout.splitlines()[-1] == "Report: results/small/report.html"
    for other in ("--dry-run", "--summary"):
        assert "Report:" not in run(other).stdout


def test_what_is_cut_short_or_deleted_is_made_again_and_nothing_else(copied):
    results, run = copied
    before = {path: (results / path).read_bytes() for path in ("comparison.csv", "flow.csv")}
    home = results / "cases" / "join-smooth"
    (home / "acoustics.json").write_bytes((home / "acoustics.json").read_bytes()[:1000])
    (home / "mesh" / "acoustics-1.msh").unlink()
    planned = run("--dry-run").stdout
    assert "Steps of cases to be done: mesh 1, resonance 1.\n" in planned
    steps = json.loads((home / "case.json").read_text())["steps"]
    ran = run()
    assert ran.returncode == 0, ran.stdout
    again = json.loads((home / "case.json").read_text())["steps"]
    assert [name for name in steps if steps[name] != again[name]] == ["mesh", "resonance"]
    for path, contents in before.items():
        assert (results / path).read_bytes() == contents


def test_the_folder_of_another_study_file_is_not_overwritten(copied):
    results, _ = copied
    folder = results.parent.parent
    other = folder / "mine" / "small.yaml"
    other.parent.mkdir()
    other.write_text(STUDY.replace("bore.csv", "../bore.csv"))
    run = Runner(folder)
    ran = run(study=other)
    assert ran.returncode != 0
    assert ran.stdout.strip().splitlines()[1:] == [
        "results/small holds the results of small.yaml; found mine/small.yaml, whose results "
        "would overwrite them; allowed is another file name, for example small-2.yaml"
    ]
    (folder / "small.yaml").unlink()
    assert run("--dry-run", study=other).returncode == 0  # the study file was moved


def test_jobs_end_with_a_snakemake_that_is_killed(tmp_path):
    (tmp_path / "bore.csv").write_text("position_mm,diameter_mm\n0,16\n10,4\n15,4\n80,9\n")
    (tmp_path / "study.yaml").write_text("bore: {stations: bore.csv}\nname: killed\n")
    command = [sys.executable, "-m", "snakemake", "results/study/verification/flow.csv",
               "--cores", "1", "--quiet", "all",
               "--snakefile", str(REPOSITORY / "Snakefile"), "--directory", str(tmp_path),
               "--configfile", str(tmp_path / "study.yaml")]  # fmt: skip
    log = tmp_path / "results/study/logs/verify_flow.log"
    with subprocess.Popen(command, cwd=tmp_path, start_new_session=True) as run:
        try:
            wait_until(log.is_file, 120)  # the job has begun, and takes many seconds
            jobs = jobs_writing(log)
            assert jobs
            os.kill(run.pid, signal.SIGKILL)
            run.wait()
            wait_until(lambda: not jobs_writing(log), 60)
        finally:
            os.killpg(run.pid, signal.SIGKILL) if jobs_writing(log) else None


def jobs_writing(log):
    """Processes whose output goes to a log."""
    found = []
    for process in os.listdir("/proc"):
        try:
            if process.isdigit() and os.readlink(f"/proc/{process}/fd/1") == str(log):
                found.append(int(process))
        except OSError:
            continue
    return found


def wait_until(holds, seconds):
    """Wait for something to hold, at most so long."""
    end = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < end, "it never held"
        time.sleep(0.1)
