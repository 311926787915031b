"""``borestudy drawing``: one bore of a study as a dimensioned drawing."""

from pathlib import Path

import click

from borestudy.command_line.command import Answer, command
from borestudy.command_line.options import PATH, case_option, study_argument
from borestudy.command_line.outputs import check_file


@command(
    """borestudy drawing configs/entry-rounding.yaml --output bore.pdf
borestudy drawing configs/entry-rounding.yaml --case entry_radius-1.00mm --output bore.dxf"""
)
@study_argument
@case_option
@click.option(
    "--output",
    metavar="FILE.dxf",
    type=PATH,
    required=True,
    help="a DXF file for a lathe or another program, or a PDF or SVG file to look at",
)
def drawing(study: Path, case: str | None, output: Path) -> Answer:
    """Draw one bore of a study: its section with dimensions and tolerances, on an A4 sheet.

    In a DXF file the layer BORE holds the section's exact curves in mm, x from the rim plane.
    """
    from borestudy.study import load_study
    from borestudy.workshop import KINDS

    check_file("--output", output, KINDS)
    found = load_study(study)
    one = found.case(case) if case else found.cases()[0]

    from borestudy.stages.drawing import drawn_case
    from borestudy.workshop.files import write_sheet

    sheet = drawn_case(found, one)
    write_sheet(sheet, output)
    facts = {"study": found.name, "case": one.name, "scale": sheet.scale, "file": output}
    return Answer([f"{found.name}, {one.label}", f"Drawing: {output}"], facts)
