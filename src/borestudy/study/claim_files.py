"""Claims as a file holds them, CSV or YAML: texts by their columns, and the lines they are on."""

import csv
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from borestudy.study.errors import StudyError, suggest
from borestudy.study.load import MAX_BYTES, read_yaml
from borestudy.units import quoted

#: What a claim may say, each with an example.
COLUMNS = {
    "quantity": "flow resistance at 0.05 L/s",
    "case": "entry-square",
    "dimensions": "throat.diameter: drill 27",
    "value": "0.30",
    "unit": "kPa·s/L",
    "tolerance": "2 %",
    "where": "section 3.2",
}
NEEDED = ("quantity", "value")
HEADER = "quantity,case,value,unit,tolerance,where"
KINDS = (".csv", ".yaml", ".yml")
MOST_CLAIMS = 1000
#: Longest line of a CSV file.
LONGEST_LINE = 20_000


@dataclass(frozen=True)
class Entry:
    """One claim as written: its line, and its texts by column; what is left out is missing."""

    line: int
    cells: Mapping[str, Any]


def read_entries(path: Path) -> list[Entry]:
    """All claims of a CSV or YAML file, in their order.

    Raises
    ------
    StudyError
        One line a mistake: the line of the file, which column or key, what was found, what is
        allowed, an example.
    """
    entries = _from_csv(path) if path.suffix.lower() == ".csv" else _from_yaml(path)
    if not entries:
        raise StudyError(
            f"{path}: found no claim; allowed is at least one, for example "
            + (HEADER if path.suffix.lower() == ".csv" else _YAML)
        )
    if len(entries) > MOST_CLAIMS:
        raise StudyError(
            f"{path}: found {len(entries):,} claims; allowed are {MOST_CLAIMS:,}, for example one "
            "file a chapter"
        )
    return entries


def _unknown(place: str, word: str, key: str) -> str:
    return f"{place}: {key}: unknown {word}; {suggest(key, COLUMNS)}"


def _lines_of_csv(path: Path) -> list[tuple[int, str]]:
    """Lines with their numbers, without comments and empty ones."""
    try:
        with open(path, encoding="utf-8-sig", newline="") as stream:
            text = stream.read(MAX_BYTES + 1)
    except (OSError, UnicodeDecodeError) as problem:
        reason = getattr(problem, "strerror", None) or "not a text in UTF-8"
        raise StudyError(
            f"{path}: cannot be read ({reason}); allowed is a CSV file of claims, for example one "
            f"that begins {HEADER}"
        ) from None
    if len(text) > MAX_BYTES:
        raise StudyError(
            f"{path}: found more than {MAX_BYTES:,} characters; allowed are as many, for example "
            "one file a chapter"
        )
    lines = enumerate(text.splitlines(), start=1)
    return [(number, line) for number, line in lines if line.strip(" \t;,") and line[0] != "#"]


def _from_csv(path: Path) -> list[Entry]:
    lines = _lines_of_csv(path)
    if not lines:
        return []
    number, head = lines[0]
    delimiter = ";" if ";" in head else "\t" if "\t" in head and "," not in head else ","
    columns = [_cell.strip().lower() for _cell in _cells(head, delimiter)]
    place = f"{path}, line {number}"
    mistakes = [_unknown(place, "column", name) for name in columns if name not in COLUMNS]
    mistakes += [
        f"{place}: {name}: found twice; allowed is one column of each name, for example {HEADER}"
        for name in COLUMNS
        if columns.count(name) > 1
    ]
    mistakes += [
        f"{place}: {name}: missing; needed is a column of that name, for example {HEADER}"
        for name in NEEDED
        if name not in columns and not mistakes  # of which one may be this one, misspelled
    ]
    if mistakes:
        raise StudyError("\n".join(mistakes))
    found = []
    for number, line in lines[1:]:
        cells = [cell.strip() for cell in _cells(line, delimiter)]
        if len(cells) != len(columns):
            mistakes.append(
                f"{path}, line {number}: found {len(cells)} cells; allowed are the "
                f"{len(columns)} of the first line, a cell that holds {quoted(delimiter)} in "
                'quotes, for example "throat.diameter: drill 27, cup.depth: 10 mm"'
            )
            continue
        if delimiter == ";":  # as spreadsheets write it where the decimal sign is a comma
            cells = [_with_point(name, cell) for name, cell in zip(columns, cells, strict=True)]
        pairs = zip(columns, cells, strict=True)
        found.append(Entry(number, {name: cell for name, cell in pairs if cell}))
    if mistakes:
        raise StudyError("\n".join(mistakes))
    return found


def _cells(line: str, delimiter: str) -> list[str]:
    if len(line) > LONGEST_LINE:
        return [line]  # which is refused for its number of cells; longer ones `csv` does not take
    return next(csv.reader([line], delimiter=delimiter, skipinitialspace=True), [])


def _with_point(column: str, cell: str) -> str:
    return cell.replace(",", ".") if column in ("value", "tolerance") else cell


_YAML = "- {quantity: resonance, value: 812 Hz, tolerance: 2 Hz, where: section 3.2}"


def _from_yaml(path: Path) -> list[Entry]:
    contents = read_yaml(path)
    root = yaml.compose(path.read_text(encoding="utf-8"), Loader=yaml.SafeLoader)
    place = str(path)
    if isinstance(contents, Mapping):
        unknown = [str(key) for key in contents if key != "claims"]
        if unknown or "claims" not in contents:
            found = unknown[0] if unknown else "claims"
            word = "unknown key" if unknown else "missing"
            raise StudyError(
                f"{place}: {found}: {word}; allowed is claims alone, a list, for example {_YAML}"
            )
        assert isinstance(root, yaml.MappingNode)
        contents, root = contents["claims"], root.value[0][1]
        place = f"{path}: claims"
    if not isinstance(contents, list) or not isinstance(root, yaml.SequenceNode):
        raise StudyError(
            f"{place}: found {quoted(contents)}; allowed is a list of claims, for example {_YAML}"
        )
    entries, mistakes = [], []
    for value, node in zip(contents, root.value, strict=True):
        line = node.start_mark.line + 1
        where = f"{path}, line {line}"
        if not isinstance(value, Mapping):
            mistakes.append(
                f"{where}: found {quoted(value)}; allowed is a mapping, for example {_YAML[2:]}"
            )
            continue
        mistakes += list(_mistakes_of_keys(path, value, node))
        cells = {key: cell for key, cell in value.items() if cell is not None}
        entries.append(Entry(line, cells))
    if mistakes:
        raise StudyError("\n".join(mistakes))
    return entries


def _mistakes_of_keys(path: Path, value: Mapping[Any, Any], node: yaml.Node) -> Iterator[str]:
    lines = {key.value: key.start_mark.line + 1 for key, _ in node.value}
    unknown = [key for key in map(str, value) if key not in COLUMNS]
    for key in unknown:
        line = lines.get(key, node.start_mark.line + 1)
        yield _unknown(f"{path}, line {line}", "key", key)
    for key, cell in value.items():
        may_be = str | Mapping if key == "dimensions" else str | int | float | None
        if key in COLUMNS and (isinstance(cell, bool) or not isinstance(cell, may_be)):
            line = lines.get(key, node.start_mark.line + 1)
            yield (
                f"{path}, line {line}: {key}: found {quoted(cell)}; allowed is a text, for example "
                f"{COLUMNS[key]}"
            )
    for key in NEEDED:
        if key not in value and not unknown:
            line = node.start_mark.line + 1
            yield (
                f"{path}, line {line}: {key}: missing; needed is a text, for example {COLUMNS[key]}"
            )
