"""``borestudy check``: what a study means, before anything is computed."""

import os
import shutil
from pathlib import Path

from borestudy.command_line.command import Answer, command
from borestudy.command_line.options import picture_option, study_argument
from borestudy.command_line.outputs import check_outputs


@command(
    """borestudy check configs/throat-sweep.yaml
borestudy check configs/entry-rounding.yaml --picture sections.svg"""
)
@study_argument
@picture_option
def check(study: Path, picture: Path | None) -> Answer:
    """What a study means: its bores in section, their dimensions, cases, and the time it takes.

    Every bore is built, so that a mistake in the study is found here.
    """
    from borestudy.stages.layout import Layout
    from borestudy.stages.meaning import meaning_of
    from borestudy.stages.plan import base_folder, results_folder
    from borestudy.stages.running.costs import expected_time, in_words, recorded_seconds
    from borestudy.study import load_study, located

    check_outputs(None, picture)
    found = load_study(study)
    with located(study):
        meaning = meaning_of(found)
        base = base_folder(study)
        results = base / results_folder(study, base=base)
    cores = os.cpu_count() or 1
    recorded = bool(recorded_seconds(results))
    seconds = expected_time(Layout(found, results.as_posix()), cores, results)
    source = "recorded in its results" if recorded else "recorded elsewhere"
    # As wide as the terminal, within what is still to be seen at a glance.
    width = min(max(shutil.get_terminal_size((80, 24)).columns - 4, 40), 76)
    lines = [
        *meaning.lines(width),
        f"time: {in_words(seconds)} from the beginning, on {cores} "
        f"{'core' if cores == 1 else 'cores'} (times of each job {source})",
        f"results: {results}",
    ]
    facts = meaning.facts() | {
        "time_s": seconds,
        "cores": cores,
        "times_recorded_here": recorded,
        "results": results,
        "lines": lines,
    }
    if picture is not None:
        meaning.draw(picture)
        lines.append(f"Picture: {picture}")
    return Answer(lines, facts)
