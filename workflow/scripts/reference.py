"""Print the reference figures beside those obtained here, and fail where they differ."""

import os
import sys

from borestudy.stages.jobs import log_to
from borestudy.stages.reference import compared_with_reference

terminal = os.fdopen(os.dup(sys.stdout.fileno()), "w", encoding="utf-8")
log_to(snakemake.log[0], "reference")

found = compared_with_reference(processes=1)
print(found, file=terminal, flush=True)
if not found.agrees:
    raise ValueError("figures differ from the reference by more than their tolerance, see above")
