"""Build one case's bore and mesh it on every level of each kind."""

from borestudy.stages.geometry import mesh_stage, write_bore, write_dimensions, write_measurement
from borestudy.stages.jobs import log_to
from borestudy.stages.measured import measurement_record
from borestudy.study import study_from_mapping

log_to(snakemake.log[0], f"mesh {snakemake.wildcards.case}")

study = study_from_mapping({"bore": snakemake.params.bore}, snakemake.params.directory, "study")
(case,) = study.cases()
bore = case.build_bore()
mesh_stage(
    bore,
    snakemake.params.resolution,
    snakemake.output.acoustics,
    snakemake.output.halves,
)
write_bore(bore, snakemake.output.bore, case.station_doubts())
write_measurement(measurement_record(case), snakemake.output.measurement)
write_dimensions(case.dimensions(), snakemake.output.dimensions)
