"""``borestudy reference``: whether this installation computes what others do."""

import os
from pathlib import Path

import click

from borestudy.command_line.command import FAILED, Answer, command
from borestudy.command_line.options import PATH
from borestudy.command_line.outputs import answer_of, check_outputs


@command("""borestudy reference --output reference.csv""")
@click.option(
    "--output", metavar="FILE", type=PATH, help="table of all lines, for example reference.csv"
)
def reference(output: Path | None) -> Answer:
    """Compute a few figures anew and hold them against a table, before a new machine is trusted.

    Half a minute or so. Each line has what is expected, what was obtained here, how far they may be
    apart, and a verdict; results/README.md says what the tolerances are made of. Ends with 1
    where a figure differs.
    """
    # Threads that share a sum round it in another order; what is set is left.  Before NumPy loads.
    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ.setdefault(name, "1")
    from borestudy.stages.reference import compared_with_reference

    check_outputs(output, None)
    found = compared_with_reference()
    answer = answer_of(found, [str(found)], {"agrees": found.agrees}, output)
    return Answer(answer.lines, answer.facts, 0 if found.agrees else FAILED)
