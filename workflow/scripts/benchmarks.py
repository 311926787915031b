"""Gather time and memory of all jobs."""

from borestudy.stages.collation import benchmark_rows, write_benchmarks
from borestudy.stages.logs import log_to

log_to(snakemake.log[0], "benchmarks")

rows = benchmark_rows(snakemake.input.measured, snakemake.params.folder)
write_benchmarks(rows, snakemake.output.table)
