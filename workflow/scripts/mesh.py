"""Build one case's bore and mesh it on every level of both physics."""

from borestudy.stages.geometry import FINEST_LEVEL, write_bore, write_halves, write_meshes
from borestudy.stages.logs import log_to
from borestudy.study import study_from_mapping
from borestudy.study.building import station_doubts

log_to(snakemake.log[0], f"mesh {snakemake.wildcards.case}")

study = study_from_mapping({"bore": snakemake.params.bore}, snakemake.params.directory, "study")
(case,) = study.cases()
bore = case.build_bore()
write_meshes(
    bore,
    FINEST_LEVEL[snakemake.params.resolution],
    snakemake.output.acoustics,
    snakemake.output.flow,
    snakemake.params.pipe_behind_m,
)
write_halves(bore, FINEST_LEVEL[snakemake.params.resolution], snakemake.output.halves)
write_bore(bore, snakemake.output.bore, station_doubts(case))
