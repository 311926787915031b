"""Solve what is known of acoustics or of flow with the study's own mesh settings."""

from pathlib import Path

from borestudy.stages.air import read_air
from borestudy.stages.jobs import log_to
from borestudy.stages.verification import write_checks
from borestudy.verification.acoustics import verify_acoustics
from borestudy.verification.flow import verify_flow

physics, output = snakemake.params.physics, snakemake.output
log_to(snakemake.log[0], f"verify_{physics}")

folder = Path(output.meshes)
folder.mkdir(parents=True, exist_ok=True)
verify = {"acoustics": verify_acoustics, "flow": verify_flow}[physics]
checks = verify(read_air(snakemake.input.air), snakemake.params.resolution, folder)
write_checks(checks, output.checks)
