"""Bring the cases of a batch up to date."""

from borestudy.stages.batches.run import bounds_of, run_batch
from borestudy.stages.jobs import log_to
from borestudy.stages.layout import Layout
from borestudy.study import study_from_mapping

terminal = log_to(snakemake.log[0], f"solve {snakemake.wildcards.batch}")

params, given = snakemake.params, snakemake.resources
layout = Layout(study_from_mapping(params.study, params.folder), params.folder)
done = run_batch(
    layout,
    params.cases,
    params.sources,
    bounds_of(given.mem_mb, given.runtime, given.attempt, layout.seconds_of_case),
    snakemake.output.record,
    terminal,
)
if not done:
    raise RuntimeError("not every case has ended; what is missing is tried again with more")
