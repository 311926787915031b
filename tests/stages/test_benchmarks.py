"""What a study took: sums of what its jobs and its cases' steps say of themselves."""

import numpy as np
import pytest

from borestudy.files import write_json
from borestudy.report.tables.costs import CASES, STARTING, STUDY, cost_sentences, printed_costs
from borestudy.results.tables.files import read_table, write_table
from borestudy.stages.batches.record import CaseRecord, StepRecord, write_case_record
from borestudy.stages.benchmarks import benchmark_table, bytes_by_kind, cost_table, mesh_cost_table

HEADER = "s\th:m:s\tmax_rss\tmax_vms\tmax_uss\tmax_pss\tio_in\tio_out\tmean_load\tcpu_time\n"
JOBS = {
    "verify_flow": (20.0, "600.0"),
    "air/all-cases": (2.0, "100.0"),
    "solve/0001": (13.0, "300.0"),
    "solve/0002": (12.0, "310.0"),
    "collate": (0.2, "-"),
}
FILES = {
    "mesh": {"bore.json": 100, "mesh/acoustics-0.msh": 1000},
    "flow-estimate": {
        "flow-estimate.json": 200, "flow-estimate/0.vtu": 3000, "mesh/estimate-0.msh": 4000,
        "solved/flow-estimate/abc/0.json": 50,
    },
}  # fmt: skip


@pytest.fixture
def folder(tmp_path):
    """A study of two cases, 10 s and 12 s, in two jobs of 13 s and 12 s."""
    for name, (seconds, memory) in JOBS.items():
        path = tmp_path / "benchmarks" / f"{name}.tsv"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(f"{HEADER}{seconds}\t0:00:01\t{memory}\t1\t1\t1\t0\t0\t90\t1\n")
    for case, seconds in (("one", (2.0, 8.0)), ("two", (3.0, 9.0))):
        steps = {
            name: StepRecord(
                key="k", files=files, wall_time_s=took, cpu_time_s=0.9 * took,
                peak_memory_MB=100 * took,
            )
            for (name, files), took in zip(FILES.items(), seconds, strict=True)
        }  # fmt: skip
        home = tmp_path / "cases" / case
        home.mkdir(parents=True)
        write_case_record(home, CaseRecord(steps=steps))
        record = {"unknowns": [1000, 4000], "solve_seconds": [seconds[0], seconds[1]]}
        write_json(home / "flow-estimate.json", record)
    (tmp_path / "air").mkdir()
    (tmp_path / "air" / "all-cases.json").write_text("12345")
    return tmp_path


@pytest.fixture
def benchmarks(folder):
    paths = [folder / "benchmarks" / f"{name}.tsv" for name in JOBS]
    return benchmark_table(paths, folder / "benchmarks", ["one", "two"])


def test_every_job_and_every_step_of_a_case_has_a_row(benchmarks):
    assert list(zip(benchmarks["rule"], benchmarks["case"], strict=True)) == [
        ("verify_flow", ""), ("air", "all-cases"), ("solve", "0001"), ("solve", "0002"),
        ("collate", ""), ("mesh", "one"), ("flow-estimate", "one"), ("mesh", "two"),
        ("flow-estimate", "two"),
    ]  # fmt: skip
    air, flow = benchmarks.iloc[1], benchmarks.iloc[6]
    assert air["tables_bytes"] == 5
    assert list(flow[["tables_bytes", "fields_bytes", "meshes_bytes"]]) == [200, 3050, 4000]
    assert list(flow[["wall_time_s", "cpu_time_s", "peak_memory_MB"]]) == [8.0, 7.2, 800.0]
    assert np.isnan(benchmarks["peak_memory_MB"].iloc[4])


def test_files_are_of_the_kinds_that_a_study_keeps_or_drops():
    assert bytes_by_kind({"two_port.npz": 1, "acoustics/first_resonance.vtu": 2}) == (1, 2, 0, 0)
    assert bytes_by_kind({"tone.json": 1, "tone-soft.wav": 2}) == (1, 0, 0, 2)
    assert bytes_by_kind({}) == (0, 0, 0, 0)


def test_costs_are_sums_and_what_their_jobs_took_besides(benchmarks):
    table = cost_table(benchmarks).set_index("stage")
    assert list(table.index) == [
        "mesh", "flow-estimate", STARTING, CASES, "verify_flow", "air", "collate", STUDY,
    ]  # fmt: skip
    assert list(table["wall_time_s"]) == [5, 17, 3, 25, 20, 2, 0.2, 47.2]
    assert list(table["jobs"]) == [2, 2, 2, 2, 1, 1, 1, 5]
    assert table.loc[CASES, "longest_s"] == 12
    assert table.loc[CASES, "cases_per_core_hour"] == 3600 * 2 / 25
    assert table.loc[STUDY, "cases_per_core_hour"] == pytest.approx(3600 * 2 / 47.2, abs=0.05)
    assert table.loc[STUDY, "peak_memory_MB"] == 900
    assert table.loc[CASES, "cpu_time_s"] == pytest.approx(0.9 * 22)
    assert np.isnan(table.loc["verify_flow", "cpu_time_s"])
    assert table.loc[CASES, "meshes_bytes"] == 10000
    assert table.loc[STUDY, "tables_bytes"] == 605


def test_of_jobs_that_found_steps_done_no_start_is_told(benchmarks):
    resumed = benchmarks.copy()
    resumed.loc[resumed["rule"] == "solve", "wall_time_s"] = 4.0
    table = cost_table(resumed).set_index("stage")
    assert STARTING not in table.index
    assert table.loc[CASES, "wall_time_s"] == 22


def test_a_table_that_was_written_gives_the_same_costs(benchmarks, tmp_path):
    write_table(benchmarks, tmp_path / "benchmarks.csv")
    again = cost_table(read_table(tmp_path / "benchmarks.csv"))
    assert again.equals(cost_table(benchmarks))


def test_a_study_without_any_case_solved_has_costs(benchmarks):
    table = cost_table(benchmarks[benchmarks["rule"] == "verify_flow"]).set_index("stage")
    assert table.loc[STUDY, "wall_time_s"] == 20
    assert cost_sentences(table.reset_index()) == []


def test_what_a_case_takes_and_keeps_is_told(benchmarks):
    table = cost_table(benchmarks)
    assert cost_sentences(table) == [
        "A case takes 12 s of a core in the mean: 290 cases in a core-hour.",
        "Of this, 12 % go into starting its job.",
        "It keeps 0.0003 MB of tables, 0.0031 MB of fields, 0.005 MB of meshes (the study’s key "
        "“keep” says which).",
    ]
    assert printed_costs(table)["meshes_MB"].iloc[0] == 0.0


def test_the_solves_on_each_mesh_are_of_each_case(folder):
    table = mesh_cost_table(folder, ["one", "two"], ["estimate"])
    assert list(table["mesh_level"]) == [0, 1, 0, 1]
    assert list(table["unknowns"]) == [1000, 4000, 1000, 4000]
    assert list(table["solve_time_s"]) == [2, 8, 3, 9]
