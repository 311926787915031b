"""Say whether the verification passed; fail, now that everything is written, if it did not."""

from pathlib import Path

from borestudy.stages.jobs import log_to
from borestudy.stages.verification import failures

log_to(snakemake.log[0], "verdict")

count, failed = failures(snakemake.input.checks)
if failed:
    lines = "\n  ".join([f"{len(failed)} of {count} checks failed:", *failed])
    raise ValueError(f"{lines}\n  The report is written, and says so: {snakemake.input.report}")
Path(snakemake.output.words).write_text(f"verification: all {count} checks passed\n")
