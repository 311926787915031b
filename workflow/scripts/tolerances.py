"""Tell how the first case's quantities spread under the errors of a workshop."""

from pathlib import Path

from borestudy.flow.models.of_bore import Transition
from borestudy.stages.air import read_air
from borestudy.stages.jobs import log_to
from borestudy.stages.tolerances import FlowAsked, tolerance_stage
from borestudy.study import study_from_mapping

log_to(snakemake.log[0], "tolerances")

asked = snakemake.params
tolerance_stage(
    case=study_from_mapping({"bore": asked.bore}, asked.directory, "study").cases()[0],
    folder=Path(asked.folder),
    flow=FlowAsked(
        air=read_air(snakemake.input.air),
        rates=asked.rates_m3_per_s,
        inlet=asked.inlet,
        transition=Transition(**asked.transition),
        pipe_behind=asked.pipe_behind_m,
    ),
    tolerance=asked.tolerance_m,
    stated=asked.tolerances_SI,
    termination=asked.termination,
    air_column=snakemake.input.get("air_column") or None,
    source=asked.source,
    output=snakemake.output.solved,
)
