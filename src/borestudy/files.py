"""Result files and JSON: written whole or not at all, and refused by name where not whole."""

import csv
import errno
import json
import math
import os
import zipfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

#: How much of a file's end is looked at.
TAIL = 200
#: What the last line of each kind of file begins with.
LAST_LINES = {".msh": "$EndElements", ".vtu": "</VTKFile>"}
#: Reasons of a failed write that have to do with room.
NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)


class FileError(RuntimeError):
    """A file that cannot be written, or that is missing or not whole."""


@contextmanager
def replacing(path: Path | str) -> Iterator[Path]:
    """A path to write to, which becomes `path` at the end of the block.

    A reader sees the old file or the whole new one; whatever fails leaves the old one.  The folder
    is made.

    Raises
    ------
    FileError
        Naming the file, if it cannot be written or came out cut short.
    """
    path = Path(path)
    unfinished = path.with_name(f".{path.stem}.unfinished{path.suffix}")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        yield unfinished
        if damage(unfinished):  # which a library left without saying so
            raise FileError(
                f"{path}: cannot be written whole (is its disk full?); make room and run again"
            )
        os.replace(unfinished, path)
    except OSError as problem:
        reason = problem.strerror or str(problem)
        advice = "; make room and run again" if problem.errno in NO_ROOM else ""
        raise FileError(f"{path}: cannot be written ({reason}){advice}") from problem
    finally:
        unfinished.unlink(missing_ok=True)


def damage(path: Path | str) -> str | None:
    """Words for the sign that a file is not whole; None where there is no sign.

    Meshes and fields are known by their last line, archives by their check sums, tables by the
    number of cells in each line, or in Parquet by the mark at their end.  Of another file only its
    being empty is seen.
    """
    path = Path(path)
    if path.suffix == ".npz":
        try:
            with zipfile.ZipFile(path) as archive:
                broken = archive.testzip()
        except (zipfile.BadZipFile, EOFError):
            return "not an archive to its end"
        return f"{broken} is broken" if broken else None
    if path.suffix == ".csv":
        if not _end(path).endswith(b"\n"):
            return "its last line has no end"
        # Line by line: a study of thousands of cases has tables of a gigabyte.
        with open(path, encoding="utf-8", newline="") as lines:
            widths = {len(cells) for cells in csv.reader(lines) if cells}
        return "its lines have unequal numbers of cells" if len(widths) > 1 else None
    if path.suffix == ".parquet":
        return None if _end(path).endswith(b"PAR1") else "its end is missing"
    if path.suffix in LAST_LINES:
        expected = LAST_LINES[path.suffix]
        found = _end(path).split()[-1:]
        return None if found == [expected.encode()] else f"its last line is not {expected}"
    return None if path.stat().st_size else "empty"


def _end(path: Path) -> bytes:
    """The last bytes of a file."""
    with open(path, "rb") as stream:
        stream.seek(max(0, path.stat().st_size - TAIL))
        return stream.read()


def refuse_damaged(path: Path | str) -> None:
    """Refuse a result that is missing or not whole.

    Raises
    ------
    FileError
        Naming the file and what to do.
    """
    refuse_missing(path)
    if found := damage(path):
        raise FileError(not_whole(path, found))


def refuse_missing(path: Path | str) -> None:
    """Refuse a result that is missing, as `refuse_damaged` does."""
    if not Path(path).is_file():
        raise FileError(f"{path}: found no such file; delete {Path(path).parent} and run again")


def not_whole(path: Path | str, found: str) -> str:
    """The message for a result that is not whole."""
    return f"{path}: found a file that is not whole ({found}); delete it and run again"


def write_json(path: Path | str, value: Any) -> None:
    """Write JSON so that a reader sees the old file or the whole new one.

    NumPy's numbers and arrays become plain ones, paths text; NaN and infinities become null, since
    JSON has neither.
    """
    text = json.dumps(plain(value), indent=1, ensure_ascii=False, allow_nan=False) + "\n"
    with replacing(path) as unfinished:
        unfinished.write_text(text, encoding="utf-8")


def read_json(path: Path | str) -> Any:
    """Contents of a JSON file.

    Raises
    ------
    FileError
        If the file is missing or not whole.
    """
    refuse_missing(path)
    try:
        return json.loads(Path(path).read_text(encoding="utf-8"))
    except ValueError as problem:
        raise FileError(not_whole(path, str(problem))) from None


def plain(value: Any) -> Any:
    """Convert a value to dicts, lists, texts, finite numbers and None; else a `TypeError`."""
    if value is None or isinstance(value, str | int):
        return value
    if isinstance(value, float):
        return float(value) if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {str(key): plain(entry) for key, entry in value.items()}
    if isinstance(value, list | tuple):
        return [plain(entry) for entry in value]
    if isinstance(value, Path):
        return value.as_posix()
    # Told by its method, so that this module loads without NumPy.
    if hasattr(value, "tolist"):
        return plain(value.tolist())
    raise TypeError(f"found {value!r}; JSON has no form for {type(value).__name__}")
