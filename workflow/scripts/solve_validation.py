"""Solve the steady flow of the nozzle benchmark."""

from pathlib import Path

from borestudy.stages.logs import log_to
from borestudy.stages.validation import solve_validation

log_to(snakemake.log[0], "solve_validation")

results = Path(snakemake.output.results)
solve_validation(Path(snakemake.input.study), results.parent, snakemake.params.source, results)
