"""Bring the cases of a batch up to date."""

from pathlib import Path

from borestudy.stages.batches.run import bounds_of, run_batch
from borestudy.stages.jobs import log_to
from borestudy.stages.layout import Layout
from borestudy.study import load_study

terminal = log_to(snakemake.log[0], f"solve {snakemake.wildcards.batch}")

file = Path(snakemake.input.study)
layout = Layout(load_study(file), file.parent.as_posix())
asked = snakemake.resources
done = run_batch(
    layout,
    snakemake.params.cases,
    snakemake.params.sources,
    bounds_of(asked.mem_mb, asked.runtime, asked.attempt, layout.seconds_of_case),
    snakemake.output.record,
    terminal,
)
if not done:
    raise RuntimeError("not every case has ended; what is missing is tried again with more")
