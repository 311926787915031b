"""Gather time, memory and bytes of all jobs and of all cases' steps."""

from pathlib import Path

from borestudy.files import read_json
from borestudy.results.tables.files import write_table
from borestudy.stages.benchmarks import benchmark_table, mesh_cost_table
from borestudy.stages.jobs import log_to

log_to(snakemake.log[0], "benchmarks")

folder = Path(snakemake.output.table).with_suffix("")
cases = [case for batch in map(read_json, snakemake.input.batches) for case in batch["cases"]]
write_table(benchmark_table(snakemake.input.measured, folder, cases), snakemake.output.table)
meshes = mesh_cost_table(folder.parent, cases, snakemake.params.models)
write_table(meshes, snakemake.output.meshes)
