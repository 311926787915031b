"""Put the laminar and the turbulent solutions of all cases beside each other."""

from pathlib import Path

from borestudy.stages.logs import log_to
from borestudy.stages.solutions import write_solutions

log_to(snakemake.log[0], "solutions")

folders = {
    case: Path(path).parent
    for case, path in zip(snakemake.params.cases, snakemake.input.flow, strict=True)
}
write_solutions(folders, snakemake.output.table)
