"""The workflow through Slurm: the same tables, whatever happens to a job or to the node."""

import os
import signal
from contextlib import suppress

import pytest

from borestudy.stages.layout import Layout
from borestudy.stages.running.resources import memory_MB, minutes
from borestudy.study import load_study

from .conftest import FEWER, MINUTES, PROFILE, Study, sweep_of

#: States of jobs that have ended otherwise than by success.
UNSUCCESSFUL = ("failed", "cancelled", "node_fail", "timeout", "out_of_memory")


def of_solving(jobs):
    """Those of some jobs that solve cases, by their comments."""
    return {job: words for job, words in jobs.items() if words.startswith("rule_solve")}


@pytest.fixture(scope="session")
def disturbed(node, shared, through_slurm):
    """A study with a job that was killed with its first case begun, and a node that was drained.

    Returns
    -------
    Study, the killed job's number, what the cases had done then, jobs that waited for the node.
    """
    study = Study(shared, "disturbed", sweep_of(FEWER), node.environment)
    run = study.start(*PROFILE, "--config", "minutes_per_job=0.1")
    try:
        node.wait_for("a case begun", lambda: study.steps() or run.poll() is not None, 300)
        job = next(iter(of_solving(node.jobs("running"))))
        done = study.steps()
        for number in node.processes(job):
            with suppress(ProcessLookupError):
                os.kill(number, signal.SIGKILL)
        node.wait_for("the job's end", lambda: job in node.jobs(*UNSUCCESSFUL))
        node.set_node("drain")
        node.wait_for("a drained node", lambda: node.node_state() == "drained", 300)
        node.wait_for("jobs that wait for it", lambda: node.jobs("pending"), 300)
        waiting = node.jobs("pending")
    finally:
        node.set_node("resume")
    return study.finish(run), job, done, waiting


def test_the_sweep_through_slurm_has_the_tables_of_a_local_run_bit_by_bit(local, through_slurm):
    assert len(local.tables()) > 10
    assert through_slurm.tables() == local.tables()


def test_the_sweep_through_slurm_ends_with_its_report(local, through_slurm):
    assert through_slurm.said.splitlines()[-1] == "Report: results/drills/report.html"
    for name in ("report.html", "comparison.tex", "answers.json"):
        made, expected = (study.results / name for study in (through_slurm, local))
        assert made.stat().st_size > 0.9 * expected.stat().st_size
    assert (through_slurm.results / "verdict.txt").read_bytes() == (
        local.results / "verdict.txt"
    ).read_bytes()


def test_cases_share_jobs_that_ask_for_what_their_meshes_need(node, through_slurm):
    layout = Layout(load_study(through_slurm.file), str(through_slurm.results), MINUTES)
    asked = {
        words: tuple(rest)
        for words, *rest in node.asked("comment", "minmemory", "timelimit", "numcpus")
        if words.startswith("rule_solve")
    }
    assert 1 < len(layout.batches) < len(layout.cases)
    for number, names in layout.batches.items():
        cases = [layout.cases[name] for name in names]
        memory, time = memory_MB(layout, cases), f"{minutes(layout, cases)}:00"
        assert asked[f"rule_solve_wildcards_{number}"] == (f"{memory}M", time, "1")


def test_a_killed_job_is_tried_again_and_a_drained_node_waited_for(node, disturbed):
    _, job, _, waiting = disturbed
    killed = node.jobs(*UNSUCCESSFUL)
    assert list(killed) == [job]
    completed = node.jobs("completed")
    again = [int(one) for one, words in completed.items() if words == killed[job]]
    assert max(again) > int(job)
    assert waiting
    assert set(waiting) <= set(completed)


def test_tables_are_the_same_bit_by_bit_whatever_happened(local, disturbed):
    study = disturbed[0]
    cases = study.steps()
    assert len(cases) == len(FEWER)
    assert study.tables() == local.tables(cases)


def test_what_the_killed_job_had_done_is_not_done_again(disturbed):
    study, _, done, _ = disturbed
    after = study.steps()
    assert any(done.values())
    for case, steps in done.items():
        for name, step in steps.items():
            assert after[case][name] == step


@pytest.mark.long
def test_no_job_of_a_sweep_of_24_cases_is_lost(node, tmp_path):
    """The same tables as without Slurm, a few cases a job."""
    text = sweep_of((30, 28, 26, 24, 22, 20)).replace(
        "resonance:", "  cup.depth: [9.8 mm, 10.3 mm, 10.8 mm, 11.3 mm]\nresonance:"
    )
    studies = []
    for name, environment, options in (
        ("here", os.environ.copy(), ("--cores", "2")),
        ("through", node.environment, (*PROFILE, "--config", "minutes_per_job=0.3")),
    ):
        (tmp_path / name).mkdir()
        studies.append(Study(tmp_path / name, "cups", text, environment).run(*options))
    here, through = studies
    assert len(through.steps()) == 24
    assert 4 < len(list(through.results.glob("batches/*.json"))) < 24
    assert through.tables() == here.tables()
