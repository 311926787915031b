"""Command line: look at a study before anything is computed, and write the schema of study files.

A study is computed by Snakemake; what is here needs seconds and no mesh.
"""

import argparse
import json
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

from borestudy.acoustics.termination import (
    Termination,
    build_termination,
    frequency_cautions,
)
from borestudy.air import Air
from borestudy.bore import Bore, BoreError
from borestudy.flow.regime import check_rates
from borestudy.stages.overview import HEADER, UNITS, aligned, bore_row
from borestudy.stages.plan import DRY, buildable_bore, dry_air, rates_outside
from borestudy.study import Case, Study, StudyError, load_study, study_schema, write_schema

REFUSED = 2
#: What is solved for each word of flow.closure.
SOLUTIONS = {
    "laminar": "laminar solution",
    "turbulent": "turbulent solution",
    "both": "laminar and turbulent solution",
}


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code: 0, or 2 with a message for a refused study."""
    parser = argparse.ArgumentParser(prog="borestudy", description=__doc__)
    commands = parser.add_subparsers(dest="command", required=True)
    check = commands.add_parser("check", help="validate a study and build every bore in it")
    check.add_argument("study", type=Path, help="study file, such as configs/entry-rounding.yaml")
    schema = commands.add_parser("schema", help="write the JSON schema of study files")
    schema.add_argument("path", type=Path, nargs="?", help="file to write; printed without one")
    chosen = parser.parse_args(arguments)
    try:
        if chosen.command == "check":
            print("\n".join(_checked(load_study(chosen.study))))
        elif chosen.path is None:
            print(json.dumps(study_schema(), indent=2, ensure_ascii=False))
        else:
            write_schema(chosen.path)
    except (StudyError, BoreError, OSError) as problem:
        print(problem, file=sys.stderr)
        return REFUSED
    return 0


def _checked(study: Study) -> list[str]:
    """What the study will compute, line by line, once every bore in it could be built."""
    cases = study.cases()
    bores = [list(HEADER), list(UNITS)]
    cautions: dict[str, list[str]] = {}
    for case in cases:
        bore = buildable_bore(case)
        bores.append(bore_row(case.name, bore))
        for caution in [*case.station_doubts(), *_cautions(study, case, bore)]:
            cautions.setdefault(caution, []).append(case.name)
    resonance, flow = study.resonance, study.flow
    behind = study.air_column_file() or resonance.behind
    count = "1 case" if len(cases) == 1 else f"{len(cases)} cases, compared with the first"
    return [
        f"{study.name}: {study.question}",
        f"{count}:",
        *aligned([["case", *cases[0].varied]] + [[c.name, *c.varied.values()] for c in cases]),
        "bores:",
        *aligned(bores),
        f"resonance: {resonance.from_} to {resonance.to}, {resonance.points} frequencies; "
        f"walls {resonance.walls}; behind the shank: {behind}",
        f"flow: {', '.join(flow.rates)}; {flow.inlet} inlet; {SOLUTIONS[flow.closure]}; "
        f"compared at {flow.reference_rate}",
        f"mesh: {study.mesh.resolution}",
        *(
            f"caution: {caution} ({'every case' if len(names) == len(cases) else ', '.join(names)})"
            for caution, names in cautions.items()
        ),
    ]


def _cautions(study: Study, case: Case, bore: Bore) -> list[str]:
    """What the models are asked beyond what they are good for.

    Raises
    ------
    StudyError
        For what no model here can compute.
    """
    for problem in rates_outside(study, case, 2 * bore.throat_radius):
        raise StudyError(problem)
    with _refusal(case, "resonance.behind: "):
        termination = _termination(study, bore)
    notes = [termination.note] if termination.note else []
    # Every limit rises with the speed of sound: what is within those of an air in which it is
    # surely slower needs no other, which would take longer to load than all the rest.
    dry = dry_air(case)
    slow = replace(dry, sound_speed=DRY * dry.sound_speed)
    try:
        if not _beyond(study, slow, bore, termination):
            return notes
    except ValueError:
        pass  # refused, if at all, by what the air is
    with _refusal(case):
        return _beyond(study, case.build_air(), bore, termination) + notes


def _beyond(study: Study, air: Air, bore: Bore, termination: Termination) -> list[str]:
    """What lies beyond the models' limits in an air."""
    cautions = check_rates(air, list(study.flow_rates()), 2 * bore.throat_radius)
    highest = study.resonance.to.value
    widest = max(max(segment.start[1], segment.stop[1]) for segment in bore.segments)
    return cautions + frequency_cautions(highest, widest, termination, air)


def _termination(study: Study, bore: Bore) -> Termination:
    column = study.air_column_file()
    kind = str(study.resonance.behind) if column is None else "air column"
    return build_termination(kind, bore.shank_radius, study.resonance.walls, column)


@contextmanager
def _refusal(case: Case, where: str = "") -> Iterator[None]:
    """Put the case's name, and the key where a physics leaves it out, before a refusal."""
    try:
        yield
    except ValueError as problem:
        raise StudyError(f"case {case.name}: {where}{problem}") from None


if __name__ == "__main__":
    sys.exit(main())
