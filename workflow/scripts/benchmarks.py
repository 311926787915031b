"""Gather time and memory of all jobs."""

from pathlib import Path

from borestudy.results.tables.files import write_table
from borestudy.stages.collation import benchmark_table
from borestudy.stages.jobs import log_to

log_to(snakemake.log[0], "benchmarks")

folder = Path(snakemake.output.table).with_suffix("")
write_table(benchmark_table(snakemake.input.measured, folder), snakemake.output.table)
