"""What each command does: from its arguments to lines of text.

Libraries are loaded by the command that needs them: `check` takes a second.
"""

import json
from argparse import Namespace
from collections.abc import Callable
from pathlib import Path

from borestudy.command_line.outputs import check_outputs, write_outputs


def check(chosen: Namespace) -> list[str]:
    """What a study would do."""
    from borestudy.stages.check import study_lines
    from borestudy.study import load_study

    return study_lines(load_study(chosen.study))


def schema(chosen: Namespace) -> list[str]:
    """The JSON schema of study files, printed or written."""
    from borestudy.study import study_schema

    text = json.dumps(study_schema(), indent=2, ensure_ascii=False)
    if chosen.path is None:
        return [text]
    Path(chosen.path).write_text(f"{text}\n", encoding="utf-8")
    return []


def sensitivities(chosen: Namespace) -> list[str]:
    """Effects of a small change of each dimension of one case."""
    from borestudy.command_line.stored import stored_table
    from borestudy.results.tables.files import read_table
    from borestudy.study import load_study
    from borestudy.views.sensitivities import Sensitivities, of_case

    check_outputs(chosen.output, chosen.picture)
    study = load_study(chosen.study)
    case = study.case(chosen.case) if chosen.case else study.cases()[0]
    path = None if chosen.fresh else stored_table(chosen.study, study, "sensitivities.csv")
    if path is not None:
        table = read_table(path)
        rows = table[table["case"] == case.name]
        view, source = Sensitivities(rows, case.build_bore()), f"from {path}"
    else:
        from borestudy.stages.in_process import solve_study_case

        view = of_case(solve_study_case(study, case), case.build_bore())
        source = "solved now"
    lines = [f"{study.name}, case {case.name} ({source})", *view.lines(chosen.quantity)]
    return [*lines, *write_outputs(view, chosen.output, chosen.picture)]


def tolerances(chosen: Namespace) -> list[str]:
    """How the first case's quantities scatter within its tolerances."""
    from borestudy.command_line.stored import stored_record
    from borestudy.results.toleranced import ToleranceResult
    from borestudy.stages.intentions import tolerance_lines
    from borestudy.study import load_study
    from borestudy.views.tolerances import Scatter

    check_outputs(chosen.output, chosen.picture)
    study = load_study(chosen.study)
    stored = None
    if not chosen.fresh:
        stored = stored_record(chosen.study, study, "tolerances.json", ToleranceResult)
    if stored is None:
        from borestudy.stages.in_process import solve_study_tolerances

        found, source = solve_study_tolerances(study), "solved now"
    else:
        found, source = stored[0], f"from {stored[1]}"
    view, case = Scatter(found), study.cases()[0]
    lines = [f"{study.name}, case {case.name} ({source})", *tolerance_lines(study, case)]
    return [*lines, *view.lines(), *write_outputs(view, chosen.output, chosen.picture)]


def wish(chosen: Namespace) -> list[str]:
    """The bores that come nearest to the study's wish; one that cannot be met is an answer."""
    from borestudy.command_line.stored import stored_record
    from borestudy.results.wishes import WishResult
    from borestudy.study import StudyError, load_study
    from borestudy.views.wish import WishedBores

    check_outputs(chosen.output, chosen.picture)
    study = load_study(chosen.study)
    if study.asked() is None:
        raise StudyError(
            f"{chosen.study}: wish: missing; needed is what shall become of the first case's bore, "
            'for example wish: {change: {resonance: "+15 cents"}, free: {throat.diameter: {}}}'
        )
    stored = None
    if not chosen.fresh:
        stored = stored_record(chosen.study, study, "wish/wish.json", WishResult)
    if stored is None:
        from borestudy.stages.in_process import solve_study_wish

        found, source = solve_study_wish(study), "solved now"
    else:
        found, source = stored[0], f"from {stored[1]}"
    view = WishedBores(found)
    lines = [f"{study.name}, case {study.cases()[0].name} ({source})", *view.lines()]
    return [*lines, *write_outputs(view, chosen.output, chosen.picture)]


def trade_off(chosen: Namespace) -> list[str]:
    """Two columns of a table of cases against each other."""
    from borestudy.views.trade_off import trade_off as of_table

    check_outputs(chosen.output, chosen.picture)
    better = chosen.better_x, chosen.better_y
    view = of_table(chosen.results, chosen.x, chosen.y, better=better)
    return [str(view), *write_outputs(view, chosen.output, chosen.picture)]


COMMANDS: dict[str, Callable[[Namespace], list[str]]] = {
    "check": check,
    "sensitivities": sensitivities,
    "tolerances": tolerances,
    "wish": wish,
    "trade-off": trade_off,
    "schema": schema,
}
