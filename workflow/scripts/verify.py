"""Take the checks of acoustics or flow with the study's mesh settings; solve what nobody has."""

from pathlib import Path

from borestudy.stages.jobs import log_to
from borestudy.stages.verified import settings_of, take_verification

params, output = snakemake.params, snakemake.output
log_to(snakemake.log[0], f"verify_{params.physics}")

settings = settings_of(params.physics, params.resolution, params.air, params.source)
take_verification(settings, Path(params.store), output.checks, output.record)
