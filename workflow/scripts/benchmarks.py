"""Gather time and memory of all jobs."""

from pathlib import Path

from borestudy.stages.collation import benchmark_rows, write_benchmarks
from borestudy.stages.logs import log_to

log_to(snakemake.log[0], "benchmarks")

folder = Path(snakemake.output.table).with_suffix("")
rows = benchmark_rows(snakemake.input.measured, folder)
write_benchmarks(rows, snakemake.output.table)
