"""What is missing, damaged, another study's, or left by a run that was killed."""

import json
import os
import re
import shutil
import signal
import subprocess
import sys
import time
from fnmatch import fnmatch

import pandas as pd
import pytest

from borestudy.stages.batches.lips import STEPS_OF_LIPS

from .conftest import REPOSITORY, STUDY, Runner


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
    """Names under a heading of results/README.md, but for those of studies with lips alone."""
    text = (REPOSITORY / "results" / "README.md").read_text()
    section = text.split(f"## {name}\n")[1].split("\n## ")[0] if name else text.split("\n## ")[0]
    cells = [line.split("|")[1] for line in section.splitlines() if line.startswith("| `")]
    cells = [cell.split(", with lips ")[0] for cell in cells]
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
    patterns = [pattern for step in STEPS_OF_LIPS for pattern in step.files]
    names = documented("cases/CASE/")
    of_lips = {one for one in names if any(fnmatch(one, pattern) for pattern in patterns)}
    assert len(of_lips) == 5
    for name in names:
        if name == "case.json" or re.search("laminar|turbulent", name) or name in of_lips:
            continue  # the record itself, and what others ask for
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
    before = {path: pd.read_csv(results / path) for path in ("comparison.csv", "flow.csv")}
    home, other = (results / "cases" / f"join-{word}" for word in ("smooth", "straight"))
    for name in ("acoustics.json", "two_port.npz", "mesh/acoustics-1.msh"):
        (home / name).write_bytes((home / name).read_bytes()[:1000])
    (home / "mesh" / "estimate-0.msh").unlink()
    # Without a whole record nothing is known of the case.
    (other / "case.json").write_bytes((other / "case.json").read_bytes()[:1000])
    planned = run("--dry-run").stdout
    told = "mesh 2, two_port 2, resonance 2, flow-estimate 2, stream 1"
    assert f"Steps of cases to be done: {told}.\n" in planned
    steps = json.loads((home / "case.json").read_text())["steps"]
    ran = run()
    assert ran.returncode == 0, ran.stdout
    again = json.loads((home / "case.json").read_text())["steps"]
    assert [name for name in steps if steps[name] == again[name]] == ["stream"]
    assert "Nothing to be done" in run("--dry-run").stdout
    for path, table in before.items():
        # Rates that were kept are read again, with derivatives to the tolerance of their solves.
        pd.testing.assert_frame_equal(pd.read_csv(results / path), table, rtol=1e-8)


#: What fails a case as long as a file is there.
FAULT = """

_whole_stage = stream_stage


def stream_stage(**asked):
    if Path("fault").exists() and "join-smooth" in str(asked["results"]):
        raise ValueError("the slope has no sign")
    _whole_stage(**asked)
"""


def test_a_case_that_fails_is_named_everywhere_and_alone_tried_again(finished, tmp_path):
    folder = tmp_path / "study"
    shutil.copytree(finished[0], folder, copy_function=shutil.copy2)
    results = folder / "results" / "small"
    tables = {path.name: path.read_bytes() for path in results.glob("*.csv")}
    with open(folder / "sources" / "borestudy" / "stages" / "stream.py", "a") as source:
        source.write(FAULT)

    def run(*arguments):
        return Runner(folder)(*arguments, study=folder / "small.yaml", sources=folder / "sources")

    (folder / "fault").touch()
    ran = run()
    assert ran.returncode != 0
    line = "case join-smooth: stream: not solved: the slope has no sign"
    assert line in ran.stdout.splitlines()
    assert "Traceback" not in ran.stdout
    stream = pd.read_csv(results / "stream.csv")
    assert set(stream["case"]) == {"join-straight"}
    checks = pd.read_csv(results / "verification.csv").set_index("check")
    (failed,) = checks.index[checks["verdict"] == "fail"]
    assert failed == "case join-smooth"
    assert "the slope has no sign" in (results / "report.html").read_text()
    assert pd.read_csv(results / "comparison.csv")["resonance_Hz"].notna().all()
    # Asked again, that case alone is tried, and of it the step that failed.
    other = (results / "cases" / "join-straight" / "case.json").read_bytes()
    assert "Steps of cases to be done: stream 1.\n" in run("--dry-run").stdout
    (folder / "fault").unlink()
    ran = run()
    assert ran.returncode == 0, ran.stdout
    assert (results / "cases" / "join-straight" / "case.json").read_bytes() == other
    for name, contents in tables.items():
        if name not in ("benchmarks.csv", "costs.csv", "mesh_costs.csv"):
            assert (results / name).read_bytes() == contents, name


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
        "mine/small.yaml: results/small holds the results of small.yaml; found mine/small.yaml, "
        "whose results would overwrite them; allowed is another file name, for example small-2.yaml"
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
