"""From the folders of all cases to the study's tables and its answer."""

import csv
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

import pandas as pd

from borestudy.provenance import read_json, write_json
from borestudy.records import read_record
from borestudy.report.sentences.answers import answers
from borestudy.report.sentences.validity import validity_sentences
from borestudy.results.budget import budget_rows
from borestudy.results.case import solved_rate
from borestudy.results.tables.comparison import (
    cases_table,
    comparison_table,
    peaks_table,
    stream_table,
)
from borestudy.results.tables.energy import energy_table
from borestudy.results.tables.files import impedance_table, verification_table, write_table
from borestudy.results.tables.flow import flow_table
from borestudy.results.tables.separation import separation_table
from borestudy.results.tolerances import SolvedTolerances, tolerance_rows
from borestudy.stages.solutions import reference_index, results_of_cases
from borestudy.study import Study


def collate(
    study: Study,
    folder: Path,
    checks: Sequence[Path | str],
    tolerances: Path | str,
    air: Path | str,
    outputs: Mapping[str, Path | str],
) -> None:
    """Write a study's tables.

    Parameters
    ----------
    study : Study
        As it was computed.
    folder : path
        Of the study's results.
    checks : sequence of path
        Tables of the verification's checks.
    tolerances, air : path
        What the stages of these names wrote for the first case.
    outputs : mapping
        Files to write: ``cases``, ``comparison``, ``peaks``, ``flow``, ``impedance``,
        ``stream``, ``energy``, ``separations``, ``verification``, ``tolerances``, ``budget``,
        ``answers``.
    """
    cases = results_of_cases(study, folder)
    asked = reference_index(study)
    rate = solved_rate(cases, asked)
    curves = [folder / "cases" / case.name / "impedance.csv" for case in cases]
    errors = tolerance_rows(
        read_record(tolerances, SolvedTolerances), 1e3 * study.tolerance_length(), cases, asked
    )
    temperature = read_json(air)["conditions"]["temperature_K"]
    tables = {
        "cases": cases_table(cases),
        "comparison": comparison_table(cases, rate),
        "peaks": peaks_table(cases),
        "flow": flow_table(cases),
        "impedance": impedance_table(curves, study.resonance.points),
        "stream": stream_table(cases),
        "energy": energy_table(cases),
        "separations": separation_table(cases),
        "verification": verification_table(
            checks,
            [(case.name, *each) for case in cases for each in case.unmeshed.items()],
        ),
        "tolerances": pd.DataFrame(errors),
        "budget": pd.DataFrame(budget_rows(cases[0], rate, temperature, errors)),
    }
    for name, table in tables.items():
        write_table(table, outputs[name])
    write_json(
        outputs["answers"],
        {
            "question": study.question,
            "answers": answers(cases, rate, study.question),
            "validity": validity_sentences(cases),
            "rows": {name: len(table) for name, table in tables.items()},
        },
    )


def benchmark_table(paths: Iterable[Path | str], folder: Path | str) -> pd.DataFrame:
    """One row a job: rule, case, wall time [s] and peak memory [MB], where it was measured.

    Parameters
    ----------
    paths : iterable of path
        ``RULE.tsv`` or ``RULE/CASE.tsv`` inside the folder, as Snakemake's ``benchmark`` writes.
    folder : path
        Of all benchmarks.
    """
    rows = []
    for path in map(Path, paths):
        rule, *rest = path.relative_to(folder).with_suffix("").parts
        with open(path, encoding="utf-8", newline="") as stream:
            measured = next(csv.DictReader(stream, delimiter="\t"))
        rows.append((rule, "/".join(rest), measured["s"], measured["max_rss"]))
    table = pd.DataFrame(rows, columns=["rule", "case", "wall_time_s", "peak_memory_MB"])
    for name in ("wall_time_s", "peak_memory_MB"):  # jobs of a few tenths of a second have none
        table[name] = pd.to_numeric(table[name], errors="coerce")
    return table


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
