"""A file of readings as rows of cells: its text, its notes and what stands between its cells."""

import csv
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from borestudy.bore.errors import BoreError
from borestudy.bore.measured.findings import Finding
from borestudy.units import quoted

#: Bound of a file of stations: those that can be meshed need a fiftieth of it.
MAX_CHARACTERS = 1_000_000
#: What may stand between cells, by the name it has in messages; sought in this order.
SEPARATORS = {";": "semicolons", "\t": "tabs", "|": "bars", ",": "commas", " ": "spaces"}
#: What a line of notes begins with.
NOTES = ("#", "//", "%", "!")
ALLOWED = "position_mm and diameter_mm, or position_in and diameter_in"
EXAMPLE = "a first line position_mm,diameter_mm"
#: A number with a point or a comma; not `float`, which also takes 1_6 for 16.
NUMBER = re.compile(r"[+-]?(\d+[.,]?\d*|[.,]\d+)([eE][+-]?\d{1,3})?", re.ASCII)
#: A cell that begins like a number and may have a unit behind it.
_BEGINS_AS_NUMBER = re.compile(r"\s*[+-]?[.,]?\d[^,;]*", re.ASCII)
#: What spreadsheets write in a first line of their own.
_DECLARED = re.compile(r'"?sep=(.)"?')
#: A note behind cells, which begins after a space or a digit; a size of a drill is none.
_NOTE_BEHIND = re.compile(r"(?<!drill)(?:\s+|(?<=\d))#.*$")


@dataclass(frozen=True)
class Row:
    """The cells of one line."""

    line: int
    cells: tuple[str, ...]


def refused(where: Path | str, problem: str, example: str) -> BoreError:
    """The error of a file, or of a place in it that a text names."""
    name = where.name if isinstance(where, Path) else where
    return BoreError("stations", f"{name}: {problem}, for example {example}")


def read_text(path: Path) -> tuple[str, list[Finding]]:
    """The text of a file in UTF-8, in UTF-16 with its mark, or else in the Windows alphabet.

    Raises
    ------
    BoreError
        If the file cannot be read, is too long or is no text.
    """
    try:
        with open(path, "rb") as stream:
            data = stream.read(4 * MAX_CHARACTERS + 4)
    except OSError as error:
        reason = f"cannot be read ({error.strerror})"
        raise refused(path, f"{reason}; allowed is a CSV file with {ALLOWED}", EXAMPLE) from None
    found = []
    try:
        if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
            text = data.decode("utf-16")
            found.append(Finding("text", (), "read as UTF-16, as its mark says"))
        else:
            text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        try:
            text = data.decode("cp1252")
        except UnicodeDecodeError:
            problem = "cannot be read (not a text in UTF-8)"
            message = f"{problem}; allowed is a CSV file with {ALLOWED}"
            raise refused(path, message, EXAMPLE) from None
        found.append(Finding("text", (), "not in UTF-8; read in the Windows alphabet (cp1252)"))
    if len(text) > MAX_CHARACTERS:
        raise refused(path, f"found more than {MAX_CHARACTERS:,} characters; allowed are as many",
                      "a station every tenth of a millimetre")  # fmt: skip
    return text, found


def content_lines(text: str) -> tuple[list[tuple[int, str]], str, list[Finding]]:
    """Lines with cells by their numbers, a separator that the file declares, and its notes."""
    lines: list[tuple[int, str]] = []
    declared, notes, behind = "", [], []
    for number, line in enumerate(text.splitlines(), start=1):
        bare = line.strip()
        if bare.lstrip('"').startswith(NOTES):
            notes.append(number)
        elif (match := _DECLARED.fullmatch(bare)) and not lines:
            declared = match[1]
        elif bare.strip(';,|\t "'):
            without = _NOTE_BEHIND.sub("", line)
            if without != line:
                behind.append(number)
            lines.append((number, without))
    found = []
    if notes:
        found.append(Finding("note", tuple(notes), "a note, not read"))
    if behind:
        found.append(Finding("note", tuple(behind), "a note behind #, not read"))
    return lines, declared, found


def split(name: str, number: int, line: str, separator: str) -> Row:
    """The cells of one line."""
    if separator == " ":
        # A unit in brackets belongs to the word before it.
        return Row(number, tuple(re.split(r"\s+(?![(\[])", line.strip())))
    try:
        (cells,) = csv.reader([line], delimiter=separator)
    except (csv.Error, ValueError):
        where = f"{name}, line {number}"
        problem = f"found {quoted(line)}, which is no line of a CSV file; allowed are cells with"
        raise refused(where, f"{problem} one separator", "11,3.66") from None
    return Row(number, tuple(cell.strip() for cell in cells))


def separator_of(
    name: str,
    lines: Sequence[tuple[int, str]],
    declared: str,
    is_header: Callable[[Row], bool],
) -> str:
    """What stands between cells: that which makes a header of some line, or numbers of one."""
    if declared:
        return declared
    first = next((k for k, (_, line) in enumerate(lines) if _BEGINS_AS_NUMBER.match(line)), None)
    head = lines[: len(lines) if first is None else first]
    for separator in SEPARATORS:
        for number, line in head:
            if separator in line and is_header(split(name, number, line, separator)):
                return separator
    line = (lines[first] if first is not None else lines[0])[1]
    for separator in SEPARATORS:
        if separator == "," and all(map(NUMBER.fullmatch, cells := line.split())) and cells[1:]:
            return " "  # decimal commas between spaces
        if separator in line.strip():
            return separator
    return ","
