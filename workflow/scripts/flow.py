"""Mesh one case for one model of the flow and solve it at the study's rates."""

from borestudy.flow.models.of_bore import Transition
from borestudy.stages.air import read_air
from borestudy.stages.flow import flow_stage
from borestudy.stages.geometry import read_bore, read_dimensions
from borestudy.stages.jobs import log_to

model = snakemake.wildcards.model
log_to(snakemake.log[0], f"flow-{model} {snakemake.wildcards.case}")

flow_stage(
    model=model,
    bore=read_bore(snakemake.input.bore),
    meshes=snakemake.output.meshes,
    air=read_air(snakemake.input.air),
    rates=snakemake.params.rates_m3_per_s,
    inlet=snakemake.params.inlet,
    resolution=snakemake.params.resolution,
    transition=Transition(**snakemake.params.transition),
    pipe_behind=snakemake.params.pipe_behind_m,
    tolerance=snakemake.params.tolerance,
    source=snakemake.params.source,
    results=snakemake.output.results,
    fields=snakemake.output.fields,
    dimensions=read_dimensions(snakemake.input.dimensions),
)
