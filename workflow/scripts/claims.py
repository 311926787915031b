"""Hold the study's claims against its results."""

from pathlib import Path

from borestudy.stages.claims import claims_stage
from borestudy.stages.jobs import log_to
from borestudy.study import load_study, read_claims

log_to(snakemake.log[0], "claims")

file = Path(snakemake.input.study)
study = load_study(file)
claims_stage(
    study,
    read_claims(study, Path(snakemake.input.claims)),
    file.parent,
    Path(snakemake.output.table),
    Path(snakemake.output.page),
)
