"""Join one case's two-port with its termination."""

import numpy as np

from borestudy.stages.acoustics import resonance_stage
from borestudy.stages.jobs import log_to

log_to(snakemake.log[0], f"resonance {snakemake.wildcards.case}")

resonance_stage(
    name=snakemake.wildcards.case,
    stored=snakemake.input.stored,
    mesh=snakemake.input.mesh,
    termination=snakemake.params.termination,
    air_column=snakemake.input.get("air_column") or None,
    frequencies=np.linspace(*snakemake.params.range_Hz, snakemake.params.points),
    fundamental=snakemake.params.fundamental,
    source=snakemake.params.source,
    results=snakemake.output.results,
    impedance=snakemake.output.impedance,
    fields=snakemake.output.fields,
)
