"""What the workflow would do, told without doing it."""

from collections import Counter

import pytest

from borestudy.stages.layout import Layout
from borestudy.stages.running.costs import planned_jobs
from borestudy.study import load_study

from .conftest import REPOSITORY

STUDY = """
question: How wide?
bore:
  length: 88 mm
  cup: {{diameter: 16.2 mm, depth: 10.8 mm}}
  throat: {{diameter: drill 27, length: 5 mm}}
  backbore: {{end_diameter: 9 mm}}
vary:
  throat.diameter: [{widths}]
"""


@pytest.fixture
def sweep(tmp_path):
    """A study file of so many throat diameters."""

    def write(count):
        path = tmp_path / "sweep.yaml"
        widths = ", ".join(f"{3.5 + 0.001 * index:.3f} mm" for index in range(count))
        path.write_text(STUDY.format(widths=widths))
        return path

    return write


def test_the_demonstration_is_planned_where_no_study_is_given(snakemake):
    jobs = snakemake.planned()
    assert jobs["solve"] == 5
    once = ("resolve", "air", "verify_acoustics", "verify_flow", "tolerances", "collate",
            "figures", "report", "verdict")  # fmt: skip
    assert {jobs[rule] for rule in once} == {1}


@pytest.mark.parametrize("study", ["entry-rounding", "measured", "wish", "chapter"])
def test_the_jobs_whose_time_is_told_beforehand_are_those_of_the_workflow(snakemake, study):
    path = REPOSITORY / "configs" / f"{study}.yaml"
    told = Counter(rule for rule, _ in planned_jobs(Layout(load_study(path), "results")))
    planned = snakemake.planned(study=path)
    assert planned.pop("all") == 1
    assert planned == told


@pytest.mark.parametrize(
    ("asked", "models"),
    [
        ("estimate", []),
        ("both", ["laminar", "turbulent"]),
        ("laminar", ["laminar"]),
        ("turbulent", ["turbulent"]),
    ],
)
def test_only_the_solutions_that_a_study_asks_for_are_solved(sweep, asked, models):
    path = sweep(1)
    path.write_text(f"{path.read_text()}flow: {{closure: {asked}}}\n")
    flows = [f"flow-{model}" for model in ("estimate", *models)]
    steps = Layout(load_study(path), "results").steps
    assert steps == ["mesh", "two_port", "resonance", *flows, "stream"]


def test_a_rule_runs_once_or_once_a_batch_of_cases(snakemake, sweep):
    # What a sweep of thousands of cases costs to plan is the number of its jobs.
    path = sweep(100)
    jobs = snakemake.planned(study=path)
    assert jobs.pop("solve") == 17  # of 5 or 6 cases, which take less than three minutes
    assert set(jobs.values()) == {1}
    # By the expected time alone: all of them in an hour.
    assert snakemake.planned("--config", "minutes_per_job=60", study=path)["solve"] == 1


def test_a_time_of_jobs_that_is_none_is_refused_in_a_line(snakemake, sweep):
    ran = snakemake("--dry-run", "--config", "minutes_per_job=soon", study=sweep(1))
    assert ran.returncode != 0
    assert ran.stdout.splitlines()[-1] == (
        "minutes_per_job: found 'soon'; allowed is a number of minutes from 0.1 to 1440, for "
        "example --config minutes_per_job=5"
    )


def test_results_are_named_after_the_study_file(snakemake, sweep):
    ran = snakemake("--dry-run", "--summary", study=sweep(1))
    assert "results/sweep/report.html" in ran.stdout
    assert "results/entry-rounding" not in ran.stdout


def test_a_study_is_not_mixed_with_the_demonstration(snakemake, tmp_path):
    (tmp_path / "bore.csv").write_text("position_mm,diameter_mm\n0,16\n10,4\n15,4\n80,9\n")
    study = tmp_path / "own.yaml"
    study.write_text("bore: {stations: bore.csv}\n")
    assert snakemake.planned(study=study)["solve"] == 1


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        (("depth: 10.8 mm", "depht: 10.8 mm"), "bore.cup.depht: unknown key; did you mean depth?"),
        (("depth: 10.8 mm", "depth: 100 mm"), "bore.cup.depth: found"),
        (("diameter: 16.2 mm", "diameter: 16.2 furlong"), "bore.cup.diameter: found"),
    ],
)
def test_a_mistake_in_a_study_ends_in_its_message_alone(snakemake, sweep, wrong, told):
    study = sweep(1)
    study.write_text(study.read_text().replace(*wrong))
    ran = snakemake("--dry-run", study=study)
    assert ran.returncode != 0
    assert told in ran.stdout
    assert "Traceback" not in ran.stdout
    assert "Error" not in ran.stdout


def test_two_study_files_at_once_are_refused(snakemake, sweep):
    study = sweep(1)
    ran = snakemake("--dry-run", "--configfile", str(study), str(study))
    assert ran.returncode != 0
    assert "allowed is one study file" in ran.stdout


@pytest.mark.parametrize("missing", ["none.yaml", "folder"])
def test_a_study_file_that_is_not_there_is_told_in_one_line(snakemake, tmp_path, missing):
    (tmp_path / "folder").mkdir()
    ran = snakemake("--dry-run", study=missing)
    assert ran.returncode != 0
    *before, last = ran.stdout.splitlines()
    assert last.startswith(f"--configfile: found '{missing}', and no such file")
    # Snakemake names the profile that it reads, and nothing else.
    assert all(line.startswith("Using workflow specific profile") for line in before)


@pytest.mark.parametrize(
    ("contents", "told"),
    [
        (b"", "study: found None; allowed is a mapping"),
        (b"- a\n", "study: found ['a']; allowed is a mapping"),
        (bytes(range(256)), "cannot be read (not a text in UTF-8)"),
        (b"bore: !!bool foo\n", "line 1: not YAML: found 'foo', which is no bool"),
        (b"bore: {length: 88 mm\nvary: 3\n", "line 2: not YAML: "),
        (b"bore: " + 3000 * b"[", "line 1: found values nested 21 deep"),
    ],
    ids=["nothing", "list", "bytes", "tag", "open bracket", "brackets"],
)
def test_a_study_file_that_snakemake_cannot_read_is_told_in_one_line(
    snakemake, tmp_path, contents, told
):
    (tmp_path / "study.yaml").write_bytes(contents)
    ran = snakemake("--dry-run", study="study.yaml")
    assert ran.returncode != 0
    *before, last = ran.stdout.splitlines()
    assert last.startswith("study.yaml")
    assert told in last
    assert "for example" in last
    assert all(line.startswith("Using workflow specific profile") for line in before)
