"""Study files: YAML with messages that say where."""

from pathlib import Path
from typing import Any

import yaml

from borestudy.study.errors import StudyError
from borestudy.study.lines import located
from borestudy.study.study import Study, study_from_mapping
from borestudy.study.texts import MAX_DEPTH
from borestudy.units import quoted

#: Bounds of a study file: a sweep of ten thousand paired cases stays far below.
MAX_BYTES = 1_000_000
#: Values with all aliases written out.
MAX_VALUES = 100_000
_MERGE = "tag:yaml.org,2002:merge"
#: A line of a study file.
_LINE = "length: 88 mm"
_SIMPLE = "for example the studies in configs/"


class _TooMuch(yaml.MarkedYAMLError):
    """YAML that is beyond the bounds of a study file, though it is YAML."""


def _at(mark: Any, problem: str, kind: type[yaml.MarkedYAMLError] = yaml.MarkedYAMLError) -> Any:
    return kind(problem=problem, problem_mark=mark)


class _Loader(yaml.SafeLoader):
    """YAML's safe loader with bounds, which lets no key appear twice.

    Of two equal keys the first would be lost in silence.  Aliases make values of a file stand in
    many places: they are counted where they stand, before any of them is made.
    """

    def __init__(self, stream: str) -> None:
        super().__init__(stream)
        self._nesting = 0
        #: Values and depth of each node that is complete, by its identity.
        self._extent: dict[int, tuple[int, int]] = {}

    def compose_node(self, parent: Any, index: Any) -> Any:
        """The next node, refused where it is too large, too deep or contains itself."""
        mark = self.peek_event().start_mark
        alias = self.check_event(yaml.AliasEvent)
        self._nesting += 1
        self._refuse_excess(1, self._nesting, mark)
        node = super().compose_node(parent, index)
        self._nesting -= 1
        if not alias:
            self._extent[id(node)] = self._measure(node)
        elif id(node) not in self._extent:
            problem = "found an alias to what it stands in itself; allowed are aliases to values"
            raise _at(mark, f"{problem} that are complete, {_SIMPLE}", _TooMuch)
        values, depth = self._extent[id(node)]
        self._refuse_excess(values, self._nesting + depth, mark)
        return node

    def _measure(self, node: Any) -> tuple[int, int]:
        inside = [] if isinstance(node, yaml.ScalarNode) else node.value
        if isinstance(node, yaml.MappingNode):
            inside = [part for pair in inside for part in pair]
        extents = [self._extent[id(part)] for part in inside]
        deepest = max((depth for _, depth in extents), default=-1)
        return 1 + sum(values for values, _ in extents), 1 + deepest

    @staticmethod
    def _refuse_excess(values: int, depth: int, mark: Any) -> None:
        if values > MAX_VALUES:
            found = f"found {values} values with all aliases written out"
            raise _at(mark, f"{found}; allowed are {MAX_VALUES}, {_SIMPLE}", _TooMuch)
        if depth > MAX_DEPTH:
            found = f"found values nested {depth} deep"
            raise _at(mark, f"{found}; allowed is {MAX_DEPTH} deep, {_SIMPLE}", _TooMuch)

    def construct_object(self, node: Any, deep: bool = False) -> Any:
        """A value, with its line where YAML takes it for a number or a date that it is not."""
        try:
            value = super().construct_object(node, deep)
            if isinstance(value, int):
                float(value)  # which refuses what no number here can be
            return value
        except (ValueError, OverflowError, LookupError, AttributeError):
            found = f"found {quoted(node.value)}, which is no {node.tag.rsplit(':', 1)[-1]}"
            raise _at(node.start_mark, found) from None

    def construct_scalar(self, node: Any) -> Any:
        """A text, refused where an escape puts a character into it that YAML has not otherwise."""
        text = super().construct_scalar(node)
        beyond = self.NON_PRINTABLE.search(text)
        if beyond:
            raise _at(node.start_mark, f"found the character #x{ord(beyond[0]):04x}")
        return text

    def construct_mapping(self, node: Any, deep: bool = False) -> dict[Any, Any]:
        """A mapping whose keys are all different; those that are merged into it give way."""
        seen = set()
        for key_node, _ in node.value if isinstance(node, yaml.MappingNode) else []:
            key = key_node.tag != _MERGE and self.construct_object(key_node, deep=True)
            if not isinstance(key, str):
                continue
            if key in seen:
                raise _at(key_node.start_mark, f"found the key {key!r} twice in one mapping")
            seen.add(key)
        return super().construct_mapping(node, deep)


def load_study(path: Path | str) -> Study:
    """Read and validate a study file, a YAML file beside which the files it names are looked for.

    Raises
    ------
    StudyError
        If the file cannot be read, is not YAML, or is no study; with the line of each mistake.
    """
    path = Path(path)
    contents = read_yaml(path)
    with located(path):
        return study_from_mapping(contents, path.parent, path.stem)


def read_yaml(path: Path) -> Any:
    """Contents of a YAML file, without validation.

    Raises
    ------
    StudyError
        If the file cannot be read, is not YAML, or is too large or too deep for a study.
    """
    try:
        with open(path, encoding="utf-8") as stream:
            text = stream.read(MAX_BYTES + 1)
    except (OSError, UnicodeDecodeError) as problem:
        reason = getattr(problem, "strerror", None) or "not a text in UTF-8"
        raise StudyError(
            f"{path}: cannot be read ({reason}); allowed is a YAML file, "
            "for example configs/entry-rounding.yaml"
        ) from None
    if len(text) > MAX_BYTES:
        raise StudyError(
            f"{path}: found more than {MAX_BYTES:,} characters; allowed are as many, {_SIMPLE}"
        )
    try:
        return yaml.load(text, Loader=_Loader)
    except yaml.MarkedYAMLError as problem:
        mark = problem.problem_mark or problem.context_mark
        number = mark.line + 1 if mark else 1
        where = f"{path}, line {number}"
        if isinstance(problem, _TooMuch):
            raise StudyError(f"{where}: {problem.problem}") from None
        lines = text.splitlines()
        line = lines[number - 1] if number <= len(lines) else ""
        raise StudyError(
            f"{where}: not YAML: {problem.problem or problem.context} in {quoted(line.strip())}"
            f"{_hint(line)}"
        ) from None
    except yaml.reader.ReaderError as problem:
        number = text.count("\n", 0, problem.position) + 1
        raise StudyError(
            f"{path}, line {number}: not YAML: found the character #x{problem.character:04x}; "
            f"allowed is text, for example {_LINE}"
        ) from None


def _hint(line: str) -> str:
    if "\t" in line:
        return f"; allowed are spaces and no tabs, for example {_LINE}"
    if "]" in line:
        return '; allowed is a list with one unit in quotes, for example rates: "0.05, 0.1 L/s"'
    return f"; allowed is one 'key: value' a line, for example {_LINE}"
