"""A job's log file, and on the terminal the one line that whoever started it needs."""

import logging
import os
import sys
import traceback
from contextlib import suppress
from pathlib import Path
from types import TracebackType

from borestudy.stages.lifetime import end_with_run

#: Errors whose message is for the study's author: a value that no model can take, or no mesh of it.
FOR_THE_AUTHOR = (ValueError, RuntimeError)


def log_to(path: Path | str, job: str) -> None:
    """Send all output of this process to a file, from compiled libraries too.

    The process ends with the Snakemake that started it.

    An exception ends the process with its traceback in the file; its message also goes to the
    terminal.

    Parameters
    ----------
    path : path
        The log file; its folder is made.
    job : str
        What to call this process on the terminal.
    """
    end_with_run()
    Path(path).parent.mkdir(parents=True, exist_ok=True)
    terminal = os.fdopen(os.dup(2), "w", encoding="utf-8", closefd=True)
    file = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o666)
    for stream in (sys.stdout, sys.stderr):
        stream.flush()
    os.dup2(file, 1)
    os.dup2(file, 2)
    os.close(file)
    logging.basicConfig(stream=sys.stderr, format="%(name)s: %(message)s")
    logging.getLogger("borestudy").setLevel(logging.INFO)

    def report(
        kind: type[BaseException], problem: BaseException, trace: TracebackType | None
    ) -> None:
        print(f"{job}: {_message(problem)}", file=terminal, flush=True)
        # On a full disk there is no room for this.
        with suppress(OSError):
            traceback.print_exception(kind, problem, trace)
            sys.stderr.flush()

    sys.excepthook = report


def _message(problem: BaseException) -> str:
    """What the terminal is told of an error."""
    if isinstance(problem, OSError) and problem.filename is not None:
        return f"{problem.filename}: {problem.strerror}"
    return str(problem) if isinstance(problem, FOR_THE_AUTHOR) else repr(problem)
