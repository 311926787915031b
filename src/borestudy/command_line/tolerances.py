"""``borestudy tolerances``: how far the figures scatter in the workshop."""

from pathlib import Path

from borestudy.command_line.command import Answer, command
from borestudy.command_line.options import (
    fresh_option,
    output_options,
    results_option,
    study_argument,
)
from borestudy.command_line.outputs import answer_of, check_outputs


@command("borestudy tolerances configs/entry-rounding.yaml --output tolerances.csv")
@study_argument
@fresh_option
@results_option
@output_options("tolerances.csv")
def tolerances(
    study: Path, fresh: bool, results: Path | None, output: Path | None, picture: Path | None
) -> Answer:
    """How far the first case's figures scatter when it is cut within its tolerances.

    Every dimension is off by anything within its tolerance, in either direction and independently.
    """
    from borestudy.command_line.stored import stored_record
    from borestudy.results.toleranced import ToleranceResult
    from borestudy.stages.intentions import tolerance_lines
    from borestudy.study import load_study
    from borestudy.views.tolerances import Scatter

    check_outputs(output, picture)
    found = load_study(study)
    stored = (
        None if fresh else stored_record(study, found, "tolerances.json", ToleranceResult, results)
    )
    if stored is None:
        from borestudy.stages.in_process import solve_study_tolerances

        result, source = solve_study_tolerances(found), "solved now"
    else:
        result, source = stored[0], f"from {stored[1]}"
    view, case = Scatter(result), found.cases()[0]
    lines = [f"{found.name}, case {case.name} ({source})", *tolerance_lines(found, case)]
    facts = {"study": found.name, "case": case.name, "source": source}
    return answer_of(view, [*lines, *view.lines()], facts, output, picture)
