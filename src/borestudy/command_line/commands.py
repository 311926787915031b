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
        from borestudy.stages.question import solve_study_case

        view = of_case(solve_study_case(study, case), case.build_bore())
        source = "solved now"
    lines = [f"{study.name}, case {case.name} ({source})", *view.lines(chosen.quantity)]
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
    "trade-off": trade_off,
    "schema": schema,
}
