"""Solve one family of flows that the turbulent closure is held against."""

from pathlib import Path

from borestudy.stages.closure_validation import solve_closure_validation
from borestudy.stages.logs import log_to

flow = snakemake.wildcards.flow
log_to(snakemake.log[0], f"closure_validation {flow}")

solve_closure_validation(
    flow,
    Path(snakemake.output.meshes),
    snakemake.params.source,
    Path(snakemake.output.results),
)
