"""One run of a study at a time: who computes its results is known, and a run that is gone.

A file beside Snakemake's own is locked as long as the process that runs the study lives.  The
operating system ends that lock with the process, however that ends, so that it is never stale.
Snakemake's own locks are files that stay after a kill: those of this study are removed by whoever
holds its lock, since nobody else can be at work on it.
"""

import atexit
import errno
import fcntl
import json
import os
import socket
import time
from contextlib import suppress
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import IO

from borestudy.files import FileError
from borestudy.stages.plan import RESULTS

#: The folder that Snakemake keeps where it runs.
SNAKEMAKE = Path(".snakemake")
#: Name of the file that is locked while a study is run.
LOCK = "borestudy-{}.lock"
#: What a file system says that knows no locks.
NO_LOCKS = (errno.ENOLCK, errno.ENOSYS, errno.EOPNOTSUPP)
#: Folder of what all studies share, from that in which Snakemake runs.
SHARED = f"{RESULTS}/validation"
#: How often a lock is asked for that another may just be looking at, and after how many seconds.
TRIES, PAUSE = 5, 0.2
ANOTHER_FOLDER = "for example borestudy run STUDY --results second"
#: Locks that this process holds, open until it ends.
_held: list[IO[str]] = []


@dataclass(frozen=True)
class Holder:
    """Who runs a study.

    Attributes
    ----------
    process : int
        Its number.
    begun : int
        When that process began, in ticks of the host's clock; a number is given to others later.
    host : str
        On which machine.
    since : str
        When the run began, in universal time.
    results : str
        Folder of the results.
    """

    process: int
    begun: int
    host: str
    since: str
    results: str

    def __str__(self) -> str:
        return f"process {self.process} on {self.host}, since {self.since}"


def hold_results(results: str, folder: Path = SNAKEMAKE) -> None:
    """Keep others from computing the same results until this process ends.

    Snakemake's locks that an earlier run of the same results left are removed.

    Parameters
    ----------
    results : str
        Folder of the results, as Snakemake's files are named: ``.`` where it runs in it.
    folder : Path
        Snakemake's own.

    Raises
    ------
    FileError
        If another process computes them, naming it, or where nothing can be written.
    """
    make_writable(folder)
    make_writable(Path(results))
    file = open(folder / lock_name(results), "a+", encoding="utf-8")  # noqa: SIM115
    _held.append(file)
    for _ in range(TRIES):
        if held := _locked(file):
            break
        time.sleep(PAUSE)
    if not held:
        raise FileError(
            f"{Path(results).resolve()}: found another run of this study "
            f"({_holder(file) or 'which'}); wait for its end, or choose another folder, "
            f"{ANOTHER_FOLDER}"
        )
    now = datetime.now(UTC).strftime("%Y-%m-%d %H:%M UTC")
    holder = Holder(os.getpid(), _begun(os.getpid()) or 0, socket.gethostname(), now, results)
    file.truncate(0)
    file.write(json.dumps(asdict(holder)) + "\n")
    file.flush()
    atexit.register(file.truncate, 0)
    remove_stale_locks(results, folder)


def make_writable(folder: Path) -> None:
    """Make a folder if there is none.

    Raises
    ------
    FileError
        If nothing can be written to it, which a job would find out after others had computed.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if not os.access(folder, os.W_OK | os.X_OK):
            read_only = bool(os.statvfs(folder).f_flag & os.ST_RDONLY)
            number = errno.EROFS if read_only else errno.EACCES
            raise OSError(number, os.strerror(number))
    except OSError as problem:
        raise FileError(
            f"{folder.absolute()}: cannot be written ({problem.strerror}); needed is a folder for "
            f"the results that can be, {ANOTHER_FOLDER}"
        ) from None


def tidy_locks(results: str, folder: Path = SNAKEMAKE) -> None:
    """Remove stale locks as `hold_results` does, for who only asks what would be done.

    Nothing is done where the results are computed by another, or cannot be written.
    """
    with suppress(OSError), open(folder / lock_name(results), "r+", encoding="utf-8") as file:
        if _locked(file):
            remove_stale_locks(results, folder)


def lock_name(results: str) -> str:
    """Name of the file that is locked while the results in a folder are computed."""
    parts = [part for part in Path(results).parts if part not in ("/", "..")]
    if parts[:1] == [RESULTS]:
        parts = parts[1:]
    return LOCK.format("-".join(parts) or RESULTS)


def remove_stale_locks(results: str, folder: Path = SNAKEMAKE) -> None:
    """Remove Snakemake's locks of results that no process computes, but for this one.

    One names files of a study, or of what all studies share.  It goes if it is of these results, or
    of what all share, and no other study that it names is computed.
    """
    running = [holder.results for holder in _others(results, folder)]
    for lock in (folder / "locks").glob("*.lock"):
        try:
            files = lock.read_text(encoding="utf-8").splitlines()
        except OSError:
            continue  # one that its run has just removed
        ours = any(_within(file, [results, SHARED]) for file in files)
        named = any(_within(file, [results]) for file in files)
        theirs = any(_within(file, running) for file in files)
        if ours and not theirs and (named or not running):
            lock.unlink(missing_ok=True)


def _within(file: str, folders: list[str]) -> bool:
    return any(
        not os.path.isabs(file) if folder == "." else file.startswith(f"{folder}/")
        for folder in folders
    )


def _others(results: str, folder: Path) -> list[Holder]:
    """Who computes other results from the same folder."""
    found = []
    for path in folder.glob(LOCK.format("*")):
        if path.name == lock_name(results):
            continue
        with open(path, "a+", encoding="utf-8") as file:
            if not _locked(file) and (holder := _holder(file)):
                found.append(holder)
    return found


def _locked(file: IO[str]) -> bool:
    """Lock a file for this process; False if another has it."""
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    except OSError as problem:
        if problem.errno not in NO_LOCKS:
            raise
        return not _alive(_holder(file))
    return True


def _holder(file: IO[str]) -> Holder | None:
    """Who wrote a lock; None where that cannot be read."""
    try:
        file.seek(0)
        return Holder(**json.loads(file.read()))
    except (ValueError, TypeError):
        return None


def _alive(holder: Holder | None) -> bool:
    """Whether a process still runs; one on another machine is taken to."""
    if holder is None:
        return False
    return holder.host != socket.gethostname() or _begun(holder.process) == holder.begun


def _begun(process: int) -> int | None:
    """When a process began, in ticks since its machine did; None if there is none."""
    try:
        text = Path(f"/proc/{process}/stat").read_text(encoding="utf-8")
    except OSError:
        return None
    # Its name, in parentheses, may have blanks in it.
    return int(text.rpartition(")")[2].split()[19])
