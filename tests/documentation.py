"""Columns as `results/README.md` documents them, for what compares them with real tables."""

import re
from pathlib import Path

PAGE = Path(__file__).parents[1] / "results" / "README.md"
PARTS = "(cup|entry|throat|backbore|pipe)"


def documented(table: str) -> list[str]:
    """Names of the section of a table, from the first cells of its rows or from its text.

    Parameters
    ----------
    table : str
        Name of the file, such as ``flow.csv``.
    """
    found = re.search(
        rf"^## {re.escape(table)}\n(.*?)(?=^## |\Z)", PAGE.read_text("utf-8"), re.M | re.S
    )
    assert found, f"results/README.md has no section {table}"
    cells = re.findall(r"^\| (.*?) \|", found[1], re.M) or [found[1]]
    return [name for cell in cells for name in re.findall(r"`([^`]+)`", cell)]


def pattern(name: str) -> str:
    """A documented name as a regular expression: … for any words, N a number, PART a part."""
    escaped = re.escape(name).replace("…", ".+").replace("PART", PARTS)
    return re.sub(r"(?<=_)N(?=_)", r"\\d+", escaped) + "((_measurement)?_uncertainty)?"


def undocumented(table: str, columns: list[str], varied: tuple[str, ...] = ()) -> list[str]:
    """Columns of a table that its section does not name; what a study varies is left out."""
    patterns = [pattern(name) for name in documented(table)]
    return [
        column
        for column in columns
        if column not in varied and not any(re.fullmatch(each, column) for each in patterns)
    ]


def without_column(table: str, columns: list[str]) -> list[str]:
    """Names of a section that no column of the table bears."""
    return [
        name
        for name in documented(table)
        if not any(re.fullmatch(pattern(name), column) for column in columns)
    ]
