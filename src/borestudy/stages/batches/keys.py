"""What each step of a case is made from, as a hash, and which steps are to be done."""

from collections import Counter
from collections.abc import Mapping
from contextlib import suppress
from functools import cache

from borestudy.files import FileError
from borestudy.provenance import value_hash, versions
from borestudy.stages.batches.record import CaseRecord, read_case_record
from borestudy.stages.batches.steps import Step, sources_of, steps_of
from borestudy.stages.batches.work import CaseWork
from borestudy.stages.layout import Layout


def keys_of(work: CaseWork, steps: Mapping[str, Step]) -> dict[str, str]:
    """Hash of everything that each step's results depend on, by the step's name.

    It is of the step's settings, of the contents of the files that it reads, of its sources, of
    the versions of what can change a number, and of the keys of the steps that it builds on.

    Raises
    ------
    FileError, OSError
        If a file that it depends on is missing.
    """
    keys: dict[str, str] = {}
    for name, step in steps.items():
        made_from = {
            "settings": step.settings(work),
            "source": work.sources[name],
            "versions": _versions(),
            "needs": [keys[one] for one in step.needs],
        }
        keys[name] = value_hash(made_from)
    return keys


def stale_steps(
    work: CaseWork, steps: Mapping[str, Step], keys: Mapping[str, str], record: CaseRecord
) -> list[str]:
    """Names of the steps of a case that are to be done, in order.

    A step is done again if its key is another, if a file of it is missing, cut short, or was not
    kept and now is to be; and ``mesh`` if a step that is done reads meshes that were not kept.
    """
    wanted = set(work.study.keep)
    stale = []
    for name in steps:
        done = record.steps.get(name)
        if (
            done is None
            or done.key != keys[name]
            or not wanted.isdisjoint(done.dropped)
            or not done.is_whole(work.home)
        ):
            stale.append(name)
    meshes = record.steps.get("mesh")
    dropped = meshes is not None and "meshes" in meshes.dropped and "mesh" not in stale
    if dropped and any(steps[name].reads_meshes for name in stale):
        stale.insert(0, "mesh")
    return stale


def stale_counts(layout: Layout) -> Counter[str]:
    """How many cases of a study each step is to be done for, by the step's name."""
    steps, sources = steps_of(layout), sources_of(layout)
    counts: Counter[str] = Counter()
    for case in layout.cases.values():
        work = CaseWork(layout, case, sources)
        names = list(steps)
        with suppress(FileError, OSError):
            names = stale_steps(work, steps, keys_of(work, steps), read_case_record(work.home))
        counts.update(names)
    return counts


def steps_in_words(layout: Layout) -> str:
    """How many cases of a study each step is to be done for, in a line."""
    counts = stale_counts(layout)
    if not counts:
        return "Steps of cases to be done: none."
    listed = ", ".join(f"{name} {count}" for name, count in counts.items())
    return f"Steps of cases to be done: {listed}."


@cache
def _versions() -> dict[str, str]:
    return versions()
