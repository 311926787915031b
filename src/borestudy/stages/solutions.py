"""The results of cases from their folders, the flow's solutions put together as the study asks."""

from pathlib import Path

from borestudy.results.case import CaseResults, read_results
from borestudy.results.merged_flow import KnownRate, known_rates
from borestudy.stages.air import read_air
from borestudy.stages.flow import handbook_dimensions
from borestudy.stages.geometry import read_bore
from borestudy.stages.plan import air_name
from borestudy.study import Case, Study
from borestudy.units import parse_share


def results_of_cases(study: Study, folder: Path | str) -> list[CaseResults]:
    """Results of every case, in the study's order, from a study's folder."""
    return [
        read_results(
            Path(folder) / "cases" / case.name,
            case.name,
            case.varied_columns(),
            known_rates_of(study, case, Path(folder)),
            study.flow.closure,
            tolerance=parse_share(study.flow.tolerance),
            pipe_behind_mm=1e3 * study.pipe_behind(),
        )
        for case in study.cases()
    ]


def known_rates_of(study: Study, case: Case, folder: Path) -> list[KnownRate]:
    """What is known of each of the study's flow rates in a case before it is solved."""
    bore = read_bore(folder / "cases" / case.name / "bore.json")
    air = read_air(folder / "air" / f"{air_name(case)}.json")
    rates = [float(rate) for rate in study.flow_rates()]
    return known_rates(handbook_dimensions(bore, float(study.pipe_behind())), air, rates)


def reference_index(study: Study) -> int:
    """Index of the flow rate that cases are compared at."""
    return study.flow_rates().tolist().index(study.reference_rate())
