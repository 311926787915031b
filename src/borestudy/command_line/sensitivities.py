"""``borestudy sensitivities``: what a small change of each dimension does."""

from pathlib import Path

import click

from borestudy.command_line.command import Answer, command
from borestudy.command_line.options import (
    case_option,
    fresh_option,
    output_options,
    results_option,
    study_argument,
)
from borestudy.command_line.outputs import answer_of, check_outputs


@command(
    """borestudy sensitivities configs/entry-rounding.yaml
borestudy sensitivities configs/throat-sweep.yaml --case throat_diameter-drill27 \\
    --quantity resonance --output sensitivities.csv --picture sensitivities.svg"""
)
@study_argument
@case_option
@fresh_option
@results_option
@click.option(
    "--quantity",
    "quantities",
    multiple=True,
    metavar="NAME",
    help="show this quantity, the ranking by the first; may be given several times",
)
@output_options("sensitivities.csv")
def sensitivities(
    study: Path,
    case: str | None,
    fresh: bool,
    results: Path | None,
    quantities: tuple[str, ...],
    output: Path | None,
    picture: Path | None,
) -> Answer:
    """What 0.001 in on each dimension does to each quantity, ranked.

    To first order, from one solution of the bore and its derivatives.
    """
    from borestudy.command_line.stored import stored_table
    from borestudy.results.tables.selected import read_cases, table_file
    from borestudy.study import load_study
    from borestudy.views.sensitivities import Sensitivities, of_case

    check_outputs(output, picture)
    found = load_study(study)
    one = found.case(case) if case else found.cases()[0]
    path = None if fresh else stored_table(study, found, "sensitivities.csv", results)
    if path is not None:
        rows = read_cases(table_file(path.parent, path.stem), [one.name])
        view, source = Sensitivities(rows, one.build_bore()), f"from {path}"
    else:
        from borestudy.stages.in_process import solve_study_case

        view = of_case(solve_study_case(found, one), one.build_bore())
        source = "solved now"
    lines = [f"{found.name}, case {one.name} ({source})", *view.lines(list(quantities))]
    facts = {"study": found.name, "case": one.name, "source": source}
    return answer_of(view, lines, facts, output, picture)
