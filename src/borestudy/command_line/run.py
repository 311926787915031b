"""``borestudy run``: a whole study, from any folder."""

from pathlib import Path

import click

from borestudy.command_line.command import Answer, command
from borestudy.command_line.options import PATH, study_argument


@command(
    """borestudy run study.yaml
borestudy run study.yaml --dry-run
borestudy run study.yaml --cores 2 --results results/second
borestudy run study.yaml --workflow-profile slurm""",
    context_settings={"ignore_unknown_options": True},
)
@study_argument
@click.argument(
    "options",
    metavar="[SNAKEMAKE'S OPTIONS]...",
    nargs=-1,
    type=click.UNPROCESSED,
    help="passed through; on all cores of this machine by default",
)
@click.option(
    "--results",
    metavar="FOLDER",
    type=PATH,
    help="folder for the results; by default results/NAME beside the study or, where the study "
    "lies in a folder called configs, beside that",
)
@click.pass_context
def run(ctx: click.Context, study: Path, options: tuple[str, ...], results: Path | None) -> Answer:
    """Compute a whole study: its tables, figures and report.

    Snakemake runs what is missing or out of date and nothing else, and goes on where an
    interrupted run stopped. The last line names the report.
    """
    from borestudy.stages.plan import base_folder, results_folder
    from borestudy.stages.running.accepted import refuse_impossible_once
    from borestudy.stages.running.workflow import run_study
    from borestudy.study import load_study

    if str(study).startswith("-"):
        raise ValueError(
            f"STUDY: found {str(study)!r}; allowed is the study file first, and Snakemake's "
            f"options after it, for example borestudy run study.yaml {study}"
        )
    as_json = bool(ctx.meta.get("as_json"))
    base = base_folder(study) if results is None else results
    folder = results_folder(study, "." if results is not None else None, base)
    refuse_impossible_once(load_study(study), folder, base)
    done = run_study(study, results, options, quiet=as_json)
    facts = {
        "study": study,
        "results": done.results,
        "report": done.report,
        "exit_code": done.exit_code,
    }
    return Answer([], facts, done.exit_code)
