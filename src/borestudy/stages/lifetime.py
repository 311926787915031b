"""Jobs end with the Snakemake that started them.

A Snakemake that is killed outright cannot stop its jobs, and the run that is started next would
have them write beside its own.  So each job watches the process that started it.
"""

import os
import select
import signal
import threading

#: Environment variable with the process number of the Snakemake that starts a job.
RUN = "BORESTUDY_RUN"


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
