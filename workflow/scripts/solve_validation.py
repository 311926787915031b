"""Solve one family of flows that the program is held against."""

from pathlib import Path

from borestudy.stages.jobs import log_to
from borestudy.stages.validation import solve_validation

flow, output = snakemake.wildcards.flow, snakemake.output
log_to(snakemake.log[0], f"solve_validation {flow}")

solve_validation(flow, Path(output.meshes), snakemake.params.source, Path(output.results))
