"""``borestudy figures``: the figures of a study drawn again for print, each with its data."""

from pathlib import Path

import click

from borestudy.command_line.command import Answer, command
from borestudy.command_line.options import PATH

RESOLVED = "resolved.yaml"
STUDY = "study file whose results are there, or the folder of its results"


@command(
    """borestudy figures configs/entry-rounding.yaml --output print
borestudy figures results/entry-rounding --width "84 mm" --font serif --size "9 pt" \\
    --format pdf,svg --output print
borestudy figures results/entry-rounding --only headline --only impedance --output print"""
)
@click.argument("study", metavar="STUDY|RESULTS", type=PATH, help=STUDY)
@click.option(
    "--output",
    metavar="FOLDER",
    type=PATH,
    required=True,
    help="folder for the figures, made where it is not there",
)
@click.option("--width", metavar="LENGTH", default="170 mm", help="width, 170 mm by default")
@click.option(
    "--font",
    metavar="FONT",
    default="sans-serif",
    help="serif, sans-serif (by default), monospace, or the name of an installed font",
)
@click.option("--size", metavar="SIZE", default="8.5 pt", help="of the letters, 8.5 pt by default")
@click.option(
    "--format",
    "formats",
    metavar="WORDS",
    default="pdf",
    help="pdf (by default), svg or png, or several with commas between them",
)
@click.option(
    "--only",
    metavar="FIGURE",
    multiple=True,
    help="a figure by its name, such as headline; may be given again; all by default",
)
def figures(
    study: Path,
    output: Path,
    width: str,
    font: str,
    size: str,
    formats: str,
    only: tuple[str, ...],
) -> Answer:
    """Draw a study's figures for print, such as for a column of a thesis, each with its data.

    Nothing is computed: the figures are those of the report, from the study's results. Beside each
    is a CSV file of what is drawn, with units in the names of its columns and with uncertainties;
    captions.csv has the words.
    """
    from borestudy.stages.figures_for_print import draw_for_print, look_of
    from borestudy.study import StudyError, load_study

    look = look_of(width, font, size, formats, only)
    if output.exists() and not output.is_dir():
        raise ValueError(
            f"--output: found {str(output)!r}, which is a file; allowed is a folder, for example "
            f"{output.with_suffix('').name}-print"
        )
    if study.is_dir():
        folder = study
    else:
        from borestudy.command_line.stored import stored_table

        table = stored_table(study, load_study(study), "comparison.csv")
        if table is None:
            raise StudyError(
                f"{study}: found no results of it as it stands; needed is a run of it, for example "
                f"borestudy run {study}"
            )
        folder = table.parent
    if not (folder / RESOLVED).is_file() or not (folder / "comparison.csv").is_file():
        raise StudyError(
            f"{folder}: found no {RESOLVED} with comparison.csv in it; allowed is a study file or "
            "a folder of results, for example results/entry-rounding"
        )
    files = draw_for_print(load_study(folder / RESOLVED), folder, look, output)
    if not files:
        raise RuntimeError(f"{folder}: its results have nothing for {', '.join(only)}")
    drawn = sum(file.suffix != ".csv" for file in files)
    lines = [f"{drawn} files of figures with their data in {output}", f"Words: {files[-1]}"]
    facts = {"results": folder, "width_mm": look.width_mm, "size_pt": look.size_pt, "files": files}
    return Answer(lines, facts)
