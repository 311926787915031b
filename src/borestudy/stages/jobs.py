"""A job of the workflow: its log, what the terminal is told, and its end with the run.

A Snakemake that is killed outright cannot stop its jobs, and the run that is started next would
have them write beside its own.  So each job watches the process that started it.
"""

import logging
import os
import select
import signal
import sys
import threading
import traceback
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import TextIO

#: Errors whose message is for the study's author: a value that no model can take, or no mesh of it.
FOR_THE_AUTHOR = (ValueError, RuntimeError)
#: Environment variable with the process number of the Snakemake that starts a job.
RUN = "BORESTUDY_RUN"


def log_to(path: Path | str, job: str) -> TextIO:
    """Send all output of this process to a file, from compiled libraries too.

    The process ends with the Snakemake that started it.  An exception ends it with a traceback in
    the file; the exception's message also goes to the terminal, after the job's name.  The terminal
    is returned.
    """
    end_with_run()
    terminal = os.fdopen(os.dup(2), "w", encoding="utf-8", closefd=True)
    log_to_file(path)
    logging.basicConfig(stream=sys.stderr, format="%(name)s: %(message)s")
    logging.getLogger("borestudy").setLevel(logging.INFO)

    def report(
        kind: type[BaseException], problem: BaseException, trace: TracebackType | None
    ) -> None:
        print(f"{job}: {message_of(problem)}", file=terminal, flush=True)
        # On a full disk there is no room for this.
        with suppress(OSError):
            traceback.print_exception(kind, problem, trace)
            sys.stderr.flush()

    sys.excepthook = report
    return terminal


def log_to_file(path: Path | str) -> None:
    """Send all further output of this process to a file, which is made anew."""
    Path(path).parent.mkdir(parents=True, exist_ok=True)
    file = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o666)
    for stream in (sys.stdout, sys.stderr):
        stream.flush()
    os.dup2(file, 1)
    os.dup2(file, 2)
    os.close(file)


def message_of(problem: BaseException) -> str:
    """What the terminal is told of an error."""
    if isinstance(problem, OSError) and problem.filename is not None:
        return f"{problem.filename}: {problem.strerror}"
    return str(problem) if isinstance(problem, FOR_THE_AUTHOR) else repr(problem)


def announce_run() -> None:
    """Tell the jobs that this process starts which process that is."""
    os.environ[RUN] = str(os.getpid())


def end_with_run() -> None:
    """End this process as soon as the one that announced itself has ended.

    Nothing is done where none did, nor on systems without process handles (other than Linux).
    """
    number = os.environ.get(RUN)
    if number is None or not hasattr(os, "pidfd_open"):
        return
    try:
        handle = os.pidfd_open(int(number))
    except ProcessLookupError:
        _end()
    threading.Thread(target=_wait_and_end, args=(handle,), daemon=True).start()


def _wait_and_end(handle: int) -> None:
    ended = select.poll()
    ended.register(handle, select.POLLIN)
    ended.poll()
    _end()


def _end() -> None:
    # Not by an exception: compiled code would not see it, and nobody is left to read it.
    os.kill(os.getpid(), signal.SIGKILL)
