"""Hold the turbulent closure against measurements and handbooks."""

from pathlib import Path

from borestudy.stages.closure_validation import validate_closure
from borestudy.stages.logs import log_to

log_to(snakemake.log[0], "closure_validation")

output = snakemake.output
validate_closure(
    {Path(path).stem: Path(path) for path in snakemake.input},
    *(Path(output[name]) for name in ("checks", "segments", "figures")),
)
