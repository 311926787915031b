"""Compute the air's constants, once for all cases that share it."""

from borestudy.stages.air import air_stage
from borestudy.stages.jobs import log_to

log_to(snakemake.log[0], f"air {snakemake.wildcards.air}")

air_stage(
    **snakemake.params.conditions,
    source=snakemake.params.source,
    output=snakemake.output.constants,
)
