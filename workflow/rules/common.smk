"""The study and its layout: what the rules ask about it."""

import atexit
import os
import sys
from pathlib import Path

from snakemake.utils import min_version, update_config

from borestudy.files import FileError
from borestudy.provenance import source_hash
from borestudy.stages.batches.keys import steps_in_words
from borestudy.stages.batches.run import ATTEMPTS, is_unfinished
from borestudy.stages.batches.steps import sources_of
from borestudy.stages.jobs import announce_run
from borestudy.stages.layout import Layout
from borestudy.stages.plan import (
    MINUTES_KEY,
    RESULTS_KEY,
    minutes_asked,
    results_folder,
)
from borestudy.stages.running.accepted import refuse_impossible_once
from borestudy.stages.running.locks import hold_results, tidy_locks
from borestudy.stages.running.options import only_answers
from borestudy.stages.running.progress import FOLLOWED, follow
from borestudy.stages.running.repair import (
    forget_cut_records,
    refuse_future_inputs,
    settle_times,
)
from borestudy.stages.running.resources import growing, memory_MB, minutes
from borestudy.study import StudyError, located, read_yaml, study_from_mapping

min_version("9.0")

DEMONSTRATION = "configs/entry-rounding.yaml"


def study_file():
    """The one study file; the demonstration where none is given."""
    # Not by `configfile:`, which would merge the demonstration into the study that is given.
    files = [str(path) for path in workflow.overwrite_configfiles or []]
    if len(files) > 1:
        raise StudyError(
            f"--configfile: found {', '.join(files)}; allowed is one study file, "
            f"for example {DEMONSTRATION}"
        )
    path = files[0] if files else os.path.join(workflow.basedir, DEMONSTRATION)
    return Path(os.path.relpath(path))


def read_study(path):
    """The validated study, with what --config says on top."""
    contents = read_yaml(path)
    if isinstance(contents, dict):
        update_config(contents, config)
    with located(path):
        found = study_from_mapping(contents, path.parent, path.stem)
        # Jobs on other nodes read this again, and need not be warned again.
        if workflow.is_main_process:
            folder = results_folder(path, RESULTS_FOLDER)
            refuse_impossible_once(found, folder)
    return found


def say_last(line):
    """Print a line after all that Snakemake has to say."""
    atexit.register(print, line, flush=True)


def say_where_the_report_is():
    """Name the report, unless other targets than the study's own left it as it was."""
    if not set(workflow.dag_settings.targets) - {"all"}:
        print(f"Report: {REPORT_AS_TOLD}", flush=True)


def say_where_the_report_was():
    """Name the report of a run (no dry one, no summary or drawing of the jobs) without any job."""
    ran = workflow.is_main_process and workflow.scheduler and not workflow.dryrun
    if ran and len(workflow.dag) == 0:
        say_where_the_report_is()


announce_run()
try:
    STUDY_FILE = study_file()
    # No part of the study, unlike all else that --config may say.
    RESULTS_FOLDER = config.pop(RESULTS_KEY, None)
    MINUTES = minutes_asked(config.pop(MINUTES_KEY, None))
    STUDY = read_study(STUDY_FILE)
    LAYOUT = Layout(
        STUDY, results_folder(STUDY_FILE, RESULTS_FOLDER).as_posix(), MINUTES
    )
except StudyError as problem:
    # Whoever wrote the study needs the message, and no traceback.
    print(problem, file=sys.stderr)
    sys.exit(2)

if workflow.is_main_process:
    try:
        # Snakemake knows whether this is a dry run only after the rules are read.
        if only_answers(sys.argv[1:]):
            tidy_locks(LAYOUT.folder)
        else:
            hold_results(LAYOUT.folder)
            refuse_future_inputs(LAYOUT.input_files())
            settle_times(LAYOUT.folder)
            for path in forget_cut_records(LAYOUT.folder):
                say = f"{path}: Snakemake's record of it was cut short; made again"
                print(say, file=sys.stderr)
    except FileError as problem:
        print(problem, file=sys.stderr)
        sys.exit(1)

#: From the folder of whoever asked for the run, since Snakemake ends in another.
REPORT_AS_TOLD = os.path.relpath(
    LAYOUT.result("report.html"), os.environ.get(FOLLOWED, ".")
)
if FOLLOWED in os.environ and workflow.is_main_process:
    follow(workflow, LAYOUT)

FIRST_CASE = next(iter(LAYOUT.cases.values()))
FIRST_AIR = LAYOUT.air_file(next(iter(LAYOUT.airs)))
RATES_M3_PER_S = STUDY.flow_rates().tolist()
#: Paths that rules name most often.
result = LAYOUT.result
log_file, benchmark_file = LAYOUT.log_file, LAYOUT.benchmark_file
#: The study with every default written out, as it is read again from the folder of results.
RESOLVED = STUDY.resolved(LAYOUT.folder)
#: What is asked for the tables, the figures or the report: several times what they took.
MINUTES_OF_TABLES = 10 + len(LAYOUT.cases) // 200
#: Hash of the sources of each step of a case.
SOURCES = sources_of(LAYOUT)


def memory_of_batch(wildcards, attempt):
    """Memory of a batch of cases, one after another [MB]."""
    return memory_MB(LAYOUT, LAYOUT.cases_of_batch(wildcards), attempt)


def minutes_of_batch(wildcards, attempt):
    """Time that a batch of cases may take [min]."""
    return minutes(LAYOUT, LAYOUT.cases_of_batch(wildcards), attempt)


def airs_of_batch(wildcards):
    """Constants of a batch's airs; and the batch is done again if a case failed or lacks a file."""
    # Snakemake has no other place for it: it knows neither these files nor such failures.
    if workflow.is_main_process and is_unfinished(LAYOUT, wildcards.batch):
        workflow.dag.forcefiles.add(LAYOUT.batch_file(wildcards.batch))
    return LAYOUT.airs_of_batch(wildcards)


def say_what_is_stale():
    """Name the steps that a dry run stands for, where some cases were solved before."""
    dry = workflow.is_main_process and workflow.scheduler and workflow.dryrun
    if dry and any(map(os.path.exists, LAYOUT.all_batches())):
        print(steps_in_words(LAYOUT), flush=True)


atexit.register(say_what_is_stale)


wildcard_constraints:
    batch=r"\d+",
    air=r"[^/]+",
