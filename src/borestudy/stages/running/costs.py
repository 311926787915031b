"""What a study costs: seconds of each of its jobs, and how long so many cores take for all."""

import csv
import heapq
from collections.abc import Hashable, Mapping
from pathlib import Path
from typing import TypeVar

from borestudy.stages.layout import Layout
from borestudy.stages.plan import air_name
from borestudy.stages.running.seconds import (
    EACH,
    IMPORTS,
    SECONDS,
    STARTING,
    UNKNOWN,
    shipped_seconds,
)
from borestudy.stages.verified import is_kept, settings_of, source_of_verification

#: Seconds of a verification that is there already.
COPYING = 0.5
Job = TypeVar("Job", bound=Hashable)
#: A rule, and the case or the air that it is for.
Planned = tuple[str, str]


def recorded_seconds(results: Path) -> dict[str, float]:
    """Mean seconds of a job of each rule in the ``benchmarks.csv`` of a study's results."""
    path = results / "benchmarks.csv"
    if not path.is_file():
        return {}
    found: dict[str, list[float]] = {}
    try:
        with open(path, encoding="utf-8", newline="") as stream:
            for row in csv.DictReader(stream):
                found.setdefault(row["rule"], []).append(float(row["wall_time_s"]))
    except (KeyError, TypeError, ValueError):
        return {}  # a file cut short says nothing
    return {rule: sum(times) / len(times) for rule, times in found.items()}


def job_seconds(layout: Layout, results: Path | None = None) -> dict[str, float]:
    """Expected seconds of a job of each rule of a study, recorded ones before shipped ones."""
    study = layout.study
    size = (study.mesh.resolution, len(study.flow.rates), len(layout.cases))
    shipped = {rule: shipped_seconds(rule, *size) for rule in SECONDS}
    expected = shipped | (recorded_seconds(results) if results is not None else {})
    most = max(map(len, layout.batches.values()))
    expected["solve"] = IMPORTS + most * sum(expected[step] for step in layout.steps)
    for physics in layout.verified:
        # What was recorded may have been the time of taking a copy.
        rule = f"verify_{physics}"
        expected[rule] = COPYING if _is_verified(layout, physics) else shipped[rule]
    return expected


def _is_verified(layout: Layout, physics: str) -> bool:
    """Whether another study has left a verification that this one will take."""
    settings = settings_of(
        physics,
        layout.study.mesh.resolution,
        layout.first_conditions(),
        source_of_verification(physics),
    )
    return is_kept(settings, Path(layout.verifications))


def planned_jobs(layout: Layout) -> dict[Planned, set[Planned]]:
    """All jobs of a study, each with those it waits for, as the workflow's rules have them."""
    needs: dict[Planned, set[Planned]] = {("resolve", ""): set()}
    needs |= {("air", air): set() for air in layout.airs}
    for batch, names in layout.batches.items():
        used = {("air", air_name(layout.cases[name])) for name in names}
        needs["solve", batch] = used
    airs = {("air", air) for air in layout.airs}
    for physics in layout.verified:
        needs[f"verify_{physics}", ""] = set()
    if layout.of_wish():
        needs["wish", ""] = set(airs)
    needs["tolerances", ""] = {("solve", next(iter(layout.batches)))}
    needs["collate", ""] = {*needs}
    if layout.of_claims():
        needs["claims", ""] = {("solve", batch) for batch in layout.batches}
    needs["benchmarks", ""] = {*needs} - {("collate", "")}
    needs["figures", ""] = {("collate", ""), ("benchmarks", "")}
    needs["report", ""] = {("figures", "")}
    needs["verdict", ""] = {("report", "")}
    return needs


def time_left(seconds: Mapping[Job, float], needs: Mapping[Job, set[Job]], cores: int) -> float:
    """Seconds until all jobs have ended, if each takes a core as long as expected.

    Parameters
    ----------
    seconds : dict
        Expected seconds of each job that has not ended; those first that are started first where
        several may be.
    needs : dict
        What each of them waits for; jobs that are not in `seconds` have ended.
    cores : int
        How many run at once.
    """
    waits = {job: {one for one in needs.get(job, ()) if one in seconds} for job in seconds}
    followers: dict[Job, list[Job]] = {}
    for job, before in waits.items():
        for one in before:
            followers.setdefault(one, []).append(job)
    place = {job: number for number, job in enumerate(seconds)}
    names = list(seconds)
    ready = [place[job] for job, before in waits.items() if not before]
    heapq.heapify(ready)
    running: list[tuple[float, int]] = []
    now = 0.0
    while ready or running:
        while ready and len(running) < max(cores, 1):
            number = heapq.heappop(ready)
            heapq.heappush(running, (now + seconds[names[number]], number))
        now, number = heapq.heappop(running)
        for job in followers.get(names[number], []):
            waits[job].discard(names[number])
            if not waits[job]:
                heapq.heappush(ready, place[job])
    return now


def expected_time(layout: Layout, cores: int, results: Path | None = None) -> float:
    """Seconds that a study takes from its beginning on so many cores."""
    of_rule = job_seconds(layout, results)
    needs = planned_jobs(layout)
    # The longest first, as the workflow's priorities have it.
    order = sorted(needs, key=lambda job: -of_rule.get(job[0], UNKNOWN))
    seconds = {job: of_rule.get(job[0], UNKNOWN) + EACH for job in order}
    return STARTING + time_left(seconds, needs, cores)


def in_words(seconds: float) -> str:
    """A time to be waited, as exactly as it can be known: ``about 40 s``, ``about 3 min``."""
    if seconds < 10:
        return "a few seconds"
    if seconds < 90:
        return f"about {10 * round(seconds / 10)} s"
    if seconds < 5400:
        return f"about {round(seconds / 60)} min"
    return f"about {seconds / 3600:.1f} h"
