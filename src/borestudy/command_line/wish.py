"""``borestudy wish``: the bores that come nearest to what is wished."""

from pathlib import Path

from borestudy.command_line.command import Answer, command
from borestudy.command_line.options import (
    fresh_option,
    output_options,
    results_option,
    study_argument,
)
from borestudy.command_line.outputs import answer_of, check_outputs


@command("borestudy wish configs/wish.yaml --output wishes.csv --picture path.svg")
@study_argument
@fresh_option
@results_option
@output_options("wishes.csv")
def wish(
    study: Path, fresh: bool, results: Path | None, output: Path | None, picture: Path | None
) -> Answer:
    """The bores that come nearest to the study's wish, and what they cost elsewhere.

    A wish that cannot be met is an answer: the command says what stands in the way.
    """
    from borestudy.command_line.stored import stored_record
    from borestudy.results.wishes import WishResult
    from borestudy.study import StudyError, load_study
    from borestudy.views.wish import WishedBores

    check_outputs(output, picture)
    found = load_study(study)
    if found.asked() is None:
        raise StudyError(
            f"{study}: wish: missing; needed is what shall become of the first case's bore, "
            'for example wish: {change: {resonance: "+15 cents"}, free: {throat.diameter: {}}}'
        )
    stored = None if fresh else stored_record(study, found, "wish/wish.json", WishResult, results)
    if stored is None:
        from borestudy.stages.in_process import solve_study_wish

        result, source = solve_study_wish(found), "solved now"
    else:
        result, source = stored[0], f"from {stored[1]}"
    view, case = WishedBores(result), found.cases()[0]
    lines = [f"{found.name}, case {case.name} ({source})", *view.lines()]
    facts = {"study": found.name, "case": case.name, "source": source, "text": view.lines()}
    return answer_of(view, lines, facts, output, picture)
