"""Put all cases side by side."""

from pathlib import Path

from borestudy.stages.collation import collate
from borestudy.stages.jobs import log_to
from borestudy.study import load_study

log_to(snakemake.log[0], "collate")

study = Path(snakemake.input.study)
collate(
    load_study(study),
    study.parent,
    checks=snakemake.input.checks,
    tolerances=snakemake.input.tolerances,
    air=snakemake.input.air,
    outputs=dict(snakemake.output.items()),
)
