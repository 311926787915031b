"""Put one case's steady stream into its throat as a resistance."""

from borestudy.stages.jobs import log_to
from borestudy.stages.stream import stream_stage

log_to(snakemake.log[0], f"stream {snakemake.wildcards.case}")

stream_stage(
    whole=snakemake.input.whole,
    halves=snakemake.input.halves,
    solutions=dict(zip(snakemake.params.solutions, snakemake.input.solutions, strict=True)),
    bore=snakemake.input.bore,
    termination=snakemake.params.termination,
    air_column=snakemake.input.get("air_column") or None,
    source=snakemake.params.source,
    results=snakemake.output.results,
)
