"""``borestudy entry``: what rounding a throat's entry is worth, from options alone."""

from pathlib import Path

import click

from borestudy.command_line.command import Answer, command
from borestudy.command_line.options import PATH, output_options
from borestudy.command_line.outputs import answer_of, check_outputs

EXAMPLES = """borestudy entry --throat "drill 27" --radii "0.5, 1, 2 mm"
borestudy entry --throat "0.144 in" --radii "0.02, 0.04 in" --rate "0.15 L/s" --picture entry.svg
borestudy entry --stations bore.csv --radii "0.5, 1 mm" --json"""


@command(EXAMPLES)
@click.option("--throat", metavar="SIZE", help="drill or diameter of the throat, such as drill 27")
@click.option("--stations", metavar="FILE.csv", type=PATH,
              help="measured stations of your bore, in place of all dimensions")  # fmt: skip
@click.option("--new", is_flag=True,
              help="the measured bore is made anew, so that metal may be added")  # fmt: skip
@click.option("--radii", metavar="LIST", default="0.5, 1, 2 mm", show_default=True,
              help="radii of the rounded entries")  # fmt: skip
@click.option("--rate", metavar="FLOW", default="0.2 L/s", show_default=True,
              help="how much air flows")  # fmt: skip
@click.option("--length", metavar="LENGTH", help="overall length, by default 88 mm")
@click.option("--rim", metavar="SIZE", help="diameter inside the rim, by default 16.2 mm")
@click.option("--cup-depth", metavar="LENGTH", help="rim plane to throat, by default 10.8 mm")
@click.option("--cup-shape", metavar="NUMBER",
              help="0 is a straight cone, 1 a full bowl; by default 0.6")  # fmt: skip
@click.option("--throat-length", metavar="LENGTH", help="of the cylinder, by default 5 mm")
@click.option("--end", metavar="SIZE", help="diameter of the backbore's end, by default 9 mm")
@click.option("--resolution", type=click.Choice(["coarse", "medium", "fine"]), default="medium",
              show_default=True, help="how exactly it is computed")  # fmt: skip
@output_options("flow.csv")
def entry(
    stations: Path | None,
    new: bool,
    radii: str,
    rate: str,
    resolution: str,
    output: Path | None,
    picture: Path | None,
    **sizes: str | None,
) -> Answer:
    """What rounding the throat's entry is worth, in two sentences.

    The square entry, or that of a measured bore, is compared with rounded ones at one flow rate,
    each solved now: about half a minute for three radii. The dimensions that are not given are
    those of an invented bore of the trumpet class.
    """
    from borestudy.stages.entry import OPTIONS, bore_words, entry_study, solved_entries
    from borestudy.stages.measured import readings_told
    from borestudy.views.entry import EntryAnswer

    check_outputs(output, picture)
    keys = {option.removeprefix("--").replace("-", "_"): key for key, option in OPTIONS.items()}
    given = {keys[name]: value for name, value in sizes.items() if value is not None}
    study = entry_study(radii, rate, given, stations, resolution, new)
    view, told = EntryAnswer(*solved_entries(study)), bore_words(given, stations)
    read = readings_told(study.cases())
    facts = {**view.facts(), "bore": told, "rate": rate, "readings": read}
    return answer_of(view, [*view.lines(), told, *read], facts, output, picture)
