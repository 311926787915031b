"""Hold the computed flows against measurements and handbooks."""

from pathlib import Path

from borestudy.stages.jobs import log_to
from borestudy.stages.validation import Tables, compare_validation

log_to(snakemake.log[0], "validation")

output = snakemake.output
compare_validation(
    {Path(path).stem: Path(path) for path in snakemake.input},
    Tables(
        checks=Path(output.checks),
        nozzle=Path(output.nozzle),
        errors=Path(output.errors),
        places=Path(output.places),
        differences=Path(output.differences),
    ),
    Path(output.figures),
)
