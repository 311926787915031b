"""Search for the bores that come nearest to the study's wish."""

from pathlib import Path

from borestudy.stages.air import read_air
from borestudy.stages.jobs import log_to
from borestudy.stages.wish import wish_stage
from borestudy.study import study_from_mapping

log_to(snakemake.log[0], "wish")

record = Path(snakemake.output.record)
wish_stage(
    study_from_mapping(snakemake.params.study, snakemake.params.directory, "wish"),
    read_air(snakemake.input.air),
    snakemake.params.source,
    record.parent / "solved",
    record,
    snakemake.output.table,
)
