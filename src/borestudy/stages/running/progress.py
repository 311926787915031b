"""What a running workflow tells whoever waits: jobs done, running, and the time left.

Snakemake's own lines, one and more a job, are for those who look for a fault: its log in
``.snakemake/log`` has them.  Its warnings and errors are passed on.
"""

import logging
import os
import sys
import threading
import time
from collections import Counter
from pathlib import Path
from typing import Any, TextIO

from borestudy.stages.layout import Layout
from borestudy.stages.running.costs import EACH, UNKNOWN, in_words, job_seconds, time_left

#: Environment variable with the folder from which paths are told; set by `borestudy run`.
FOLLOWED = "BORESTUDY_FOLLOWED_FROM"
#: Seconds between two lines, on a terminal and in a file.
EVERY, EVERY_IN_FILE = 1.0, 15.0
#: Weight of the expected times beside the measured ones [s].
TRUST = 30.0
#: What rules are called where people read.
WORDS = {
    "resolve": "study", "air": "air", "solve": "bores",
    "verify_acoustics": "check of the acoustics", "verify_flow": "check of the flow",
    "verify_playing": "check of the tone",
    "tolerances": "tolerances", "wish": "wish", "claims": "claims", "collate": "tables",
    "figures": "figures", "report": "report", "verdict": "verdict", "benchmarks": "times",
}  # fmt: skip


class Progress(logging.Handler):
    """A handler of Snakemake's log that writes a line or two about how far the run has come.

    Parameters
    ----------
    workflow : snakemake.workflow.Workflow
        Whose graph of jobs is read.
    layout : Layout
        Of the study.
    results : Path
        Folder of its results, whose recorded times go before the shipped ones.
    stream : file
        What is written to.
    """

    def __init__(
        self, workflow: Any, layout: Layout, results: Path, stream: TextIO = sys.stderr
    ) -> None:
        super().__init__()
        self.workflow, self.stream = workflow, stream
        self.expected = job_seconds(layout, results)
        self.left: dict[Any, float] = {}
        self.needs: dict[Any, set[Any]] = {}
        self.running: dict[Any, float] = {}
        self.total = 0
        self.measured = self.foreseen = 0.0
        self.written = 0.0
        self.open_line = False
        self.rewrites = stream.isatty()

    def emit(self, record: logging.LogRecord) -> None:
        """Take note of an event, and write a line if it is time for one."""
        event = str(getattr(record, "event", None) or "")
        try:
            if event == "run_info":
                self.begin()
            elif event == "job_info":
                self._started(getattr(record, "jobid", None))
            elif event == "job_finished":
                self._finished(getattr(record, "job_id", None))
        except Exception as problem:  # how far a run has come must not stop it
            self.say(f"(no more progress is shown: {problem!r})", always=True)
            self.left = {}

    def begin(self) -> None:
        """Read what there is to do."""
        dag = self.workflow.dag
        jobs = sorted(dag.needrun_jobs(), key=lambda job: -job.priority)
        self.left = {job.jobid: self._seconds(job) for job in jobs if job.rule.name != "all"}
        self.words = {job.jobid: described(job) for job in jobs}
        self.needs = {job.jobid: {one.jobid for one in dag.dependencies[job]} for job in jobs}
        self.total = len(self.left)
        if self.total:
            count = "1 job" if self.total == 1 else f"{self.total} jobs"
            self.say(f"{count} to do, {in_words(self.time_left())} altogether", always=True)
            if self.rewrites:
                threading.Thread(target=self._tick, daemon=True).start()

    def time_left(self) -> float:
        """Seconds until the run ends, by what this machine has shown itself to take."""
        factor = (self.measured + TRUST) / (self.foreseen + TRUST)
        now = time.monotonic()
        seconds = {}
        for job, expected in [*self.left.items()]:
            whole = factor * expected
            begun = self.running.get(job)
            # One that takes longer than expected is taken to have a tenth of it before it.
            seconds[job] = whole if begun is None else max(whole - (now - begun), 0.1 * whole)
        first = [job for job in seconds if job in self.running]
        ordered = {job: seconds[job] for job in [*first, *seconds]}
        return time_left(ordered, self.needs, self.at_once() or len(self.running) or 1)

    def at_once(self) -> int | None:
        """How many jobs may run at once: cores here, or jobs that a cluster is given."""
        from snakemake.exceptions import WorkflowError

        try:
            found = self.workflow.cores
        except WorkflowError:  # on a cluster nobody says how many there are
            found = self.workflow.nodes
        return found if isinstance(found, int) else None

    def line(self) -> str:
        """How far the run has come."""
        done = self.total - len(self.left)
        named = Counter(self.words[job] for job in [*self.running])
        now = ", ".join(
            name if count == 1 else f"{count} × {name}" for name, count in named.most_common(3)
        )
        shown = f"{done} of {self.total} jobs done"
        if self.left:
            shown += f", {in_words(self.time_left())} left"
        return f"{shown}; now: {now}" if now else shown

    def say(self, text: str, always: bool = False) -> None:
        """Write a line, in place of the last one on a terminal, if it is time for one."""
        now = time.monotonic()
        if not always and now - self.written < (EVERY if self.rewrites else EVERY_IN_FILE):
            return
        self.written = now
        if self.rewrites:
            self.stream.write(f"\r\x1b[K{text[: columns(self.stream)]}")
            self.open_line = True
        else:
            self.stream.write(f"{text}\n")
        self.stream.flush()

    def end_line(self) -> None:
        """Leave what is on the terminal, so that something else may be written below."""
        if self.open_line:
            self.stream.write("\n")
            self.stream.flush()
        self.open_line = False

    def close(self) -> None:
        """End the last line."""
        self.end_line()
        super().close()

    def _seconds(self, job: Any) -> float:
        name = job.rule.name
        if name.startswith("solve_validation"):
            return 60.0
        return self.expected.get(name, UNKNOWN) + EACH

    def _started(self, job: Any) -> None:
        if job in self.left:
            self.running[job] = time.monotonic()
            self.say(self.line())

    def _finished(self, job: Any) -> None:
        if job not in self.left:
            return
        begun = self.running.pop(job, None)
        expected = self.left.pop(job)
        if begun is not None:
            self.measured += time.monotonic() - begun
            self.foreseen += expected
        self.say(self.line(), always=self.rewrites or not self.left)

    def _tick(self) -> None:
        while self.left:
            time.sleep(EVERY)
            if self.running and self.open_line:
                self.say(self.line())


class OnlyProblems(logging.Filter):
    """Lets warnings and errors pass, on a line of their own."""

    def __init__(self, progress: Progress) -> None:
        super().__init__()
        self.progress = progress

    def filter(self, record: logging.LogRecord) -> bool:
        """Whether a record is passed on."""
        if record.levelno < logging.WARNING:
            return False
        self.progress.end_line()
        return True


def follow(workflow: Any, layout: Layout) -> None:
    """Write progress in place of Snakemake's own lines."""
    from snakemake.logging import logger

    progress = Progress(workflow, layout, Path(layout.folder))
    for handler in logger.handlers:
        if isinstance(handler, logging.StreamHandler) and not isinstance(
            handler, logging.FileHandler
        ):
            handler.addFilter(OnlyProblems(progress))
    logger.addHandler(progress)


def described(job: Any) -> str:
    """A job in words: what is made, or of which case."""
    names = list(job.params.cases) if job.rule.name == "solve" else []
    if len(names) == 1:
        return str(names[0])
    return WORDS.get(job.rule.name, job.rule.name.replace("_", " "))


def columns(stream: TextIO) -> int:
    """Characters in a line of a terminal."""
    try:
        found = os.get_terminal_size(stream.fileno()).columns
    except OSError:
        return 79
    return found - 1 if found > 20 else 79  # some say 0
