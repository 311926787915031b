"""``borestudy claims``: a text's claims held against a study's results."""

from pathlib import Path

import click

from borestudy.command_line.command import Answer, command
from borestudy.command_line.options import PATH, study_argument
from borestudy.command_line.outputs import answer_of, check_file


@command(
    """borestudy claims configs/chapter.yaml
borestudy claims configs/chapter.yaml --claims mine.csv --page claims.html --output claims.csv"""
)
@study_argument
@click.option(
    "--claims",
    "claims_file",
    metavar="FILE.csv",
    type=PATH,
    help="claims in place of the study's own, CSV or YAML",
)
@click.option(
    "--results",
    metavar="FOLDER",
    type=PATH,
    help="folder of the study's results; found by itself where `borestudy run` left them",
)
@click.option("--output", metavar="FILE.csv", type=PATH, help="write the table, as claims.csv")
@click.option("--page", metavar="FILE.html", type=PATH, help="write the page, as claims.html")
def claims(
    study: Path,
    claims_file: Path | None,
    results: Path | None,
    output: Path | None,
    page: Path | None,
) -> Answer:
    """Which claims of a text agree with what a study computed, and why others do not.

    A claim is a row of a CSV file, or an entry of a YAML list: quantity, case (or dimensions),
    value, unit, tolerance, where. `borestudy run` judges the study's own claims with everything
    else; this judges them, or others, from the results that are there.
    """
    from borestudy.command_line.stored import holds_results_of, stored_table
    from borestudy.study import StudyError, load_study, read_claims

    for option, path, kind in (("--output", output, ".csv"), ("--page", page, ".html")):
        if path is not None:
            check_file(option, path, (kind,))
    found = load_study(study)
    stated = read_claims(found, claims_file)
    if not stated:
        raise StudyError(
            f"{study}: claims: missing; needed is a file of claims, for example claims: claims.csv "
            "in the study, or --claims claims.csv"
        )
    folder = results
    if folder is None:
        table = stored_table(study, found, "comparison.csv")
        folder = None if table is None else table.parent
    if folder is None or not holds_results_of(folder, found):
        where = "" if results is None else f" in {results}"
        raise StudyError(
            f"{study}: found no results of it as it stands{where}; needed is a run of it, for "
            f"example borestudy run {study}"
        )
    from borestudy.stages.claims import judged_table, write_page
    from borestudy.views.claims import JudgedClaims

    labels = {case.name: case.label for case in found.cases()}
    view = JudgedClaims(judged_table(found, stated, folder), labels)
    lines = [f"{found.name} (from {folder})", *view.lines()]
    if page is not None:
        write_page(found, view.table, page)
        lines.append(f"Page: {page}")
    facts = {"study": found.name, "results": folder}
    return answer_of(view, lines, facts, output)
