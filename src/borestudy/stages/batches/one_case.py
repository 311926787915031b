"""One case brought up to date: the steps whose results are missing or made from something else."""

import fcntl
import logging
import os
import resource
import shutil
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import replace
from pathlib import Path

from borestudy import provenance
from borestudy.stages.batches.keys import keys_of, stale_steps
from borestudy.stages.batches.record import (
    CaseRecord,
    StepRecord,
    read_case_record,
    write_case_record,
)
from borestudy.stages.batches.steps import KINDS, Step, steps_of
from borestudy.stages.batches.work import CaseWork

logger = logging.getLogger(__name__)

#: File in a case's folder that is locked by whoever works on the case.
LOCK = ".lock"
#: Leftovers of what was killed while it wrote.
UNFINISHED = (".*.unfinished*", "mesh/.meshes.*", "*/.*.unfinished*")


def solve_case(work: CaseWork) -> None:
    """Do the steps of a case that are to be done, and delete the files that are not to be kept.

    What is done is on record after every step, so that whoever is interrupted goes on from there.
    The step that is being done is in the file ``.step`` until it has ended.
    """
    home = work.home
    home.mkdir(parents=True, exist_ok=True)
    with alone(home):
        _sweep(home)
        steps, record = steps_of(work.layout), read_case_record(home)
        keys = keys_of(work, steps)
        for name in stale_steps(work, steps, keys, record):
            (home / ".step").write_text(name, encoding="utf-8")
            logger.info("%s", name)
            if name in record.steps:
                # Its files are about to change: cut off, they are what no record says.
                record = record.without_step(name)
                write_case_record(home, record)
            record = record.with_step(name, _done(work, steps[name], keys[name]))
            write_case_record(home, record)
        (home / ".step").unlink(missing_ok=True)
        kept = without_kinds(home, replace(record, failure=None), work.study.keep)
        kept = replace(kept, steps={name: kept.steps[name] for name in steps})
        if kept != read_case_record(home):
            write_case_record(home, kept)


def _done(work: CaseWork, step: Step, key: str) -> StepRecord:
    """Do a step, and tell what it left and took."""
    provenance.begin()
    begun, busy = time.perf_counter(), _cpu_seconds()
    step.run(work)
    return StepRecord(
        key=key,
        files=files_of(work.home, step.files),
        wall_time_s=round(time.perf_counter() - begun, 3),
        cpu_time_s=round(_cpu_seconds() - busy, 3),
        peak_memory_MB=round(provenance.peak_memory_megabytes(), 1),
    )


def files_of(home: Path, patterns: tuple[str, ...]) -> dict[str, int]:
    """Bytes of the files in a case's folder that match, by their paths there."""
    found = {path for pattern in patterns for path in home.glob(pattern) if path.is_file()}
    return {path.relative_to(home).as_posix(): path.stat().st_size for path in sorted(found)}


def without_kinds(home: Path, record: CaseRecord, keep: tuple[str, ...]) -> CaseRecord:
    """Delete the files of kinds that are not to be kept; the record without them."""
    kinds = [kind for kind in KINDS if kind not in keep]
    for kind in kinds:
        gone = set(files_of(home, KINDS[kind]))
        steps = {}
        for name, done in record.steps.items():
            if lost := gone.intersection(done.files):
                files = {path: size for path, size in done.files.items() if path not in lost}
                done = replace(done, files=files, dropped=tuple(sorted({*done.dropped, kind})))
            steps[name] = done
        record = replace(record, steps=steps)
    if kinds:
        # Before the files go, so that whoever is interrupted between the two deletes them again.
        write_case_record(home, record)
    for kind in kinds:
        for name in files_of(home, KINDS[kind]):
            (home / name).unlink(missing_ok=True)
    if "fields" in kinds:
        shutil.rmtree(home / "solved", ignore_errors=True)
    return record


@contextmanager
def alone(home: Path) -> Iterator[None]:
    """Keep other jobs from the case, such as one of an earlier run on another node."""
    with open(home / LOCK, "w", encoding="utf-8") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            logger.warning("another job has this case: waiting for its end")
            fcntl.flock(file, fcntl.LOCK_EX)
        except OSError as problem:  # a file system without locks
            logger.warning("this case cannot be locked (%s)", problem)
        yield


def _sweep(home: Path) -> None:
    for pattern in UNFINISHED:
        for path in home.glob(pattern):
            with suppress(OSError):
                shutil.rmtree(path) if path.is_dir() else path.unlink()


def _cpu_seconds() -> float:
    own, children = (
        resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    )
    return own.ru_utime + own.ru_stime + children.ru_utime + children.ru_stime


def step_of(home: Path) -> str:
    """The step that was being done when a case was ended; empty where none was."""
    try:
        return (home / ".step").read_text(encoding="utf-8")
    except OSError:
        return ""


def forget_step(home: Path) -> None:
    """Forget the step that a case was ended in."""
    with suppress(OSError):
        os.unlink(home / ".step")
