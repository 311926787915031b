"""Hold the computed flows against measurements and handbooks."""

from pathlib import Path

from borestudy.stages.jobs import log_to
from borestudy.stages.validation import compare_validation

log_to(snakemake.log[0], "validation")

output = snakemake.output
compare_validation(
    {Path(path).stem: Path(path) for path in snakemake.input},
    Path(output.checks),
    Path(output.nozzle),
    Path(output.figures),
)
