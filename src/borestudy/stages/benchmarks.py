"""What a study took: time, memory and bytes of each job and of each step of a case."""

from collections.abc import Iterable, Mapping, Sequence
from fnmatch import fnmatch
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from borestudy.files import read_json
from borestudy.report.tables.costs import BYTES, CASES, KINDS, STARTING, STUDY
from borestudy.results.tables.files import read_table, write_table
from borestudy.stages.batches.record import read_case_record
from borestudy.stages.batches.steps import KINDS as PATTERNS

COLUMNS = ["rule", "case", "wall_time_s", "cpu_time_s", "peak_memory_MB", *BYTES]
#: What jobs leave that are of no case, as patterns in the study's folder; of figures the rest.
LEFT = {
    "air": ("air/{case}.json",),
    "verify_acoustics": ("verification/acoustics.*",),
    "verify_flow": ("verification/flow.*",),
    "verify_playing": ("verification/playing.*",),
    "tolerances": ("tolerances.json",),
    "wish": ("wish/*", "wishes.csv"),
    "claims": ("claims.csv", "claims.html"),
    "collate": (
        "answers.json", "budget.*", "cases.*", "comparison.csv", "comparison.parquet", "energy.*",
        "flow.csv", "flow.parquet", "hand_formulas.*", "impedance.*", "peaks.*", "sensitivities.*",
        "onset.*", "onset_changes.*", "separations.*", "stream.*", "tolerances.csv",
        "tolerances.parquet", "tone.*", "tone_changes.*", "tone_harmonics.*", "verification.csv",
    ),
    "figures": ("figures/*",),
}  # fmt: skip
#: The job that solves a batch of cases, whose steps have rows of their own.
SOLVE = "solve"


def benchmark_table(
    paths: Iterable[Path | str], folder: Path | str, cases: Iterable[str] = ()
) -> pd.DataFrame:
    """One row a job or a step of a case: which, its time and memory, and the bytes it left.

    Parameters
    ----------
    paths : iterable of path
        Files of Snakemake's ``benchmark``, ``RULE.tsv`` or ``RULE/WILDCARD.tsv`` in the folder.
    folder : path
        Folder of these, in the study's.
    cases : iterable of str
        Names of the cases, whose records have the steps of theirs.

    Returns
    -------
    pandas.DataFrame
        With `COLUMNS`: wall time and processor time [s], the latter of steps alone since
        Snakemake's is no more than a sample; peak memory [MB], which a job of a few tenths of a
        second has none; bytes of tables, fields and meshes that are there.
    """
    home = Path(folder).parent
    rows: list[tuple[Any, ...]] = []
    for path in map(Path, paths):
        rule, *rest = path.relative_to(folder).with_suffix("").parts
        case = "/".join(rest)
        measured = pd.read_csv(path, sep="\t", na_values="-")[["s", "max_rss"]].iloc[0]
        patterns = [pattern.format(case=case) for pattern in LEFT.get(rule, ())]
        left = sum(file.stat().st_size for pattern in patterns for file in home.glob(pattern))
        rows.append((rule, case, measured["s"], np.nan, measured["max_rss"], left, 0, 0, 0))
    for case in cases:
        for step, done in read_case_record(home / "cases" / case).steps.items():
            took = done.wall_time_s, done.cpu_time_s, done.peak_memory_MB
            rows.append((step, case, *took, *bytes_by_kind(done.files)))
    return pd.DataFrame(rows, columns=COLUMNS)


def bytes_by_kind(files: Mapping[str, int]) -> tuple[int, ...]:
    """Bytes of tables, fields and meshes among a case's files, given by their paths there."""
    found = dict.fromkeys(KINDS, 0)
    for name, size in files.items():
        kind = next((kind for kind, globs in PATTERNS.items() if _any(name, globs)), "tables")
        found[kind] += size
    return tuple(found.values())


def _any(name: str, patterns: Sequence[str]) -> bool:
    return any(fnmatch(name, pattern) for pattern in patterns)


def cost_table(benchmarks: pd.DataFrame) -> pd.DataFrame:
    """Time, memory and bytes by stage, of all cases, and of the study.

    Parameters
    ----------
    benchmarks : pandas.DataFrame
        A table of `benchmark_table`.

    Returns
    -------
    pandas.DataFrame
        A row a step of a case in the order in which they are done; one of what their jobs took
        besides, to start and to import, where all steps were done by the jobs that are on record;
        one of all cases; one a rule; one of the study.  ``cases_per_core_hour`` is of those two.
    """
    jobs = benchmarks[benchmarks["rule"] == SOLVE]
    of_cases = _is_step(benchmarks)
    steps, others = benchmarks[of_cases], benchmarks[~of_cases & (benchmarks["rule"] != SOLVE)]
    by_step = [_row(str(step), rows) for step, rows in steps.groupby("rule", sort=False)]
    count = steps["case"].nunique()
    # A job that found steps done, by one that was interrupted, took less than their sum.
    besides = jobs["wall_time_s"].sum() - steps["wall_time_s"].sum()
    starting = []
    if len(jobs) and besides >= 0:
        starting = [_row(STARTING, jobs) | {"wall_time_s": besides, "longest_s": np.nan}]
    cases = _row(CASES, steps) | {"jobs": count}
    if starting:
        cases["wall_time_s"] += besides
    cases["longest_s"] = steps.groupby("case")["wall_time_s"].sum().max()
    by_rule = [_row(str(rule), rows) for rule, rows in others.groupby("rule", sort=False)]
    parts = pd.DataFrame([cases, *by_rule])
    study = {
        "stage": STUDY,
        "jobs": len(jobs) + len(others),
        "peak_memory_MB": parts["peak_memory_MB"].max(),
        **{name: parts[name].sum() for name in ("wall_time_s", *BYTES)},
    }
    for row in (cases, study):
        row["cases_per_core_hour"] = 3600 * count / row["wall_time_s"] if count else np.nan
    table = pd.DataFrame([*by_step, *starting, cases, *by_rule, study])
    places = {
        "wall_time_s": 2, "cpu_time_s": 2, "longest_s": 2, "peak_memory_MB": 1,
        "cases_per_core_hour": 1,
    }  # fmt: skip
    return table.round(places)


def write_costs(folder: Path, paths: Iterable[Path | str], output: Path) -> None:
    """Write a study's table of costs, with those of the jobs after its ``benchmarks.csv`` was made.

    Parameters
    ----------
    folder : Path
        Of the study.
    paths : iterable of path
        What Snakemake's ``benchmark`` says of the jobs since.
    output : Path
        The table.
    """
    since = benchmark_table(paths, folder / "benchmarks")
    every = pd.concat([read_table(folder / "benchmarks.csv"), since], ignore_index=True)
    write_table(cost_table(every), output)


def _row(stage: str, rows: pd.DataFrame) -> dict[str, Any]:
    return {
        "stage": stage,
        "jobs": len(rows),
        "wall_time_s": rows["wall_time_s"].sum(),
        "cpu_time_s": rows["cpu_time_s"].sum(min_count=1),
        "longest_s": rows["wall_time_s"].max(),
        "peak_memory_MB": rows["peak_memory_MB"].max(),
        **{name: int(rows[name].sum()) for name in BYTES},
    }


def times_of(folder: Path) -> tuple[dict[str, float], float, pd.DataFrame] | None:
    """What the figure of costs shows, from the tables of a study; None where it has none of them.

    Returns
    -------
    tuple
        Seconds of each case by its name, seconds of all that is done once, and the table of
        `mesh_cost_table`.
    """
    paths = folder / "benchmarks.csv", folder / "mesh_costs.csv"
    if not all(path.is_file() for path in paths):
        return None  # results that were made before there were such tables
    benchmarks, meshes = map(read_table, paths)
    of_cases = _is_step(benchmarks)
    steps, others = benchmarks[of_cases], benchmarks[~of_cases & (benchmarks["rule"] != SOLVE)]
    seconds = steps.groupby("case", sort=False)["wall_time_s"].sum()
    return (
        {str(case): float(one) for case, one in seconds.items()},
        float(others["wall_time_s"].sum()),
        meshes,
    )


def _is_step(benchmarks: pd.DataFrame) -> pd.Series:
    """Which rows are of a case's step, and of no job."""
    return (benchmarks["case"] != "") & ~benchmarks["rule"].isin([SOLVE, "air"])


def mesh_cost_table(folder: Path, cases: Iterable[str], models: Iterable[str]) -> pd.DataFrame:
    """What solving the flow took on each mesh of each case.

    Parameters
    ----------
    folder : Path
        Of the study.
    cases, models : iterable of str
        Names of the cases, and of the models of their flow.

    Returns
    -------
    pandas.DataFrame
        A row a case, model and mesh level (0 the coarsest): number of unknowns, and seconds of the
        solves of all rates that were asked for there; none of a case that was not solved.
    """
    models = [*models]
    rows = []
    for case in cases:
        for model in models:
            record = read_json(folder / "cases" / case / f"flow-{model}.json")
            pairs = zip(record["unknowns"] or (), record.get("solve_seconds") or (), strict=False)
            for level, (unknowns, seconds) in enumerate(pairs):
                rows.append((case, model, level, unknowns, seconds))
    return pd.DataFrame(rows, columns=["case", "model", "mesh_level", "unknowns", "solve_time_s"])
