"""``borestudy check``: what a study means, before anything is computed."""

from pathlib import Path

from borestudy.command_line.command import Answer, command
from borestudy.command_line.options import study_argument


@command("borestudy check configs/throat-sweep.yaml")
@study_argument
def check(study: Path) -> Answer:
    """Validate a study, build every bore in it, and say what it would do."""
    from borestudy.stages.check import study_lines
    from borestudy.study import load_study, located

    found = load_study(study)
    with located(study):
        lines = study_lines(found)
    return Answer(lines, {"study": found.resolved(), "lines": lines})
