"""Collect the folders of all cases into the study's tables and its answer."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from functools import partial
from pathlib import Path

import pandas as pd

from borestudy.bore import passage, tolerances_of
from borestudy.files import write_json
from borestudy.records import read_record
from borestudy.report.sentences.answers import answers
from borestudy.report.sentences.first import FirstSentence, first_sentences, wished_sentences
from borestudy.report.sentences.validity import validity_sentences
from borestudy.results.budget import budget_rows
from borestudy.results.case import CaseResults, read_results, solved_rate
from borestudy.results.dimensions import dimension_values
from borestudy.results.estimate import EXTREMES
from borestudy.results.hand_formulas import hand_formula_table
from borestudy.results.handbooks import handbook_at, handbook_dimensions
from borestudy.results.sensitivities import sensitivities_table
from borestudy.results.tables import comparison, files, flow
from borestudy.results.toleranced import ToleranceResult, tolerance_table
from borestudy.results.wishes import WishResult
from borestudy.stages.air import AirResult, read_air
from borestudy.stages.geometry import read_bore, read_dimensions
from borestudy.stages.plan import air_name
from borestudy.study import Study


def results_of_cases(
    study: Study, folder: Path | str, names: Collection[str] | None = None
) -> list[CaseResults]:
    """Results of every case, or of those named, in the study's order, from a study's folder."""
    pipe, found = study.pipe_behind(), []
    extremes = [word for word in EXTREMES if study.flow.closure in (word, "both")]
    for case in study.cases():
        if names is not None and case.name not in names:
            continue
        home = Path(folder) / "cases" / case.name
        bore = read_bore(home / "bore.json")
        handbook = partial(handbook_at, handbook_dimensions(bore, pipe))
        way = passage(bore.extended(pipe) if pipe else bore)
        dimensions = dimension_values(bore, read_dimensions(home / "dimensions.json"))
        varied = case.varied_columns()
        words = case.words()
        found.append(
            read_results(home, case.name, varied, way, handbook, extremes, dimensions, words)
        )
    return found


def collate(
    study: Study,
    folder: Path,
    checks: Sequence[Path | str],
    tolerances: Path | str,
    air: Path | str,
    outputs: Mapping[str, Path | str],
) -> None:
    """Write a study's tables and answers, each to its entry of `outputs`, from its folder.

    `checks` are the verification's tables; `tolerances` and `air` are of the first case.
    """
    cases, rates = results_of_cases(study, folder), study.flow_rates().tolist()
    rate = solved_rate(cases, rates.index(study.reference_rate()))
    curves = [folder / "cases" / case.name / "impedance.csv" for case in cases]
    first = folder / "cases" / cases[0].name / "dimensions.json"
    missed = tolerances_of(read_dimensions(first), study.tolerance.value, study.stated_tolerances())
    temperature = read_record(air, AirResult).conditions.temperature_K
    airs = {
        name: read_air(folder / "air" / f"{name}.json") for name in map(air_name, study.cases())
    }
    tables = {
        "cases": comparison.cases_table(cases),
        "comparison": comparison.comparison_table(cases, rate),
        "peaks": comparison.peaks_table(cases),
        "flow": flow.flow_table(cases),
        "impedance": files.join_impedances(curves, study.resonance.points),
        "stream": comparison.stream_table(cases),
        "energy": flow.energy_table(cases),
        "separations": flow.separation_table(cases),
        "verification": files.verification_table(
            checks,
            [(case.name, *each) for case in cases for each in case.unmeshed.items()],
        ),
        "sensitivities": sensitivities_table(cases),
        "tolerances": tolerance_table(read_record(tolerances, ToleranceResult)),
        "hand_formulas": hand_formula_table(
            cases, [airs[air_name(case)] for case in study.cases()]
        ),
        "budget": pd.DataFrame(budget_rows(cases[0], rate, temperature, missed)),
    }
    opening = first_answer(study, folder, cases)
    for name, table in tables.items():
        files.write_table(table, outputs[name])
    write_json(
        outputs["answers"],
        {
            "question": study.question,
            "first": [one.text for one in opening],
            "first_numbers": [one.source() for one in opening],
            "answers": answers(cases, rate, study.question),
            "validity": validity_sentences(cases),
            "rows": {name: len(table) for name, table in tables.items()},
        },
    )


def first_answer(study: Study, folder: Path, cases: Sequence[CaseResults]) -> list[FirstSentence]:
    """The answer to a study's question or wish, at the flow rate that a player uses."""
    if study.asked() is not None:
        return wished_sentences(read_record(folder / "wish" / "wish.json", WishResult))
    rate = solved_rate(cases, study.flow_rates().tolist().index(study.playing_rate()))
    return first_sentences(cases, rate, study.question)


def benchmark_table(paths: Iterable[Path | str], folder: Path | str) -> pd.DataFrame:
    """One row a job: rule, case, wall time [s] and peak memory [MB], where it was measured.

    Snakemake's ``benchmark`` wrote the paths, ``RULE.tsv`` or ``RULE/CASE.tsv`` in the folder.
    """
    rows = []
    for path in map(Path, paths):
        rule, *rest = path.relative_to(folder).with_suffix("").parts
        # A job of a few tenths of a second has no memory.
        measured = pd.read_csv(path, sep="\t", na_values="-")[["s", "max_rss"]].iloc[0]
        rows.append((rule, "/".join(rest), *measured))
    return pd.DataFrame(rows, columns=["rule", "case", "wall_time_s", "peak_memory_MB"])


def benchmark_summary(table: pd.DataFrame) -> pd.DataFrame:
    """One row a rule, the longest in all first: a study may have thousands of jobs."""
    summary = table.groupby("rule", sort=False, as_index=False).agg(
        jobs=("rule", "size"),
        wall_time_s=("wall_time_s", "sum"),
        longest_job_s=("wall_time_s", "max"),
        peak_memory_MB=("peak_memory_MB", "max"),
    )
    places = {"wall_time_s": 1, "longest_job_s": 1, "peak_memory_MB": 0}
    return summary.round(places).sort_values("wall_time_s", ascending=False, kind="stable")
