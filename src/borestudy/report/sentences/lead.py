"""The begin of a sentence: what a bore has instead of another."""

from borestudy.report.sentences.words import listed, value_text
from borestudy.results.case import CaseResults, split_column


def word(case: CaseResults, column: str) -> str:
    """What a reader is told of one varied dimension of a case."""
    found = case.words.get(column)
    if column in ("entry", "entry_radius_mm"):
        found = found or str(case.varied.get("entry"))
        return f"the throat entry {found.removeprefix('entry ')}"
    return found or f"{split_column(column)[0]} {value_text(column, case.varied.get(column))}"


def told(case: CaseResults, columns: list[str]) -> str:
    """All that is varied of a case, in words."""
    return listed([word(case, column) for column in columns]) or "this bore"


def instead(case: CaseResults, base: CaseResults, columns: list[str]) -> str:
    """``With the throat entry rounded 2 mm instead of square``.

    Words that both begin with are said once.
    """
    ours, theirs = told(case, columns), told(base, columns)
    other = theirs.split(" ")
    if len(columns) == 1:
        common = 0
        for one, another in zip(ours.split(" "), other[:-1], strict=False):
            if one != another:
                break
            common += 1
        other = other[common:]
    return f"With {ours} instead of {' '.join(other)}"


def instead_of(case: CaseResults, base: CaseResults, columns: list[str]) -> str:
    """The same of those dimensions alone that differ."""
    differing = [one for one in columns if case.varied.get(one) != base.varied.get(one)]
    return instead(case, base, differing or columns)
