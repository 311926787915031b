"""What Snakemake would trip over before a run: files of the future, and its records cut short.

Snakemake takes a file that is younger than what was made from it for changed, and stops where what
it has just made is older than what it was made from.  After a clock was set back both are so.
"""

import json
import os
import shutil
import time
from base64 import urlsafe_b64decode
from collections.abc import Iterable
from datetime import UTC, datetime
from pathlib import Path

from borestudy.files import FileError
from borestudy.stages.running.locks import SNAKEMAKE

#: Clocks of a file system and of a machine that are so far apart count as the same [s].
SAME = 2.0
#: Between the times that files of the future are given [s]: their order stays.
APART = 1e-3
#: Folder of what Snakemake does not know: the cases have records of their own, without times.
CASES = "cases"


def refuse_future_inputs(paths: Iterable[Path]) -> None:
    """Refuse files of a study whose times of change are yet to come.

    Raises
    ------
    FileError
        Naming the first, and what to do.
    """
    now = time.time()
    for path in sorted(set(paths)):
        if path.is_file() and (changed := path.stat().st_mtime) > now + SAME:
            raise FileError(
                f"{path}: found a time of change in the future ({_words(changed)}; now it is "
                f"{_words(now)}), after which nothing can be newer; set the machine's clock right, "
                f"or give the file the time of now, for example touch {path}"
            )


def settle_times(results: str) -> int:
    """Give results of the future times just before now, in their order; how many there were."""
    now, future = time.time(), []
    for folder, names, files in os.walk(results):
        if Path(folder) == Path(results):
            names[:] = [name for name in names if name != CASES]
        for name in files:
            path = os.path.join(folder, name)
            changed = os.stat(path, follow_symlinks=False).st_mtime
            if changed > now + SAME:
                future.append((changed, path))
    times = sorted({changed for changed, _ in future})
    place = {changed: now - APART * (len(times) - number) for number, changed in enumerate(times)}
    for changed, path in future:
        os.utime(path, (place[changed], place[changed]), follow_symlinks=False)
    return len(future)


def forget_cut_records(results: str, folder: Path = SNAKEMAKE) -> list[str]:
    """Remove Snakemake's records that are cut short, and the results that they are of.

    Without its record Snakemake would take a result for up to date whatever it was made from.  The
    results are made again; cases have records of their own, and are not.

    Returns
    -------
    list of str
        The results that were removed.
    """
    removed = []
    records = folder / "metadata"
    for path in sorted(path for path in records.rglob("*") if path.is_file()):
        if _is_whole(path):
            continue
        result = _result_of(path.relative_to(records))
        path.unlink()
        if result is not None and _lies_in(result, results) and os.path.lexists(result):
            is_folder = os.path.isdir(result) and not os.path.islink(result)
            shutil.rmtree(result) if is_folder else os.unlink(result)
            removed.append(result)
    return removed


def _is_whole(record: Path) -> bool:
    try:
        return isinstance(json.loads(record.read_text(encoding="utf-8")), dict)
    except ValueError:
        return False


def _result_of(record: Path) -> str | None:
    """The result that a record is of, by its name in base 64, cut into folders where it is long."""
    try:
        return urlsafe_b64decode("".join(part.lstrip("@") for part in record.parts)).decode()
    except ValueError:
        return None


def _lies_in(result: str, folder: str) -> bool:
    path = os.path.abspath(result)
    return path.startswith(os.path.abspath(folder) + os.sep)


def _words(moment: float) -> str:
    return datetime.fromtimestamp(moment, UTC).strftime("%Y-%m-%d %H:%M UTC")
