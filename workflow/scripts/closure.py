"""Mesh one case for turbulent flow and solve it at the study's rates."""

from borestudy.stages.air import read_air
from borestudy.stages.closure import closure_stage
from borestudy.stages.geometry import read_bore
from borestudy.stages.jobs import log_to

log_to(snakemake.log[0], f"closure {snakemake.wildcards.case}")

bore, pipe = read_bore(snakemake.input.bore), snakemake.params.pipe_behind_m
closure_stage(
    bore=bore.extended(pipe) if pipe else bore,
    meshes=snakemake.output.meshes,
    air=read_air(snakemake.input.air),
    rates=snakemake.params.rates_m3_per_s,
    inlet=snakemake.params.inlet,
    resolution=snakemake.params.resolution,
    source=snakemake.params.source,
    results=snakemake.output.results,
    fields=snakemake.output.fields,
)
