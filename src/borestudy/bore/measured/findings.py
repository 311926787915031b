"""What was found in a file of readings, and what was done about it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

#: Kinds of findings that a reader should look at before believing the bore.
CAUTIONS = ("outlier", "doubtful station", "step not suggested", "noise", "left out")


@dataclass(frozen=True)
class Finding:
    """One thing that a file of readings has, with what was made of it.

    Attributes
    ----------
    kind : str
        A word or two, such as ``unit``, ``decimal comma``, ``repeated readings``, ``step``.
    lines : tuple of int
        Lines of the file that it is about; none if it is about the whole file.
    text : str
        What was found and what was done, in words.
    """

    kind: str
    lines: tuple[int, ...]
    text: str

    @property
    def caution(self) -> bool:
        """Whether it should be looked at before the bore is believed."""
        return self.kind in CAUTIONS

    def told(self, name: str) -> str:
        """The finding as a line about a file."""
        return f"{place(name, self.lines)}: {self.text}"


def place(name: str, lines: Sequence[int]) -> str:
    """A file and lines of it: ``bore.csv, lines 3 to 5, 9``."""
    if not lines:
        return name
    return f"{name}, line{'s' if len(lines) > 1 else ''} {listed(lines)}"


def listed(lines: Iterable[int]) -> str:
    """Numbers in ascending order, runs of three and more by their ends: ``3 to 5, 9``."""
    numbers = sorted(set(lines))
    cuts = [k for k, (a, b) in enumerate(pairwise(numbers), start=1) if b != a + 1]
    runs = [numbers[a:b] for a, b in pairwise([0, *cuts, len(numbers)])]
    return ", ".join(
        f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs
    )
