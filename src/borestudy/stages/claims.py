"""The claims of a text held against a study's results: a table and a page."""

from collections.abc import Callable, Sequence
from functools import cache
from pathlib import Path

import pandas as pd

from borestudy.acoustics import solve
from borestudy.acoustics.result import Resonance
from borestudy.acoustics.stored import load_two_port
from borestudy.acoustics.termination import build_termination
from borestudy.acoustics.two_port import solve_two_port
from borestudy.claim import Claim
from borestudy.claims import Bench, Judgement, claims_table, judge
from borestudy.mesh import ACOUSTICS
from borestudy.mesh.read import read_mesh
from borestudy.mesh.unmeshed import why_unmeshed
from borestudy.records import read_record
from borestudy.report.claims import ClaimsPage, write_claims_page
from borestudy.results.case import CaseResults
from borestudy.results.handbooks import handbook_dimensions
from borestudy.results.tables.files import write_table
from borestudy.stages.air import AirResult
from borestudy.stages.collation import results_of_cases
from borestudy.stages.geometry import read_bore
from borestudy.stages.plan import air_name
from borestudy.study import Case, Study


def claims_stage(
    study: Study, claims: Sequence[Claim], folder: Path, table: Path | str, page: Path | str
) -> None:
    """Write the judged claims as a table and as a page, from a study's folder of results."""
    found = judged_table(study, claims, folder)
    write_table(found, table)
    write_page(study, found, Path(page))


def write_page(study: Study, table: pd.DataFrame, page: Path) -> None:
    """Write the page of a study's judged claims."""
    labels = {case.name: case.label for case in study.cases()}
    write_claims_page(page, ClaimsPage(study.name, study.question, table, labels))


def judged_table(study: Study, claims: Sequence[Claim], folder: Path) -> pd.DataFrame:
    """The table of judged claims: a row a claim."""
    return claims_table(judge_claims(study, claims, folder))


def judge_claims(study: Study, claims: Sequence[Claim], folder: Path) -> list[Judgement]:
    """Hold claims against a study's results in a folder, one judgement a claim in their order.

    Parameters
    ----------
    study : Study
        What was asked.
    claims : sequence of Claim
        About cases of the study.
    folder : Path
        Folder of its results; what is missing there is a claim that cannot be decided.
    """
    cases = {case.name: case for case in study.cases()}
    asked = {next(iter(cases)), *(claim.case for claim in claims)}
    results = {one.name: one for one in results_of_cases(study, folder, asked)}
    first = next(iter(results.values()))

    @cache
    def bench(name: str) -> Bench:
        return bench_of(study, cases[name], results[name], first, folder)

    return [judge(claim, bench(claim.case)) for claim in claims]


def bench_of(
    study: Study, case: Case, found: CaseResults, first: CaseResults, folder: Path
) -> Bench:
    """What claims about one case are held against; what needs a solution is solved when asked."""
    home = folder / "cases" / case.name
    air = read_record(folder / "air" / f"{air_name(case)}.json", AirResult)
    end, column = study.termination(), study.air_column_file()

    def lossless() -> Sequence[Resonance]:
        meshes = [home / "mesh" / f"{name}.msh" for name in ACOUSTICS.names]
        if why_unmeshed(*meshes) is not None:
            return ()
        levels = [read_mesh(path) for path in meshes]
        solved = solve_two_port(levels, air.constants, *study.frequency_range(), "lossless")
        behind = build_termination(end, solved.shank_radius, "lossless", column)
        return solve.acoustic_result(solved, behind).resonances

    def pressure_node() -> Sequence[Resonance]:
        stored = home / "two_port.npz"
        if why_unmeshed(stored) is not None:
            return ()
        solved = load_two_port(stored)
        node = build_termination("pressure node", solved.shank_radius, solved.walls)
        return solve.acoustic_result(solved, node).resonances

    return Bench(
        case=found,
        first=first,
        air=air.constants,
        temperature=air.conditions.temperature_K,
        relative_humidity=air.conditions.relative_humidity,
        pressure=air.conditions.pressure_Pa,
        handbook=handbook_dimensions(read_bore(home / "bore.json"), study.pipe_behind()),
        lossless=_once(lossless),
        pressure_node=_once(pressure_node),
    )


def _once(solve_it: Callable[[], Sequence[Resonance]]) -> Callable[[], Sequence[Resonance]]:
    """The same without solving twice."""
    return cache(solve_it)
