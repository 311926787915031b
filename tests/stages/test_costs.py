"""What a study is expected to take, and what is told of a run."""

import io
import logging
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest

from borestudy.stages.layout import Layout
from borestudy.stages.plan import base_folder, results_folder
from borestudy.stages.running import costs
from borestudy.stages.running.costs import (
    SECONDS,
    expected_time,
    in_words,
    job_seconds,
    planned_jobs,
    recorded_seconds,
    time_left,
)
from borestudy.stages.running.options import only_answers, refuse_unknown, with_setting
from borestudy.stages.running.progress import OnlyProblems, Progress
from borestudy.stages.running.seconds import shipped_seconds
from borestudy.study import StudyError, load_study

CONFIGS = Path(__file__).parents[2] / "configs"


def layout(name):
    return Layout(load_study(CONFIGS / f"{name}.yaml"), f"results/{name}")


def test_jobs_that_wait_for_nothing_share_the_cores():
    seconds = {"a": 6.0, "b": 4.0, "c": 2.0}
    assert time_left(seconds, {}, 1) == 12
    assert time_left(seconds, {}, 2) == 6
    assert time_left(seconds, {}, 3) == 6


def test_a_chain_takes_its_sum_on_any_number_of_cores():
    seconds = {"a": 1.0, "b": 2.0, "c": 4.0}
    needs = {"b": {"a"}, "c": {"b"}}
    assert [time_left(seconds, needs, cores) for cores in (1, 2, 8)] == [7, 7, 7]


def test_what_has_ended_is_waited_for_no_more():
    assert time_left({"b": 2.0}, {"b": {"a"}}, 2) == 2
    assert time_left({}, {}, 2) == 0


def test_no_schedule_is_shorter_than_the_work_or_the_longest_chain():
    found = layout("entry-rounding")
    of_rule = job_seconds(found)
    needs = planned_jobs(found)
    seconds = {job: of_rule[job[0]] for job in needs}
    for cores in (1, 2, 4, 64):
        least = max(
            sum(seconds.values()) / cores,
            sum(of_rule[rule] for rule in ("air", "solve", "collate", "figures",
                                           "report", "verdict")),
        )  # fmt: skip
        assert least - 1e-9 <= time_left(seconds, needs, cores) <= 2 * least


def test_every_job_of_the_plan_has_a_recorded_cost_and_waits_for_jobs_of_the_plan():
    for name in ("entry-rounding", "wish", "measured"):
        needs = planned_jobs(layout(name))
        assert {rule for rule, _ in needs} - {"solve"} <= set(SECONDS)
        assert job_seconds(layout(name))["solve"] > 5
        assert set().union(*needs.values()) <= set(needs)


def test_the_studys_own_times_go_before_the_shipped_ones(tmp_path):
    found = layout("entry-rounding")
    assert recorded_seconds(tmp_path) == {}
    (tmp_path / "benchmarks.csv").write_text(
        "rule,case,wall_time_s,peak_memory_MB\nflow-estimate,a,100,1\nflow-estimate,b,300,1\n"
    )
    assert recorded_seconds(tmp_path) == {"flow-estimate": 200}
    assert expected_time(found, 2, tmp_path) > expected_time(found, 2) + 300
    assert job_seconds(found, tmp_path)["mesh"] == job_seconds(found)["mesh"]
    (tmp_path / "benchmarks.csv").write_text("rule,case,wall_t")
    assert recorded_seconds(tmp_path) == {}


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (3, "a few seconds"),
        (44, "about 40 s"),
        (100, "about 2 min"),
        (3000, "about 50 min"),
        (9000, "about 2.5 h"),
    ],
)
def test_a_time_is_told_no_more_exactly_than_it_is_known(seconds, words):
    assert in_words(seconds) == words


class Job(SimpleNamespace):
    __hash__ = object.__hash__


@pytest.fixture
def progress(monkeypatch):
    """Progress of a mesh and then a batch of one case, on a clock of our own."""
    clock = SimpleNamespace(now=0.0)
    monkeypatch.setattr("borestudy.stages.running.progress.time.monotonic", lambda: clock.now)
    jobs = [
        Job(jobid=1, rule=SimpleNamespace(name="mesh"), priority=0),
        Job(jobid=2, rule=SimpleNamespace(name="solve"), priority=5,
            params=SimpleNamespace(cases=["base"])),
    ]  # fmt: skip
    dag = SimpleNamespace(needrun_jobs=lambda: jobs, dependencies={jobs[0]: [], jobs[1]: [jobs[0]]})
    workflow = SimpleNamespace(dag=dag, cores=2)
    stream = io.StringIO()
    handler = Progress(workflow, layout("entry-rounding"), Path("results/none"), stream)

    def event(name, at=0.0, **facts):
        clock.now = at
        record = logging.makeLogRecord({"event": name, "levelno": logging.INFO, **facts})
        handler.handle(record)
        return stream.getvalue().splitlines()

    return handler, event


def test_a_run_that_is_slower_than_recorded_is_told_to_last_longer(progress):
    handler, event = progress
    (first,) = event("run_info")
    assert first == "2 jobs to do, about 20 s altogether"
    expected = handler.time_left()
    event("job_info", 0.0, jobid=1)
    mesh = SECONDS["mesh"]["medium"][0] + costs.EACH
    event("job_finished", 100 * mesh, job_id=1)
    assert handler.time_left() > 4 * (expected - mesh)


def test_lines_tell_what_is_done_and_what_is_running(progress):
    _, event = progress
    event("run_info")
    assert event("job_info", 20.0, jobid=1)[-1].startswith("0 of 2 jobs done, about ")
    assert event("job_finished", 40.0, job_id=1)[-1].startswith("1 of 2 jobs done")
    assert event("job_info", 60.0, jobid=2)[-1].endswith("now: base")
    lines = event("job_finished", 61.0, job_id=2)
    assert lines[-1] == "2 of 2 jobs done"
    assert event("job_finished", 90.0, job_id=0) == lines


def test_only_warnings_and_errors_of_snakemake_are_passed_on(progress):
    problems = OnlyProblems(progress[0])
    passed = [
        problems.filter(logging.makeLogRecord({"levelno": level}))
        for level in (logging.INFO, logging.WARNING, logging.ERROR)
    ]
    assert passed == [False, True, True]


@pytest.mark.parametrize(
    ("options", "answers"),
    [
        (["-n"], True), (["-np"], True), (["--dry-run"], True), (["--summary"], True),
        (["--cores", "2"], False), (["-j2"], False), (["--quiet", "rules"], False), ([], False),
    ],
)  # fmt: skip
def test_a_dry_run_is_told_from_one_that_computes(options, answers):
    assert only_answers(options) is answers


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        (["-n"], ["-n", "--config", "a=1"]),
        (["--config", "b=2", "-n"], ["--config", "a=1", "b=2", "-n"]),
        (["--config=b=2"], ["--config", "a=1", "b=2"]),
        (["-C", "c=3", "--config", "b=2"], ["-C", "c=3", "--config", "a=1", "b=2"]),
    ],
)
def test_a_setting_is_added_to_those_that_snakemake_takes(given, expected):
    assert with_setting(given, "a=1") == expected


@pytest.mark.parametrize(
    ("study", "base"),
    [
        ("mine.yaml", "."), ("studies/mine.yaml", "studies"), ("configs/mine.yaml", "."),
        ("/a/configs/mine.yaml", "/a"), ("/a/b/mine.yaml", "/a/b"),
    ],
)  # fmt: skip
def test_results_are_beside_the_study_or_beside_the_folder_of_studies(study, base):
    assert base_folder(Path(study)) == Path(base)


def test_a_folder_with_the_results_of_another_study_is_refused_from_anywhere(tmp_path):
    for name in ("one", "two"):
        (tmp_path / f"{name}.yaml").write_text("x")
    (tmp_path / "results" / "one").mkdir(parents=True)
    (tmp_path / "results" / "one" / "study-file.txt").write_text("two.yaml\n")
    with pytest.raises(StudyError, match=r"holds the results of .*two\.yaml; found .*one\.yaml"):
        results_folder(tmp_path / "one.yaml", base=tmp_path)
    with pytest.raises(StudyError, match=r"for example one-2\.yaml"):
        results_folder(tmp_path / "one.yaml", "results/one", base=tmp_path)
    assert results_folder(tmp_path / "two.yaml", base=tmp_path) == Path("results/two")
    assert results_folder(tmp_path / "two.yaml", "results/one", tmp_path) == Path("results/one")


def test_the_plainest_options_are_known_without_snakemake(monkeypatch):
    monkeypatch.setitem(sys.modules, "snakemake.cli", None)  # importing it fails
    for given in ([], ["-n"], ["--cores", "2"], ["-j2", "-k"], ["--cores=all"], ["--jobs", "all"]):
        refuse_unknown(given)
    for given in (["--cores", "two"], ["--cores", "2", "3"], ["two"], ["--retries", "2"]):
        with pytest.raises(ImportError):
            refuse_unknown(given)


def test_figures_of_many_cases_take_no_longer_than_of_those_that_are_shown():
    assert shipped_seconds("figures", "medium", 4, 10_000) == shipped_seconds(
        "figures", "medium", 4, 60
    )
    assert shipped_seconds("collate", "medium", 4, 10_000) > 500
