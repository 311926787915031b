"""Solve the first case with each dimension in error by a tolerance."""

from borestudy.flow.models.of_bore import Transition
from borestudy.stages.air import read_air
from borestudy.stages.jobs import log_to
from borestudy.stages.tolerances import tolerance_stage
from borestudy.study import study_from_mapping

log_to(snakemake.log[0], "tolerances")

asked = snakemake.params
tolerance_stage(
    case=study_from_mapping({"bore": asked.bore}, asked.directory, "study").cases()[0],
    air=read_air(snakemake.input.air),
    tolerance=asked.tolerance_m,
    frequency_range=tuple(asked.range_Hz),
    walls=asked.walls,
    termination=asked.termination,
    air_column=snakemake.input.get("air_column") or None,
    rate=asked.rate_m3_per_s,
    inlet=asked.inlet,
    transition=Transition(**asked.transition),
    source=asked.source,
    output=snakemake.output.solved,
)
