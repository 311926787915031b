"""Snakemake with the workflow that belongs to this package, wherever that is installed."""

import os
import re
import signal
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from borestudy.stages.plan import RESULTS_KEY, base_folder, results_folder
from borestudy.stages.running.locks import make_writable
from borestudy.stages.running.options import (
    checked_options,
    only_answers,
    refuse_unknown,
    with_setting,
    workflow_folder,
)
from borestudy.stages.running.progress import FOLLOWED

#: Options that say where or how much at once is run.
PLACES = ("--cores", "-c", "--jobs", "-j", "--executor", "-e", "--profile", "--workflow-profile")
AGAIN = "the same command goes on from here"
STOPPED = "Snakemake was ended"
#: Least memory that is given to jobs [MB]; the greatest of them asks for less.
LEAST_MEMORY = 3500


@dataclass(frozen=True)
class Run:
    """A run of a study that has ended.

    Attributes
    ----------
    exit_code : int
        0, 1 where something failed, 2 where the study was refused.
    report : Path or None
        The report, from the folder in which the run was asked for; None where none was made.
    results : Path
        Folder of the results.
    """

    exit_code: int
    report: Path | None
    results: Path


def run_study(
    study: Path, results: Path | None, options: Sequence[str], quiet: bool = False
) -> Run:
    """Run the whole workflow for a study, and go on where an earlier run was interrupted.

    Parameters
    ----------
    study : Path
        The study file, which must be one that `refuse_impossible` lets pass.
    results : Path, optional
        Folder for the results; `results/NAME` beside the study by default.
    options : list of str
        What Snakemake is told besides.
    quiet : bool
        Whether standard output is left empty.

    Raises
    ------
    ValueError
        For options that a run sets itself, and for results of another study.
    FileError
        If the folder cannot be written.
    """
    options = checked_options(options)
    refuse_unknown(options)
    base = base_folder(study) if results is None else results
    folder = Path() if results is not None else results_folder(study, base=base)
    if results is not None:
        results_folder(study, ".", base=base)
    answers = only_answers(options)
    make_writable(base)
    command = snakemake_command(study, base, options, asked=results is not None)
    environment = os.environ | {"PATH": f"{Path(sys.executable).parent}:{os.environ['PATH']}"}
    if not answers:
        environment[FOLLOWED] = str(Path.cwd())
    code = run_until_end(command, environment, subprocess.PIPE if quiet else None)
    if code < 0:
        print(f"{STOPPED} (signal {-code}); {AGAIN}", file=sys.stderr)
        code = 1
    report = base / folder / "report.html"
    shown = Path(os.path.relpath(report)) if report.is_file() and not answers else None
    return Run(code, shown, Path(os.path.relpath(base / folder)))


def snakemake_command(
    study: Path, directory: Path, options: Sequence[str], asked: bool
) -> list[str]:
    """Snakemake's command line: the package's workflow in a folder, on all cores by default.

    ``asked`` is whether the folder itself is that of the results.
    """
    command = [
        sys.executable, "-m", "snakemake", "--snakefile", str(workflow_folder() / "Snakefile"),
        "--directory", str(directory.resolve()), "--configfile", str(study.resolve()),
        "--rerun-incomplete",
    ]  # fmt: skip
    names = {option.partition("=")[0] for option in options}
    names |= {option[:2] for option in options if re.fullmatch(r"-[cj]\d+", option)}
    if not names & {*PLACES}:
        command += ["--cores", "all"]
        if not names & {"--resources", "--res"}:
            command += ["--resources", f"mem_mb={free_memory()}"]
    if "--workflow-profile" not in names:
        # The workflow's own only refuses an unreadable study, which was read already.
        command += ["--workflow-profile", "none"]
    return [*command, *with_setting(options, f"{RESULTS_KEY}=.")] if asked else [*command, *options]


def free_memory() -> int:
    """Memory that jobs may have together [MB]: what is free now."""
    try:
        text = Path("/proc/meminfo").read_text(encoding="ascii")
        (kilobytes,) = re.findall(r"^MemAvailable: +(\d+) kB", text, re.MULTILINE)
    except (OSError, ValueError):
        return LEAST_MEMORY
    return max(int(kilobytes) // 1024, LEAST_MEMORY)


def run_until_end(command: Sequence[str], environment: dict[str, str], stdout: int | None) -> int:
    """Run a command to its end; a signal to stop is passed on. Its exit code."""
    child = subprocess.Popen(command, env=environment, stdout=stdout, text=True)
    before = signal.signal(signal.SIGTERM, lambda number, frame: child.terminate())
    try:
        while True:
            try:
                child.communicate()
                return child.returncode
            except KeyboardInterrupt:
                print(
                    f"\ninterrupted; {AGAIN}", file=sys.stderr
                )  # Snakemake has it too, and ends its jobs
    finally:
        signal.signal(signal.SIGTERM, before)
