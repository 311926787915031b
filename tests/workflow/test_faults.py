"""Full and read-only disks, a clock set back, files cut short: repaired, or one clear line."""

import json
import os
import shutil
import subprocess
import time

import pytest

from .conftest import Runner

TABLES = ("comparison.csv", "flow.csv", "peaks.csv", "impedance.csv")


def runner(folder):
    """How the study in a folder is run again."""

    def run(*arguments):
        study, sources = folder / "small.yaml", folder / "sources"
        return Runner(folder)(*arguments, study=study, sources=sources)

    return run


@pytest.fixture
def copied(finished, tmp_path):
    """A copy of the finished run: its folder, and how to run it again."""
    folder = tmp_path / "study"
    shutil.copytree(finished[0], folder, copy_function=shutil.copy2)
    return folder, runner(folder)


@pytest.fixture
def disk(finished, tmp_path):
    """A small disk that has the finished run and little room besides, and how to change it."""
    folder = tmp_path / "disk"
    folder.mkdir()
    size = sum(path.stat().st_size + 8192 for path in finished[0].rglob("*"))
    mount = ["mount", "-t", "tmpfs", "-o", f"size={size}", "tmpfs", str(folder)]
    made = subprocess.run(mount, capture_output=True, text=True)
    if made.returncode:
        pytest.skip(f"no disk can be mounted here: {made.stderr.strip()}")
    try:
        shutil.copytree(finished[0], folder, copy_function=shutil.copy2, dirs_exist_ok=True)

        def change(options):
            again = ["mount", "-o", f"remount,{options}", str(folder)]
            subprocess.run(again, check=True)

        yield folder, runner(folder), change
    finally:
        subprocess.run(["umount", str(folder)], check=True)


def test_a_full_disk_is_told_with_the_file_and_room_is_all_that_is_missing(finished, disk):
    folder, run, _ = disk
    results = folder / "results" / "small"
    for name in TABLES:
        (results / name).unlink()
    filler = folder / "filler"
    free = os.statvfs(folder)
    # Enough for Snakemake's own files, and not for the tables.
    filler.write_bytes(bytes(free.f_bavail * free.f_bsize - 30_000))
    ran = run()
    assert ran.returncode != 0
    assert "Traceback" not in ran.stdout
    assert "cannot be written" in ran.stdout, ran.stdout
    assert "make room and run again" in ran.stdout
    assert not any((results / name).exists() for name in ("comparison.csv", "impedance.csv"))
    filler.unlink()
    ran = run()
    assert ran.returncode == 0, ran.stdout
    for name in TABLES:
        reference = finished[0] / "results" / "small" / name
        assert (results / name).read_bytes() == reference.read_bytes()


def test_results_that_cannot_be_written_are_one_line(disk):
    folder, run, change = disk
    change("ro")
    try:
        ran = run()
    finally:
        change("rw")
    assert ran.returncode == 1
    lines = [line for line in ran.stdout.splitlines() if "cannot be written" in line]
    assert len(lines) == 1, ran.stdout
    assert lines[0].startswith(str(folder))
    assert "(Read-only file system); needed is a folder" in lines[0]
    assert "Traceback" not in ran.stdout


def test_after_a_clock_was_set_back_nothing_is_done_twice(copied):
    folder, run = copied
    later = 86_400
    for path in (folder / "results").rglob("*"):
        changed = path.lstat().st_mtime + later
        os.utime(path, (changed, changed), follow_symlinks=False)
    ran = run()
    assert ran.returncode == 0, ran.stdout
    assert "Nothing to be done" in ran.stdout
    (folder / "results" / "small" / "verdict.txt").unlink()
    ran = run()
    assert ran.returncode == 0, ran.stdout
    stations = folder / "bore.csv"
    os.utime(stations, (time.time() + later, time.time() + later))
    ran = run()
    assert ran.returncode == 1
    assert ran.stdout.count(f"{stations.name}: found a time of change in the future") == 1
    assert "Traceback" not in ran.stdout


def test_a_record_of_snakemake_cut_short_has_its_result_made_again(copied):
    folder, run = copied
    verdict = folder / "results" / "small" / "verdict.txt"
    before = verdict.read_text()
    for path in (folder / ".snakemake" / "metadata").iterdir():
        found = json.loads(path.read_text()) if path.is_file() else {}
        if found.get("rule") == "verdict":
            path.write_bytes(path.read_bytes()[:100])
    verdict.write_text("of other results")
    ran = run()
    assert ran.returncode == 0, ran.stdout
    assert "verdict.txt: Snakemake's record of it was cut short; made again" in ran.stdout
    assert verdict.read_text() == before
