"""Verifications are solved once for all studies, and anew where anything they rest on changed."""

import multiprocessing
import os
import signal
import time
from dataclasses import replace
from pathlib import Path

import pytest

from borestudy.files import FileError, read_json
from borestudy.stages import verified
from borestudy.stages.air import Conditions
from borestudy.stages.layout import Layout
from borestudy.stages.plan import results_folder
from borestudy.stages.running.costs import job_seconds
from borestudy.stages.verified import Settings, is_kept, settings_of, take_verification
from borestudy.study import StudyError, study_from_mapping

SETTINGS = Settings(
    "flow", "coarse", Conditions(293.15, 0.5, 101325.0), "0123456789abcdef", {"numpy": "2.0"}
)
BORE = {
    "length": "88 mm",
    "cup": {"diameter": "16.2 mm", "depth": "10.8 mm"},
    "throat": {"diameter": "drill 27", "length": "5 mm"},
    "backbore": {"end_diameter": "9 mm"},
}


class Solver:
    """Stands for the finite elements: writes a table and a mesh, and counts."""

    def __init__(self):
        self.solved = []

    def __call__(self, settings, folder):
        self.solved.append(settings)
        (folder / "pipe.msh").write_text("a mesh\n$EndElements\n")
        (folder / "checks.csv").write_text(f"check,verdict\n{settings.resolution},pass\n")


@pytest.fixture
def solver():
    return Solver()


@pytest.fixture
def take(tmp_path, solver):
    """A study that takes a verification from the folder of all, and reads its copies."""

    def taken(study="first", settings=SETTINGS, solve=solver):
        checks = tmp_path / study / "verification" / "flow.csv"
        take_verification(settings, tmp_path / "all", checks, checks.with_suffix(".json"), solve)
        return checks.read_text(), read_json(checks.with_suffix(".json"))

    return taken


def test_the_second_study_takes_what_the_first_has_solved(take, solver, tmp_path):
    first, second = take("first"), take("second")
    assert len(solver.solved) == 1
    assert first == second
    (kept,) = tmp_path.glob("all/flow-coarse-*")
    assert sorted(path.name for path in kept.iterdir()) == [
        "checks.csv",
        "pipe.msh",
        "verification.json",
    ]


def test_the_copy_says_what_made_it_and_what_it_took(take):
    _, record = take()
    assert record["settings"] == {
        "physics": "flow",
        "resolution": "coarse",
        "air": {"temperature_K": 293.15, "relative_humidity": 0.5, "pressure_Pa": 101325.0},
        "source_hash": "0123456789abcdef",
        "libraries": {"numpy": "2.0"},
    }
    assert record["provenance"]["wall_time_s"] > 0
    assert record["provenance"]["versions"]["scikit-fem"]


@pytest.mark.parametrize(
    "change",
    [
        {"physics": "acoustics"},
        {"resolution": "medium"},
        {"air": Conditions(293.16, 0.5, 101325.0)},
        {"source_hash": "0123456789abcdee"},
        {"libraries": {"numpy": "2.1"}},
    ],
)
def test_whatever_a_verification_rests_on_has_one_of_its_own(take, solver, change):
    take()
    take("other", replace(SETTINGS, **change))
    assert solver.solved == [SETTINGS, replace(SETTINGS, **change)]


@pytest.mark.parametrize(
    "damage",
    [
        lambda kept: (kept / "checks.csv").write_text("check,verdict\n"),
        lambda kept: (kept / "checks.csv").unlink(),
        lambda kept: (kept / "verification.json").write_text('{"schema_version": 2, "sett'),
        lambda kept: (kept / "verification.json").write_bytes(b"\xff\x00"),
        lambda kept: (kept / "verification.json").write_text("[]\n"),
        lambda kept: (kept / "verification.json").unlink(),
    ],
    ids=["table cut", "no table", "record cut", "no text", "another record", "no record"],
)
def test_a_damaged_one_is_solved_again(take, solver, tmp_path, damage):
    first, _ = take()
    (kept,) = tmp_path.glob("all/flow-coarse-*")
    damage(kept)
    assert not is_kept(SETTINGS, tmp_path / "all")
    assert take("second")[0] == first
    assert len(solver.solved) == 2
    assert is_kept(SETTINGS, tmp_path / "all")


def test_what_fails_leaves_nothing_that_could_be_taken(take, solver, tmp_path):
    def fail(settings, folder):
        solver(settings, folder)
        raise FileError("no room")

    with pytest.raises(FileError, match="no room"):
        take(solve=fail)
    assert not [path for path in (tmp_path / "all").iterdir() if path.is_dir()]
    assert not (tmp_path / "first").exists()
    take()
    assert len(solver.solved) == 2


def _take_slowly(folder, study):
    def solve(settings, unfinished):
        with open(folder / "solved", "a") as log:
            log.write(f"{study}\n")
        (unfinished / "part").write_text("")
        time.sleep(1)
        Solver()(settings, unfinished)

    checks = folder / study / "flow.csv"
    take_verification(SETTINGS, folder / "all", checks, checks.with_suffix(".json"), solve)


def started(folder, study):
    process = multiprocessing.get_context("fork").Process(target=_take_slowly, args=(folder, study))
    process.start()
    return process


def wait_for(path):
    for _ in range(600):
        if path.exists():
            return
        time.sleep(0.05)
    raise AssertionError(f"no {path}")


def test_of_two_studies_at_once_one_solves_and_both_have_it(tmp_path):
    running = [started(tmp_path, study) for study in ("first", "second")]
    for process in running:
        process.join()
    assert [process.exitcode for process in running] == [0, 0]
    assert len((tmp_path / "solved").read_text().splitlines()) == 1
    tables = [(tmp_path / study / "flow.csv").read_text() for study in ("first", "second")]
    assert tables[0] == tables[1]


def test_what_a_killed_run_left_is_swept_away(tmp_path):
    killed = started(tmp_path, "first")
    wait_for(tmp_path / "solved")
    os.kill(killed.pid, signal.SIGKILL)
    killed.join()
    assert not is_kept(SETTINGS, tmp_path / "all")
    _take_slowly(tmp_path, "second")
    (kept,) = [path for path in (tmp_path / "all").iterdir() if path.is_dir()]
    assert kept.name == SETTINGS.name


def test_two_solve_it_and_one_is_kept_where_no_file_can_be_locked(
    take, solver, tmp_path, monkeypatch
):
    def refuse(file, operation):
        raise OSError("no locks available")

    def meanwhile(settings, folder):
        if not solver.solved:
            solver(settings, folder)  # so that the other finds one at work
            take("second", solve=solver)
        solver(settings, folder)

    monkeypatch.setattr(verified.fcntl, "flock", refuse)
    first = take("first", solve=meanwhile)
    assert first == take("second")
    assert [path.name for path in (tmp_path / "all").iterdir() if path.is_dir()] == [SETTINGS.name]


def test_nothing_of_a_study_but_meshes_and_first_air_decides_a_verification(tmp_path):
    def of(**keys):
        layout = Layout(study_from_mapping({"bore": BORE} | keys, tmp_path, "some"), "results/some")
        return settings_of(
            "flow", layout.study.mesh.resolution, layout.first_conditions(), "source"
        ).name

    same = {
        of(),
        of(name="other", question="Why?"),
        of(flow={"rates": "0.05 L/s"}),
        of(vary={"throat.length": ["5 mm", "6 mm"]}),
    }
    assert len(same) == 1
    warm = of(air={"temperature": "30 degC"})
    assert of(vary={"air.temperature": ["30 degC", "20 degC"]}) == warm
    assert len({*same, warm, of(mesh={"resolution": "fine"})}) == 3


@pytest.mark.parametrize(
    ("folder", "shared"),
    [
        ("results/some", "results/verification"),
        ("../studies/results/some", "../studies/results/verification"),
        (".", "verification"),
        ("mine", "mine/verification"),
    ],
)
def test_it_lies_beside_the_studies_or_in_a_folder_that_was_asked_for(folder, shared):
    study = study_from_mapping({"bore": BORE}, Path(), "some")
    assert Layout(study, folder).verifications == shared


def test_a_study_is_told_that_it_will_not_wait_for_what_is_there(tmp_path, solver):
    study = study_from_mapping({"bore": BORE}, tmp_path, "some")
    layout = Layout(study, str(tmp_path / "results" / "some"))
    before = job_seconds(layout)
    settings = settings_of(
        "flow",
        study.mesh.resolution,
        layout.first_conditions(),
        verified.source_of_verification("flow"),
    )
    copies = [tmp_path / "checks.csv", tmp_path / "record.json"]
    take_verification(settings, Path(layout.verifications), *copies, solver)
    after = job_seconds(layout)
    assert before["verify_flow"] > 10
    assert after["verify_flow"] < 1
    assert after["verify_acoustics"] == before["verify_acoustics"]


@pytest.mark.parametrize("name", ["verification", "validation", "Verification"])
def test_a_study_named_like_a_folder_of_all_studies_is_refused(tmp_path, name):
    with pytest.raises(StudyError, match=f"for example my-{name}.yaml"):
        results_folder(Path(f"configs/{name}.yaml"))
    assert results_folder(Path(f"configs/my-{name}.yaml")) == Path(f"results/my-{name}")
    assert results_folder(Path(f"configs/{name}.yaml"), "mine") == Path("mine")
