"""A small study from end to end, and what a change makes stale."""

import json
import os
import re
import shutil
import time

import numpy as np
import pandas as pd
import pytest

from borestudy.stages.verification import failures

from .conftest import STATIONS, STUDY, Runner, copy_sources
from .unmeshed import REASON, lose

TABLES = (
    "cases",
    "comparison",
    "flow",
    "impedance",
    "verification",
    "tolerances",
    "budget",
    "hand_formulas",
)


@pytest.fixture
def planned(finished):
    """Rules that would run again after the finished run, with another study or other sources."""
    folder, study, _ = finished

    def plan(text=STUDY, sources=folder / "sources"):
        study.write_text(text)
        try:
            return set(Runner(folder).planned(study=study, sources=sources)) - {"all"}
        finally:
            study.write_text(STUDY)

    return plan


def test_the_last_line_says_where_the_report_is(finished):
    folder, _, output = finished
    last = output.splitlines()[-1]
    assert last == "Report: results/small/report.html"
    assert (folder / last.removeprefix("Report: ")).stat().st_size > 10_000


def test_every_table_has_its_rows(results):
    tables = {name: pd.read_csv(results / f"{name}.csv") for name in TABLES}
    assert list(tables["cases"]["case"]) == ["join-straight", "join-smooth"]
    assert len(tables["comparison"]) == 2
    assert len(tables["flow"]) == 2
    assert len(tables["impedance"]) == 2 * 31
    assert set(tables["verification"]["verdict"]) == {"pass"}
    assert len(tables["tolerances"]) >= 1
    assert len(tables["budget"]) >= 2
    assert set(tables["hand_formulas"]["case"]) == {"join-straight", "join-smooth"}


def test_soft_flow_is_laminar_to_the_shank_end_and_says_so(results):
    flow = pd.read_csv(results / "flow.csv")
    assert flow["converged"].all()
    assert flow["transition_position_mm"].isna().all()
    assert (flow["pressure_drop_low_Pa"] < flow["pressure_drop_Pa"]).all()
    assert (flow["pressure_drop_high_Pa"] > flow["pressure_drop_Pa"]).all()
    assert not [name for name in flow if name.startswith(("laminar_", "turbulent_"))]


def test_every_result_says_what_made_it(results):
    for name in ("acoustics.json", "flow-estimate.json"):
        made = json.loads((results / "cases" / "join-smooth" / name).read_text())["provenance"]
        assert made["source_hash"]
        assert made["versions"]["scikit-fem"]
        assert made["input_hashes"]
        assert made["unknowns"]
        assert made["wall_time_s"] > 0
        assert 10 < made["peak_memory_MB"] < 1500


def test_every_case_has_fields_and_meshes(results):
    case = results / "cases" / "join-straight"
    meshes = {path.name for path in (case / "mesh").glob("*.msh")}
    assert {f"acoustics-{level}.msh" for level in range(3)} <= meshes
    assert {f"estimate-{level}.msh" for level in range(2)} <= meshes
    assert list((case / "flow-estimate").glob("*.vtu"))
    assert list((case / "acoustics").glob("*.vtu"))


def test_another_study_of_the_same_meshes_and_air_takes_the_same_verification(finished, results):
    folder, _, _ = finished
    other = folder / "other.yaml"
    other.write_text(STUDY.replace("20,5", "21,5").replace("0.005 L/s", "0.004 L/s"))
    wanted = [f"results/other/verification/{physics}.csv" for physics in ("acoustics", "flow")]
    ran = Runner(folder)("--", *wanted, study=other, sources=folder / "sources")
    assert ran.returncode == 0, ran.stdout
    for physics in ("acoustics", "flow"):
        for ending in ("csv", "json"):
            name = f"verification/{physics}.{ending}"
            # Solved again it would have taken another time.
            copy = folder / "results" / "other" / name
            assert copy.read_bytes() == (results / name).read_bytes()
    kept = sorted(path.name for path in (folder / "results" / "verification").glob("[!.]*"))
    assert [name.rpartition("-")[0] for name in kept] == ["acoustics-coarse", "flow-coarse"]


def test_time_and_memory_of_every_rule_are_gathered(results):
    table = pd.read_csv(results / "benchmarks.csv")
    rules = {
        "mesh",
        "two_port",
        "resonance",
        "flow-estimate",
        "verify_acoustics",
        "verify_flow",
    }
    assert rules <= set(table["rule"])
    assert (table["wall_time_s"] > 0).all()
    assert table["peak_memory_MB"].max() < 1500


def test_the_resolved_study_gives_the_same_study(finished, results):
    from borestudy.study import load_study

    _, study, _ = finished
    written, read = load_study(study), load_study(results / "resolved.yaml")
    assert [case.name for case in read.cases()] == [case.name for case in written.cases()]
    assert read.resonance == written.resonance
    assert read.flow == written.flow


def test_a_finished_study_has_nothing_left_to_do(planned):
    assert planned() == set()


def test_what_is_behind_the_shank_changes_no_two_port(planned):
    stale = planned(text=STUDY.replace("behind: closed", "behind: anechoic pipe"))
    assert "resonance" in stale
    assert stale.isdisjoint(
        {"mesh", "two_port", "flow-estimate", "air", "verify_acoustics", "verify_flow"}
    )


def test_another_flow_rate_leaves_the_acoustics_alone(planned):
    stale = planned(text=STUDY.replace("0.005 L/s", "0.004 L/s"))
    assert "flow-estimate" in stale
    assert stale.isdisjoint({"mesh", "two_port", "resonance", "verify_flow"})


def test_one_more_flow_rate_leaves_all_but_the_flow_alone(planned):
    # The reference rate is the lowest, and stays.
    stale = planned(text=STUDY.replace("0.005 L/s", '"0.005, 0.006 L/s"'))
    after = {"benchmarks", "resolve", "collate", "figures", "report", "verdict"}
    assert stale == {"solve", "flow-estimate", "stream", "tolerances"} | after


def test_other_tolerances_solve_nothing_again(planned):
    stale = planned(text=STUDY + "tolerances: {length: 0.002 in}\n")
    after = {"benchmarks", "resolve", "collate", "figures", "report", "verdict"}
    assert stale == {"tolerances"} | after


def test_asking_for_an_extreme_solves_it_alone(finished, planned):
    folder, study, _ = finished
    asked = STUDY.replace("0.005 L/s", "0.005 L/s, closure: laminar")
    stale = planned(text=asked)
    assert {"resolve", "flow-laminar", "collate", "report"} <= stale
    solved = {"mesh", "two_port", "resonance", "flow-estimate", "stream", "verify_flow"}
    assert stale.isdisjoint(solved)
    study.write_text(asked)
    try:
        # Of each case the laminar solution.
        jobs = Runner(folder).planned(study=study, sources=folder / "sources")
        assert jobs["flow-laminar"] == 2
    finally:
        study.write_text(STUDY)


def test_another_place_of_transition_leaves_all_but_the_flow_alone(planned):
    stale = planned(text=STUDY.replace("0.005 L/s", "0.005 L/s, transition: {from: rim plane}"))
    assert {"flow-estimate", "stream", "collate"} <= stale
    assert stale.isdisjoint({"mesh", "two_port", "resonance", "verify_flow"})


@pytest.fixture(scope="session")
def extremes(finished, tmp_path_factory):
    """Folder and study file of the finished study with both extremes solved as well."""
    folder = tmp_path_factory.mktemp("extremes") / "study"
    shutil.copytree(finished[0], folder, copy_function=shutil.copy2)
    study = folder / "small.yaml"
    # A uniform inlet has a singular corner where it meets the wall of so narrow a rim.
    both = "0.005 L/s, closure: both, inlet: developed"
    study.write_text(STUDY.replace("0.005 L/s", both))
    ran = Runner(folder)(study=study, sources=folder / "sources")
    assert ran.returncode == 0, ran.stdout
    return folder, study


def test_the_extremes_stand_beside_the_answer_and_soft_flow_has_no_turbulent_one(extremes):
    folder, _ = extremes
    flow = pd.read_csv(folder / "results/small/flow.csv")
    # The same equations on other meshes, each with its own numerical uncertainty.
    apart = (flow["laminar_pressure_drop_Pa"] - flow["pressure_drop_Pa"]).abs()
    allowed = np.hypot(
        flow["laminar_pressure_drop_Pa_uncertainty"], flow["pressure_drop_Pa_uncertainty"]
    )
    assert (apart <= allowed).all()
    assert flow["turbulent_pressure_drop_Pa"].isna().all()
    assert (flow["throat_reynolds"] < 2500).all()
    refused = json.loads(
        (folder / "results/small/cases/join-smooth/flow-turbulent.json").read_text()
    )
    assert "allowed from 2500 on" in refused["rates"][0]["reason"]


def test_warmer_air_leaves_the_meshes_alone(planned):
    stale = planned(text=STUDY + "air: {temperature: 30 degC}\n")
    assert {"air", "solve", "verify_acoustics", "verify_flow"} <= stale
    assert "mesh" not in stale


def test_another_question_computes_nothing_again(planned):
    stale = planned(text=STUDY.replace("Does the join matter?", "Is the join of any importance?"))
    assert stale == {"resolve", "collate", "figures", "report", "verdict"}


def test_new_stations_make_new_meshes(finished, planned):
    stations = finished[0] / "bore.csv"
    before = stations.stat()
    stations.write_text(STATIONS.replace("20,5", "21,5"))
    try:
        assert {"solve", "mesh", "two_port", "flow-estimate"} <= planned()
    finally:
        stations.write_text(STATIONS)
        os.utime(stations, ns=(before.st_atime_ns, before.st_mtime_ns))


@pytest.mark.parametrize(
    ("changed", "stale", "left_alone"),
    [
        (
            "flow/models/laminar.py",
            {"solve", "flow-estimate", "verify_flow"},
            {"mesh", "two_port", "resonance", "air"},
        ),
        (
            "flow/models/spalart_allmaras/pointwise.py",
            {"solve", "flow-estimate"},
            {"mesh", "two_port", "verify_flow"},
        ),
        (
            "results/estimate.py",
            {"solve", "stream", "collate"},
            {"mesh", "two_port", "flow-estimate"},
        ),
        (
            "acoustics/mouthpiece.py",
            {"resonance"},
            {"mesh", "two_port", "flow-estimate", "verify_flow"},
        ),
        ("acoustics/walls.py", {"two_port", "resonance"}, {"mesh", "flow-estimate", "verify_flow"}),
        ("mesh/presets.py", {"mesh", "two_port", "flow-estimate"}, {"air", "resolve"}),
        ("report/page.py", {"report"}, {"mesh", "flow-estimate", "resonance", "solve", "collate"}),
    ],
)
def test_a_changed_source_makes_stale_what_uses_it(
    finished, planned, tmp_path, changed, stale, left_alone
):
    copy_sources(finished[0] / "sources" / "borestudy", tmp_path)
    with open(tmp_path / "borestudy" / changed, "a") as source:
        source.write("\n# changed\n")
    again = planned(sources=tmp_path)
    assert stale <= again
    assert again.isdisjoint(left_alone)


def test_a_changed_turbulence_model_leaves_the_laminar_flow_as_it_is(extremes, tmp_path):
    folder, study = extremes
    copy_sources(folder / "sources" / "borestudy", tmp_path)
    for module in ("__init__", "model", "equations", "flux", "pointwise", "distance", "onset"):
        path = tmp_path / "borestudy" / "flow" / "models" / "spalart_allmaras" / f"{module}.py"
        with open(path, "a") as source:
            source.write("\n# changed\n")
    jobs = Runner(folder).planned(study=study, sources=tmp_path)
    assert jobs["flow-estimate"] == jobs["flow-turbulent"] == 2
    assert "flow-laminar" not in jobs


def test_a_failed_verification_is_reported_and_ends_the_run_with_an_error(finished, tmp_path):
    source, _, _ = finished
    folder = tmp_path / "copy"
    shutil.copytree(source, folder, copy_function=shutil.copy2)
    checks = folder / "results" / "small" / "verification" / "flow.csv"
    time.sleep(0.01)
    checks.write_text(checks.read_text().replace("pass", "fail", 1))
    ran = Runner(folder)(study=folder / "small.yaml", sources=folder / "sources")
    assert ran.returncode != 0
    assert re.search(r"1 of \d+ checks failed", ran.stdout)
    report = (folder / "results" / "small" / "report.html").read_text()
    assert "fail" in report.split("<table")[0]
    assert "Traceback" not in ran.stdout


def test_an_instrument_behind_the_shank_is_joined_without_a_new_solve(finished, tmp_path):
    folder = tmp_path / "study"
    shutil.copytree(finished[0], folder)
    (folder / "column.csv").write_text("position_mm,diameter_mm\n0,5\n60,5\n90,12\n")
    study = folder / "small.yaml"
    study.write_text(STUDY.replace("behind: closed", "behind: {air column: column.csv}"))
    run = Runner(folder)
    options = {"study": study, "sources": folder / "sources"}
    assert not set(run.planned(**options)) & {"mesh", "two_port", "flow-estimate", "verify_flow"}
    ran = run(**options)
    assert ran.returncode == 0, ran.stdout
    found = json.loads((folder / "results/small/cases/join-smooth/acoustics.json").read_text())
    assert found["termination"].startswith("air column")


def test_two_measured_bores_are_compared(finished, tmp_path):
    folder = tmp_path / "study"
    shutil.copytree(finished[0], folder, copy_function=shutil.copy2)
    wider = STATIONS.replace(",4\n", ",4.2\n").replace("20,5", "14,4.8\n16,4.75\n18,4.87\n20,5")
    (folder / "wider.csv").write_text(wider)
    study = folder / "small.yaml"
    study.write_text(STUDY.replace("vary: {join: [straight, smooth]}",
                                   "vary: {stations: [bore.csv, wider.csv]}"))  # fmt: skip
    ran = Runner(folder)(study=study, sources=folder / "sources")
    assert ran.returncode == 0, ran.stdout
    table = pd.read_csv(folder / "results/small/comparison.csv").set_index("case")
    assert list(table.index) == ["stations-bore", "stations-wider"]
    assert list(table["stations"]) == ["bore.csv", "wider.csv"]
    assert list(table["throat_diameter_mm"]) == pytest.approx([4, 4.2])
    # The throat's dynamic pressure falls with the fourth power of the diameter, and the sudden
    # enlargement's loss faster, by Borda and Carnot; viscous resistance by less.
    dynamic, loss = (4 / 4.2) ** 4, ((1 - (4.2 / 5) ** 2) / (1 - (4 / 5) ** 2)) ** 2
    assert -100 * (1 - dynamic * loss) < table["flow_resistance_change_percent"].iloc[1] < -1
    # A ring of 0.2 mm: too little to be refused, and not forgotten.
    told = "Stations of wider: wider.csv, line 5: found a diameter of 4.8 mm"
    page = (folder / "results/small/report.html").read_text().replace("\N{NO-BREAK SPACE}", " ")
    assert told in page


@pytest.mark.filterwarnings("ignore:constrained_layout not applied")
@pytest.mark.parametrize(("lost", "other"), [("straight", "smooth"), ("smooth", "straight")])
def test_a_case_without_a_mesh_is_named_and_leaves_the_others_complete(
    finished, results, tmp_path, lost, other
):
    name, folder = f"join-{lost}", tmp_path / "results" / "lost"
    shutil.copy(finished[0] / "bore.csv", tmp_path)
    lose(results, folder, name)
    comparison = pd.read_csv(folder / "comparison.csv").set_index("case")
    numbers = ["resonance_Hz", "pressure_drop_Pa"]
    assert comparison.loc[f"join-{other}", numbers].notna().all()
    assert comparison.loc[name, numbers].isna().all()
    assert comparison.loc[name, "regime"] == "not meshed"
    flow = pd.read_csv(folder / "flow.csv").set_index("case")
    assert flow.loc[name, "note"] == f"no number: not meshed: {REASON}"
    count, failed = failures(folder / "verification.csv")
    assert count > len(failed)
    assert all(line.startswith(f"case {name}, solution for ") and REASON in line for line in failed)
    assert failed
    words = {"straight": "Stations joined by straight lines", "smooth": "Stations joined smoothly"}
    page = (folder / "report.html").read_text()
    assert f"{words[lost]}: there is no solution for sound" in page


def test_one_core_makes_the_same_tables_as_two_to_the_byte(finished, results):
    source, study, _ = finished
    names = [f"{name}.csv" for name in (*TABLES, "peaks", "stream", "energy", "sensitivities")]
    wanted = [f"results/one-core/{name}" for name in names]
    options = ["--cores", "1", "--config", "results_folder=results/one-core", "--", *wanted]
    ran = Runner(source)(*options, study=study, sources=source / "sources")
    assert ran.returncode == 0, ran.stdout
    for name in names:
        assert (source / "results/one-core" / name).read_bytes() == (results / name).read_bytes()
