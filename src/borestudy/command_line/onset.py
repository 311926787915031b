"""``borestudy onset``: what it takes to start a tone in each register of a bore."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from borestudy.command_line.command import Answer, command
from borestudy.command_line.options import (
    PATH,
    case_option,
    fresh_option,
    output_options,
    results_option,
)
from borestudy.command_line.outputs import answer_of, check_outputs

if TYPE_CHECKING:
    from borestudy.views.onset import Onset

EXAMPLES = """borestudy onset bore.csv --column air-column.csv
borestudy onset bore.csv --column air-column.csv --width "9 mm" --picture onset.svg
borestudy onset configs/overall-length.yaml --case length-85.00mm --json"""
#: Endings of study files.
STUDIES = (".yaml", ".yml")


@command(EXAMPLES)
@click.argument("bore", metavar="BORE-OR-STUDY", type=PATH,
                help="measured stations (CSV), or a study file (YAML)")  # fmt: skip
@click.option("--column", metavar="FILE.csv", type=PATH,
              help="stations of what follows the shank end of measured stations")  # fmt: skip
@click.option("--mass-per-area", metavar="MASS", help="of the lips, by default 2 kg/m2")
@click.option("--quality-factor", metavar="NUMBER", help="of the lips, by default 7")
@click.option("--width", metavar="LENGTH", help="of the opening between the lips, by default 8 mm")
@click.option("--opening", metavar="LENGTH",
              help="height of the opening without pressure, by default 0.5 mm")  # fmt: skip
@click.option("--rates", metavar="FLOWS", help="flow rates solved, by default 0.05 to 0.3 L/s")
@click.option("--resolution", type=click.Choice(["coarse", "medium", "fine"]),
              help="how exactly measured stations are computed; medium")  # fmt: skip
@case_option
@fresh_option
@results_option
@output_options("onset.csv")
def onset(
    bore: Path,
    column: Path | None,
    rates: str | None,
    resolution: str | None,
    case: str | None,
    fresh: bool,
    results: Path | None,
    output: Path | None,
    picture: Path | None,
    **lips: str | None,
) -> Answer:
    """What pressure in the mouth starts a tone, in each register, by a model of lips.

    From the results of a study that has lips where they are there, or else solved now: about half a
    minute. Without an air column it is the onset of the mouthpiece on its own pipe.
    """
    check_outputs(output, picture)
    given = {key: value for key, value in lips.items() if value is not None}
    of_bore = {"column": column, "rates": rates, "resolution": resolution}
    of_study = {"case": case, "fresh": fresh or None, "results": results}
    is_study = bore.suffix.lower() in STUDIES
    unused = [key for key, value in (of_bore if is_study else of_study).items() if value]
    if unused:
        found, other, example = (
            ("a study", "stations", EXAMPLES.splitlines()[0])
            if is_study
            else ("stations", "a study", EXAMPLES.splitlines()[2])
        )
        raise ValueError(
            f"--{unused[0]}: found beside {found} ({bore}); allowed is it with {other}, for "
            f"example {example}"
        )
    if is_study:
        view, told, source = _of_study(bore, case, given, fresh, results)
    else:
        from borestudy.stages.onset_of_bore import onset_of_study, onset_study
        from borestudy.views.onset import Onset

        asked = onset_study(bore, column, given, rates, resolution)
        view = Onset(*onset_of_study(asked, asked.cases()[0]))
        told, source = str(bore), "solved now"
    lines = [f"{told} ({source})", *view.lines()]
    return answer_of(view, lines, {"bore": told, "source": source, **view.facts()}, output, picture)


def _of_study(
    path: Path, case: str | None, lips: dict[str, str], fresh: bool, results: Path | None
) -> "tuple[Onset, str, str]":
    from borestudy.command_line.stored import stored_table
    from borestudy.stages.collation import results_of_cases
    from borestudy.stages.onset_of_bore import onset_of_study, with_lips
    from borestudy.study import load_study
    from borestudy.views.onset import Onset

    plain = load_study(path)
    study = with_lips(plain, lips)
    one = study.case(case) if case else study.cases()[0]
    told, table = f"{study.name}, case {one.name}", None
    if study is plain and not fresh:
        table = stored_table(path, study, "onset.csv", results)
    if table is None or study.lips is None:
        return Onset(*onset_of_study(study, one)), told, "solved now"
    (found,) = results_of_cases(study, table.parent, [one.name])
    return Onset(found, study.lips.own()), told, f"from {table}"
