"""Put the computed nozzle beside the measured one."""

from pathlib import Path

from borestudy.stages.logs import log_to
from borestudy.stages.validation import compare_validation

log_to(snakemake.log[0], "validation")

compare_validation(
    Path(snakemake.input.results),
    Path(snakemake.input.bore),
    Path(snakemake.output.table),
    Path(snakemake.output.figures),
)
