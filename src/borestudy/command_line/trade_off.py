"""``borestudy trade-off``: what one figure costs in another."""

from pathlib import Path

import click

from borestudy.command_line.command import Answer, command
from borestudy.command_line.options import output_options
from borestudy.command_line.outputs import answer_of, check_outputs

BETTER = (
    "what is better in {}: lower, higher, or near to the first case's value; by default lower for "
    "a flow resistance or pressure drop, near for others"
)
RESULTS = "folder of results, of which comparison.csv is taken, or a CSV file with a row a case"


@command(
    """borestudy trade-off results/throat-sweep \\
    resonance_Hz flow_resistance_kPa_s_per_L --picture trade-off.svg""",
    name="trade-off",
)
@click.argument("results", metavar="RESULTS", help=RESULTS)
@click.argument("x", metavar="X", help="name of a column of numbers")
@click.argument("y", metavar="Y", help="name of a column of numbers")
@click.option("--better-x", metavar="WORD", help=BETTER.format("X"))
@click.option("--better-y", metavar="WORD", help=BETTER.format("Y"))
@output_options("trade-off.csv")
def trade_off(
    results: str,
    x: str,
    y: str,
    better_x: str | None,
    better_y: str | None,
    output: Path | None,
    picture: Path | None,
) -> Answer:
    """Two columns of a study's results against each other, a line a case."""
    from borestudy.views.trade_off import trade_off as of_table

    check_outputs(output, picture)
    view = of_table(results, x, y, better=(better_x, better_y))
    return answer_of(view, [str(view)], {"results": results, "x": x, "y": y}, output, picture)
