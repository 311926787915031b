"""Lines of a study file, for messages that name a key."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import yaml

from borestudy.study.errors import StudyError, dotted

#: What may stand before the key in a message: the case that it is of.
_CASE = re.compile(r"case \S+: ")


def with_lines(path: Path | str, message: str) -> str:
    """A message of one line a mistake, with the file and the line of each mistake's key.

    A key that the file has not, as one that is missing, has the line of the section that it
    belongs to.
    """
    lines = _lines_of_keys(Path(path))
    told = [(_line_of(mistake, lines), mistake) for mistake in message.splitlines()]
    if len(told) == 1:
        ((line, mistake),) = told
        return f"{path}, line {line}: {mistake}" if line else f"{path}: {mistake}"
    listed = [f"line {line}: {mistake}" if line else mistake for line, mistake in told]
    return "\n  ".join([f"{path}:", *listed])


@contextmanager
def located(path: Path | str) -> Iterator[None]:
    """Put file and lines to what is said against a study within, unless the file is named in it."""
    try:
        yield
    except StudyError as problem:
        message = str(problem)
        if message.startswith(str(path)):
            raise
        raise StudyError(with_lines(path, message)) from None


def _line_of(mistake: str, lines: dict[str, int]) -> int | None:
    """The line that a mistake's key stands in, or the nearest section above it."""
    case = _CASE.match(mistake)
    key, separator, _ = mistake[case.end() if case else 0 :].partition(": ")
    while separator and key:
        if key in lines:
            return lines[key]
        key = re.sub(r"(?:\[\d+\]|\.[^.\[\]]*|^[^.\[\]]*)$", "", key)
    return None


def _lines_of_keys(path: Path) -> dict[str, int]:
    """The line of every dotted key of a YAML file; none where it cannot be read as one."""
    try:
        root = yaml.compose(path.read_text(encoding="utf-8"), Loader=yaml.SafeLoader)
    except (OSError, UnicodeDecodeError, yaml.YAMLError, RecursionError):
        return {}
    found: dict[str, int] = {}
    _note(root, "", found, ())
    return found


def _note(node: Any, key: str, found: dict[str, int], above: tuple[int, ...]) -> None:
    if id(node) in above:  # an alias to what it stands in
        return
    above = (*above, id(node))
    if isinstance(node, yaml.MappingNode):
        for name, value in node.value:
            if isinstance(name, yaml.ScalarNode):
                inner = dotted(key, name.value) if key else name.value
                found.setdefault(inner, name.start_mark.line + 1)
                _note(value, inner, found, above)
    elif isinstance(node, yaml.SequenceNode):
        for index, value in enumerate(node.value):
            inner = dotted(key, index)
            found.setdefault(inner, value.start_mark.line + 1)
            _note(value, inner, found, above)
