"""Gather time and memory of all jobs."""

from pathlib import Path

from borestudy.files import read_json
from borestudy.results.tables.files import write_table
from borestudy.stages.collation import benchmark_table
from borestudy.stages.jobs import log_to

log_to(snakemake.log[0], "benchmarks")

folder = Path(snakemake.output.table).with_suffix("")
batches = map(read_json, snakemake.input.batches)
cases = [case for batch in batches for case in batch["cases"]]
write_table(benchmark_table(snakemake.input.measured, folder, cases), snakemake.output.table)
