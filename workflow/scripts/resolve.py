"""Write the study with every default written out, as it is computed."""

from pathlib import Path

from borestudy.stages.jobs import log_to
from borestudy.study import study_from_mapping

log_to(snakemake.log[0], "resolve")

output = Path(snakemake.output.resolved)
study_from_mapping(snakemake.params.study, output.parent).write_resolved(output)
Path(snakemake.output.study_file).write_text(f"{snakemake.params.study_file}\n", encoding="utf-8")
