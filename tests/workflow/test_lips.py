"""A small study with lips from end to end, and what a change of the lips makes stale."""

import json
import re
import shutil
import wave

import pandas as pd
import pytest

from borestudy.provenance import ROOT

from ..documentation import undocumented
from .conftest import STATIONS, Runner, copy_sources

TABLES = ("onset", "onset_changes", "tone", "tone_changes", "tone_harmonics")
# A narrow pipe behind the bore, as long as an arm: peaks high enough for tones of light lips.
COLUMN = "position_mm,diameter_mm\n0,5\n500,7\n"
STUDY = """
question: Which join is easier to start?
bore: {stations: bore.csv}
vary: {join: [straight, smooth]}
resonance: {from: 60 Hz, to: 1500 Hz, points: 31, behind: {air column: column.csv}}
flow: {rates: 0.02 L/s}
mesh: {resolution: coarse}
lips: {mass_per_area: 1 kg/m2, width: 6 mm, opening: 0.1 mm, set: 10, register: 2}
"""
CASES = ["join-straight", "join-smooth"]
AFTER = {"benchmarks", "resolve", "collate", "figures", "report", "verdict"}


def written(folder, verifications):
    """A folder with the study, its files, sources and verifications that are there already."""
    copy_sources(ROOT, folder / "sources")
    shutil.copytree(verifications, folder / "results" / "verification")
    (folder / "bore.csv").write_text(STATIONS)
    (folder / "column.csv").write_text(COLUMN)
    (folder / "lips.yaml").write_text(STUDY)
    return folder / "lips.yaml"


@pytest.fixture(scope="session")
def played(finished, tmp_path_factory):
    """Folder and study file of a whole run."""
    folder = tmp_path_factory.mktemp("lips")
    study = written(folder, finished[0] / "results" / "verification")
    ran = Runner(folder)(study=study, sources=folder / "sources")
    assert ran.returncode == 0, ran.stdout
    return folder, study


@pytest.fixture(scope="session")
def results(played):
    return played[0] / "results" / "lips"


def test_each_register_of_each_case_has_a_threshold_or_says_why_not(results):
    onset = pd.read_csv(results / "onset.csv")
    assert [*dict.fromkeys(onset["case"])] == CASES
    for _, registers in onset.groupby("case"):
        assert list(registers["register"]) == list(range(1, len(registers) + 1))
        assert len(registers) >= 4
    known = onset["mouth_pressure_Pa"].notna()
    assert known.sum() >= 4
    assert (onset.loc[known, "mouth_pressure_Pa_uncertainty"] > 0).all()
    assert (onset.loc[known, "mouth_pressure_Pa"] <= 20e3).all()
    assert (onset.loc[~known, "validity"].str.len() > 0).all()
    # Lips that open outward sound above their own resonance and that of the bore.
    assert (onset.loc[known, "sounding_above_peak_cents"] > 0).all()
    ratio = onset["sounding_frequency_Hz"] / onset["lips_frequency_Hz"]
    assert ratio[known].between(1, 3**0.5).all()


def test_the_tone_of_each_case_has_two_levels_with_harmonics_and_a_sound(results):
    tone = pd.read_csv(results / "tone.csv")
    assert list(tone["case"]) == [case for case in CASES for _ in range(2)]
    assert list(tone["level"]) == 2 * ["soft", "loud"]
    assert list(tone["register"]) == 4 * [2]
    harmonics = pd.read_csv(results / "tone_harmonics.csv")
    assert set(harmonics["case"]) == set(CASES)
    for case in CASES:
        for level in ("soft", "loud"):
            with wave.open(str(results / "cases" / case / f"tone-{level}.wav")) as sound:
                assert sound.getframerate() == 48000
                assert sound.getsampwidth() == 2
                assert sound.getnframes() > 24000


def test_changes_are_of_each_register_and_level_against_the_first_case(results):
    changes = pd.read_csv(results / "onset_changes.csv")
    onset = pd.read_csv(results / "onset.csv")
    assert len(changes) == len(onset)
    first = changes[changes["case"] == CASES[0]]
    assert (first["threshold_change_percent"].fillna(0) == 0).all()
    other = changes[changes["case"] == CASES[1]]
    assert (other["threshold_change_percent"].dropna() != 0).all()
    assert other["threshold_change_verdict"].notna().all()
    tone = pd.read_csv(results / "tone_changes.csv")
    assert set(tone["case"]) == set(CASES)


def test_every_column_of_the_tables_of_lips_is_documented(results):
    for name in TABLES:
        columns = list(pd.read_csv(results / f"{name}.csv", nrows=0))
        assert undocumented(f"{name}.csv", columns, ("join",)) == []


def test_the_model_of_lips_passes_its_own_checks(results):
    checks = pd.read_csv(results / "verification.csv")
    assert set(checks["verdict"]) == {"pass"}
    assert {"lips on one mode", "tone on a pipe, open"} <= set(checks["check"])


def test_the_report_opens_with_the_start_of_a_tone_and_can_be_listened_to(results):
    page = (results / "report.html").read_text("utf-8")
    assert 'id="playing"' in page
    assert 'id="how-playing"' in page
    assert "invented lips" in page
    assert page.count("data:audio/wav;base64,") == 4
    told = json.loads((results / "answers.json").read_text("utf-8"))
    assert told["first"]
    assert re.search("tone|start", told["first"][0])


def test_a_finished_study_with_lips_has_nothing_left_to_do(played):
    folder, study = played
    assert Runner(folder).planned(study=study, sources=folder / "sources") == {}


@pytest.mark.parametrize(
    ("before", "after", "steps"),
    [
        ("width: 6 mm", "width: 7 mm", {"onset", "tone"}),
        ("register: 2", "register: 3, loud: 2", {"tone"}),
        ("opening: 0.1 mm", "opening: 0.1 mm, sources: {opening: measured}", set()),
    ],
)
def test_other_lips_play_again_and_solve_nothing(played, before, after, steps):
    folder, study = played
    study.write_text(STUDY.replace(before, after))
    try:
        jobs = Runner(folder).planned(study=study, sources=folder / "sources")
    finally:
        study.write_text(STUDY)
    stale = set(jobs) - {"all"}
    assert stale - AFTER - {"solve", "tolerances"} == steps
    assert all(jobs[step] == len(CASES) for step in steps)


@pytest.mark.long
def test_one_core_and_two_make_the_same_bytes(played, tmp_path):
    folder, _ = played
    study = written(tmp_path, folder / "results" / "verification")
    # and each case in a job of its own
    ran = Runner(tmp_path)(
        "--cores", "1", "--config", "minutes_per_job=0.1", study=study,
        sources=tmp_path / "sources",
    )  # fmt: skip
    assert ran.returncode == 0, ran.stdout
    one, two = (each / "results" / "lips" for each in (tmp_path, folder))
    names = [f"{name}.csv" for name in TABLES] + ["answers.json"]
    sounds = [path.relative_to(two) for path in sorted(two.glob("cases/*/*.wav"))]
    assert len(sounds) == 4
    for name in [*names, *sounds]:
        assert (one / name).read_bytes() == (two / name).read_bytes(), name
