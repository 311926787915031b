"""The cases of a batch, one after another, each in a process of its own.

What a case's process imports is imported once, by the process that it is a copy of.  That one
watches its memory and time, so that a case which fails takes no other with it.
"""

import logging
import os
import resource
import signal
import sys
import time
import traceback
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import NoReturn, TextIO

import psutil

from borestudy.files import FileError, write_json
from borestudy.mesh.unmeshed import EndedError, MeshError, UnmeshedError
from borestudy.stages.batches.failure import record_failure
from borestudy.stages.batches.keys import keys_of
from borestudy.stages.batches.one_case import forget_step, solve_case, step_of
from borestudy.stages.batches.record import Failure, read_case_record
from borestudy.stages.batches.steps import steps_of
from borestudy.stages.batches.work import CaseWork
from borestudy.stages.jobs import announce_run, end_with_run, log_to_file, message_of
from borestudy.stages.layout import Layout

logger = logging.getLogger(__name__)

#: How often a batch is tried in all, each time with more memory and time.
ATTEMPTS = 3
#: File in which a case's process leaves its last words.
PROBLEM = ".problem"
#: How often a case's process is looked at [s].
EVERY = 0.05
#: Exit codes of a case's process: that it failed, that it lacked memory, that its gmsh was killed,
#: and that the machine lacks something that every case needs, such as room on its disk.
FAILED, NO_MEMORY, KILLED, NO_CASE_CAN = 3, 4, 5, 6
#: How many times as long as expected a case may keep a processor, and what it may at least [s].
PATIENCE, LEAST_SECONDS = 30.0, 600.0
#: Seconds before the end of a job's time in which it ends by itself.
MARGIN = 20.0
#: Variables by which a scheduler tells a job that it is one, whose time is bounded.
SCHEDULED = ("SLURM_JOB_ID", "PBS_JOBID", "LSB_JOBID", "KUBERNETES_SERVICE_HOST")


@dataclass(frozen=True)
class Bounds:
    """What a batch may take.

    Attributes
    ----------
    memory_MB : float
        Memory of a case's process.
    seconds : float
        Processor time of a case.
    end : float
        When the job itself has to end, by `time.monotonic`.
    last : bool
        Whether a case that needs more is given up, and not tried again with more.
    """

    memory_MB: float
    seconds: float
    end: float = float("inf")
    last: bool = True


def bounds_of(memory_MB: float, minutes: float, attempt: int, expected: float) -> Bounds:
    """What a batch may take of the job that it is.

    Parameters
    ----------
    memory_MB, minutes : float
        What was asked for the job: its memory, and its time, which is none on this machine alone.
    attempt : int
        How often the batch has been tried, with this time.
    expected : float
        Expected seconds of a case.
    """
    scheduled = any(name in os.environ for name in SCHEDULED)
    return Bounds(
        memory_MB=memory_MB,
        seconds=attempt * max(LEAST_SECONDS, PATIENCE * expected),
        end=time.monotonic() + 60 * minutes - MARGIN if scheduled else float("inf"),
        last=attempt >= ATTEMPTS,
    )


def run_batch(
    layout: Layout,
    names: Sequence[str],
    sources: Mapping[str, str],
    bounds: Bounds,
    record: Path | str,
    terminal: TextIO = sys.stderr,
) -> bool:
    """Bring the cases of a batch up to date, and write how each ended.

    One that fails gets stand-ins for its results, which say why.

    Parameters
    ----------
    layout : Layout
        Of the study.
    names : sequence of str
        The cases.
    sources : mapping
        Hash of the sources of each step.
    bounds : Bounds
        What a case may take.
    record : path
        The batch's file; it is not written where a case is to be tried again.
    terminal : file
        To which failures are told.

    Returns
    -------
    bool
        Whether every case has ended, if only by failing.

    Raises
    ------
    FileError
        If a file cannot be written, or if the machine lacks what every case needs.
    """
    announce_run()
    ended, again = {}, False
    for name in names:
        work = CaseWork(layout, layout.cases[name], sources)
        failure = _in_process(work, bounds)
        if failure is not None:
            repeat = failure.kind in ("memory", "time", "killed") and not bounds.last
            advice = "; it is tried again with more" if repeat else ""
            where = f" {failure.step}:" if failure.step else ""
            print(f"case {name}:{where} {failure.words}{advice}", file=terminal, flush=True)
            again = again or repeat
            record_failure(work, failure)
        ended[name] = {
            "failure": failure and failure.words,
            "steps": keys_of(work, steps_of(layout)),
        }
        if time.monotonic() > bounds.end and not bounds.last:
            return False
    if not again:
        write_json(record, {"cases": ended})
    return not again


def _in_process(work: CaseWork, bounds: Bounds) -> Failure | None:
    """Solve a case in a process of its own; why it failed, None where it did not."""
    work.home.mkdir(parents=True, exist_ok=True)
    forget_step(work.home)
    sys.stdout.flush()
    sys.stderr.flush()
    child = os.fork()
    if child == 0:
        _solve_and_end(work, bounds)
    kind = _watched(child, bounds)
    _, status = os.waitpid(child, 0)
    if status == 0:
        return None
    step, said = step_of(work.home), _said(work.home)
    code = os.WEXITSTATUS(status) if os.WIFEXITED(status) else None
    if code == NO_CASE_CAN:
        raise FileError(said or f"{work.home}: no case can be solved")
    if kind == "memory" or code == NO_MEMORY:
        kind = "memory"
        words = f"out of memory: it needed more than the {bounds.memory_MB:.0f} MB that it may take"
    elif kind == "time" or (code is None and os.WTERMSIG(status) == signal.SIGXCPU):
        kind, words = "time", "out of time: it took longer than it may take"
    elif code == KILLED:
        kind, words = "killed", said
    elif code is None:
        name = signal.Signals(os.WTERMSIG(status)).name
        kind, words = "killed", f"ended by {name}, as the system does where memory runs out"
    else:
        kind, words = "error", said or f"it ended with code {code}"
    return Failure(step=step, kind=kind, words=f"not solved: {words}")


def _watched(child: int, bounds: Bounds) -> str:
    """Wait for the end of a case's process; what it was ended for, empty where it ended itself."""
    process = psutil.Process(child)
    while process.status() != psutil.STATUS_ZOMBIE:
        try:
            memory = process.memory_info().rss / 1e6
        except psutil.Error:
            break
        over_time = time.monotonic() > bounds.end
        if memory > bounds.memory_MB or over_time:
            os.kill(child, signal.SIGKILL)
            return "time" if over_time else "memory"
        time.sleep(EVERY)
    return ""


def _solve_and_end(work: CaseWork, bounds: Bounds) -> NoReturn:
    """Solve a case in this process, and end it."""
    code = FAILED
    try:
        end_with_run()
        log_to_file(work.layout.log_file("cases", work.case.name))
        seconds = int(bounds.seconds)
        resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 5))
        solve_case(work)
        code = 0
    except BaseException as problem:
        if isinstance(problem, MemoryError):
            code = NO_MEMORY
        elif isinstance(problem, EndedError):
            code = KILLED
        elif isinstance(problem, UnmeshedError):
            code = FAILED
        elif isinstance(problem, FileError | OSError | MeshError):
            code = NO_CASE_CAN
        # On a full disk there is no room for either.
        with suppress(OSError):
            traceback.print_exc()
        with suppress(OSError):
            (work.home / PROBLEM).write_text(message_of(problem), encoding="utf-8")
    finally:
        with suppress(OSError):
            sys.stdout.flush()
            sys.stderr.flush()
        os._exit(code)


def _said(home: Path) -> str:
    """What a case's process said of its end."""
    path = home / PROBLEM
    try:
        return path.read_text(encoding="utf-8")
    except OSError:
        return ""
    finally:
        path.unlink(missing_ok=True)


def is_unfinished(layout: Layout, batch: str) -> bool:
    """Whether a batch ended with a case that failed, or with one that now lacks a file."""
    if not os.path.isfile(layout.batch_file(batch)):
        return False
    homes = (Path(layout.result(f"cases/{name}")) for name in layout.batches[batch])
    kept = layout.study.keep
    return not all(read_case_record(home).is_whole(home, layout.steps, kept) for home in homes)
