"""Study files: YAML with messages that say where."""

from pathlib import Path
from typing import Any

import yaml

from borestudy.study.errors import StudyError
from borestudy.study.study import Study, study_from_mapping


class _Loader(yaml.SafeLoader):
    """YAML's safe loader, which lets a key appear twice: the first would be lost in silence."""

    def construct_mapping(self, node: Any, deep: bool = False) -> dict[Any, Any]:
        seen = set()
        for key_node, _ in node.value:
            key = self.construct_object(key_node, deep=True)
            if isinstance(key, str) and key in seen:
                raise yaml.MarkedYAMLError(
                    problem=f"found the key {key!r} twice in one mapping",
                    problem_mark=key_node.start_mark,
                )
            seen.add(key)
        return super().construct_mapping(node, deep)


def load_study(path: Path | str) -> Study:
    """Read and validate a study file.

    Parameters
    ----------
    path : path
        A YAML file; the files it names are looked for beside it.

    Returns
    -------
    Study

    Raises
    ------
    StudyError
        If the file cannot be read, is not YAML (with the line), or is no study.
    """
    path = Path(path)
    contents = read_yaml(path)
    try:
        return study_from_mapping(contents, path.parent, path.stem)
    except StudyError as problem:
        lines = str(problem).splitlines()
        raise StudyError(
            f"{path}: {lines[0]}" if len(lines) == 1 else "\n  ".join([f"{path}:", *lines])
        ) from None


def read_yaml(path: Path) -> Any:
    """Contents of a YAML file, without validation.

    Raises
    ------
    StudyError
        If the file cannot be read or is not YAML.
    """
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as problem:
        reason = getattr(problem, "strerror", None) or "not a text in UTF-8"
        raise StudyError(
            f"{path}: cannot be read ({reason}); allowed is a YAML file, "
            "for example configs/entry-rounding.yaml"
        ) from None
    try:
        return yaml.load(text, Loader=_Loader)
    except yaml.MarkedYAMLError as problem:
        mark = problem.problem_mark or problem.context_mark
        number = mark.line + 1 if mark else 1
        lines = text.splitlines()
        line = lines[number - 1] if number <= len(lines) else ""
        raise StudyError(
            f"{path}, line {number}: not YAML: {problem.problem or problem.context} in "
            f"{line.strip()!r}{_hint(line)}"
        ) from None
    except yaml.YAMLError as problem:
        raise StudyError(f"{path}: not YAML: {' '.join(str(problem).split())}") from None


def _hint(line: str) -> str:
    if "\t" in line:
        return "; allowed are spaces and no tabs"
    if "]" in line:
        return '; a list with one unit is written in quotes, for example rates: "0.05, 0.1 L/s"'
    return "; allowed is one 'key: value' a line, for example length: 88 mm"
