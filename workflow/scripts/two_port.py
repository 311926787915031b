"""Solve one case's two-port on every level."""

from borestudy.stages.acoustics import two_port_stage
from borestudy.stages.air import read_air
from borestudy.stages.geometry import read_bore, read_dimensions
from borestudy.stages.jobs import log_to

log_to(snakemake.log[0], f"two_port {snakemake.wildcards.case}")

two_port_stage(
    snakemake.input.meshes,
    read_air(snakemake.input.air),
    tuple(snakemake.params.range_Hz),
    snakemake.params.walls,
    snakemake.output.stored,
    read_bore(snakemake.input.bore),
    read_dimensions(snakemake.input.dimensions),
)
