"""What a case's folder holds, what it was made from and what that took: ``case.json``."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from borestudy.files import FileError
from borestudy.records import read_record, write_record

RECORD = "case.json"


@dataclass(frozen=True, kw_only=True)
class StepRecord:
    """A step that was done.

    Attributes
    ----------
    key : str
        Hash of everything that the step's results depend on.
    files : dict
        Bytes of each file that was kept, by its path in the case's folder.
    dropped : tuple of str
        Kinds of files that were not kept: ``fields``, ``meshes``.
    wall_time_s, cpu_time_s, peak_memory_MB : float
        What it took, gmsh's processes included but in the memory.
    """

    key: str
    files: Mapping[str, int]
    dropped: tuple[str, ...] = ()
    wall_time_s: float
    cpu_time_s: float
    peak_memory_MB: float

    def is_whole(self, home: Path) -> bool:
        """Whether each file that was kept is in the case's folder with its size."""
        try:
            return all((home / name).stat().st_size == size for name, size in self.files.items())
        except OSError:
            return False


@dataclass(frozen=True, kw_only=True)
class Failure:
    """Why a case has not all of its results.

    Attributes
    ----------
    step : str
        The step that did not end; empty where none had begun.
    kind : {"memory", "time", "killed", "error"}
        What ended it.
    words : str
        What a reader is told.
    """

    step: str
    kind: str
    words: str


@dataclass(frozen=True, kw_only=True)
class CaseRecord:
    """The steps of a case that were done, by their names, and why others were not."""

    steps: Mapping[str, StepRecord] = field(default_factory=dict)
    failure: Failure | None = None

    def with_step(self, name: str, done: StepRecord) -> "CaseRecord":
        """The record with one more step, or one done again."""
        return replace(self, steps={**self.steps, name: done}, failure=None)

    def without_step(self, name: str) -> "CaseRecord":
        """The record without a step that is about to be done again."""
        others = {other: done for other, done in self.steps.items() if other != name}
        return replace(self, steps=others)

    def is_whole(self, home: Path, steps: Iterable[str], keep: Iterable[str]) -> bool:
        """Whether nothing failed, and every file of these steps that is to be kept is there."""
        wanted = set(keep)
        found = [self.steps.get(name) for name in steps]
        return self.failure is None and all(
            one is not None and wanted.isdisjoint(one.dropped) and one.is_whole(home)
            for one in found
        )


def read_case_record(home: Path) -> CaseRecord:
    """The record in a case's folder; one without any step where there is none, or no whole one."""
    try:
        return read_record(home / RECORD, CaseRecord)
    except (FileError, TypeError, AttributeError):
        # The steps are then done again, each of which writes it anew.
        return CaseRecord()


def write_case_record(home: Path, record: CaseRecord) -> None:
    """Write a case's record, whole or not at all."""
    write_record(home / RECORD, record)
