"""What texts of a study may be where others take them: names of files, cells of tables, messages.

A study is data, perhaps of somebody else.  Its names of files become inputs of Snakemake, which
reads ``{…}`` as a wildcard, and cells of tables, of which a spreadsheet computes those that begin
like a formula; what it is told of its mistakes goes to a terminal, which obeys control characters.
"""

import hashlib
import re
from collections.abc import Mapping
from typing import Any

from borestudy.units import UnitError, quoted

#: How deep the values of a study may be nested.
MAX_DEPTH = 20
#: What a spreadsheet takes for the beginning of a formula.
FORMULAS = ("=", "+", "-", "@")
#: Longest name of a file with its folders, and of one of them [bytes], as Linux allows.
LONGEST_PATH, LONGEST_STEP = 1000, 255
#: Longest name of a case [characters], with room for the endings of its files.
LONGEST_CASE = 200
#: Lines and characters of a message, beyond which nobody reads on.
MOST_LINES, LONGEST_LINE = 30, 3000
#: Characters that steer a terminal or turn the direction of writing.
_STEERING = re.compile(
    r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069\ud800-\udfff]"
)


def plain(value: Any, depth: int = 0) -> Any:
    """Plain dicts and lists, copied; keys become text, since YAML also has numbers as keys.

    Raises
    ------
    ValueError
        If they are nested deeper than `MAX_DEPTH`, as without end.
    """
    if depth > MAX_DEPTH:
        raise ValueError(
            f"study: found values nested deeper than {MAX_DEPTH}; allowed are as many, for example "
            "bore: {stations: stations.csv}"
        )
    if isinstance(value, Mapping):
        return {str(key): plain(entry, depth + 1) for key, entry in value.items()}
    if isinstance(value, list | tuple):
        return [plain(entry, depth + 1) for entry in value]
    return value


def fault_of_path(path: str) -> str:
    """What of a path cannot be used as the name of a file, in words; empty where nothing.

    Examples
    --------
    >>> fault_of_path("readings/{case}.csv")
    'with a brace in it'
    """
    if _STEERING.search(path) or set(path) & set("\n\t"):
        return "with a control character in it"
    if set(path) & set("{}"):
        return "with a brace in it"
    if len(path.encode()) > LONGEST_PATH:
        return f"of more than {LONGEST_PATH} bytes"
    if max(len(step.encode()) for step in path.split("/")) > LONGEST_STEP:
        return f"of which a part has more than {LONGEST_STEP} bytes"
    return ""


def checked_path(text: str, allowed: str, example: str) -> str:
    """A name of a file or folder as the study writes it.

    Raises
    ------
    UnitError
        If it cannot be used, or would be computed by a spreadsheet.
    """
    fault = fault_of_path(text)
    if not fault and text.startswith(FORMULAS):
        fault = f"that begins with {text[0]!r}, as a formula of a spreadsheet does"
    if fault:
        raise UnitError(f"found {quoted(text)}, {fault}; allowed {allowed}", example)
    return text


def checked_folder(text: Any) -> Any:
    """The study's ``folder``; what is no text is left to be refused by the field."""
    if not isinstance(text, str):
        return text
    return checked_path(text, "is a folder relative to the study file", "measurements")


def printable(text: Any) -> Any:
    """A text without characters that steer a terminal; others are left to the field."""
    found = _STEERING.search(text) if isinstance(text, str) else None
    if found:
        raise UnitError(
            f"found {quoted(text)}, with the character #x{ord(found[0]):04x}; allowed is text",
            "Does rounding the throat entry lower the flow resistance?",
        )
    return text


def checked_line(text: Any, allowed: str, example: str) -> Any:
    """A line of text that may stand in a table; what is no text is left to the field.

    Raises
    ------
    UnitError
        If it is blank, has a control character, or would be computed by a spreadsheet.
    """
    if not isinstance(text, str):
        return text
    fault = ""
    if not text.strip():
        fault = "a blank text"
    elif _STEERING.search(text) or set(text) & set("\n\t"):
        fault = "with a control character in it"
    elif text.lstrip().startswith(FORMULAS):
        fault = "that begins like a formula of a spreadsheet"
    if fault:
        raise UnitError(f"found {quoted(text)}, {fault}; allowed {allowed}", example)
    return " ".join(text.split())


def shortened(name: str) -> str:
    """A name of a case that is a folder's name too: a long one ends in a check sum of the whole."""
    if len(name) <= LONGEST_CASE:
        return name
    digest = hashlib.sha256(name.encode()).hexdigest()[:12]
    return f"{name[: LONGEST_CASE - 13]}-{digest}"


def shown(message: str) -> str:
    """A message as a terminal shows it: its first lines, none too long, none that steer it."""
    lines = message.split("\n")
    more = len(lines) - MOST_LINES
    half = LONGEST_LINE // 2
    kept = [
        line if len(line) <= LONGEST_LINE else f"{line[:half]} ... {line[-half:]}"
        for line in lines[:MOST_LINES]
    ]
    if more > 0:
        kept.append(f"… and {more:,} more")
    return _STEERING.sub(lambda found: f"\\x{ord(found[0]):02x}", "\n".join(kept))
