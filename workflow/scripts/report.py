"""Write the study's report."""

from pathlib import Path

from borestudy.stages.benchmarks import write_costs
from borestudy.stages.jobs import log_to
from borestudy.stages.presentation import make_report
from borestudy.study import load_study

log_to(snakemake.log[0], "report")

study = Path(snakemake.input.study)
write_costs(study.parent, snakemake.input.measured, Path(snakemake.output.costs))
make_report(
    load_study(study),
    study.parent,
    Path(snakemake.input.air),
    snakemake.params.source_hashes,
    Path(snakemake.output.page),
    Path(snakemake.output.latex),
)
