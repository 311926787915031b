"""Solve what is known of acoustics with the study's own mesh settings."""

from pathlib import Path

from borestudy.stages.air import read_air
from borestudy.stages.jobs import log_to
from borestudy.stages.verification import write_checks
from borestudy.verification.acoustics import verify_acoustics

log_to(snakemake.log[0], "verify_acoustics")

folder = Path(snakemake.output.meshes)
folder.mkdir(parents=True, exist_ok=True)
resolution = snakemake.params.resolution
write_checks(
    verify_acoustics(read_air(snakemake.input.air), resolution, folder), snakemake.output.checks
)
