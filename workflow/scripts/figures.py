"""Draw the study's figures."""

from pathlib import Path

from borestudy.stages.jobs import log_to
from borestudy.stages.presentation import draw_figures
from borestudy.study import load_study

log_to(snakemake.log[0], "figures")

study = Path(snakemake.input.study)
draw_figures(load_study(study), study.parent, Path(snakemake.output.figures))
