"""A study of many cases from its tables: what is said of all, and the few that are drawn."""

from collections.abc import Mapping, Sequence
from pathlib import Path

import pandas as pd

from borestudy.files import FileError, not_whole
from borestudy.report.large import FEW_CASES
from borestudy.report.large.failures import of_cases
from borestudy.report.large.overview import Overview, overview_of
from borestudy.report.large.summary import FIGURES, ManyBores, drawn_cases
from borestudy.report.topic import topic_of
from borestudy.results.tables.files import read_table
from borestudy.results.tables.selected import read_cases, read_columns, table_file
from borestudy.study import Study

#: Columns of the flow's table that say where there is no solution.
SOLVED = ("case", "flow_rate_L_per_s", "converged", "regime", "note")
#: Tables of which the report has no more than the shown cases' rows, and those of the first case.
OF_SHOWN = ("comparison", "flow", "stream", "energy", "separations", "sensitivities")
OF_FIRST = ("hand_formulas",)
#: Tables of no case, or of the first alone.
WHOLE = ("tolerances", "budget")


def is_large(study: Study) -> bool:
    """Whether a study has so many cases that its report sums them up."""
    return len(study.cases()) > FEW_CASES


def many_bores(study: Study, folder: Path) -> ManyBores:
    """What is said and drawn of all cases, from columns of the comparison.

    Raises
    ------
    FileError
        If the table is missing or not whole.
    """
    first = study.cases()[0].varied_columns()
    figures = [one for pairs in FIGURES.values() for pair in pairs.items() for one in pair]
    verdicts = [name.rpartition("_")[0] + "_verdict" for name in figures]
    errors = [f"{name}_uncertainty" for name in figures]
    wanted = ["case", *first, "flow_rate_L_per_s", *figures, *errors, *verdicts]
    comparison = _whole(table_file(folder, "comparison"), wanted, len(study.cases()))
    varied = [name for name in first if name != "entry_radius_mm"]
    if "entry" in varied and comparison["entry_radius_mm"].notna().all():
        varied[varied.index("entry")] = "entry_radius_mm"
    return ManyBores(comparison=comparison, varied=varied, topic=topic_of(study.question, varied))


def shown_labels(many: ManyBores) -> dict[str, str]:
    """What the cases that are drawn one by one are called, for why they are, by their names.

    Their own words, which are long where much is varied, stand in the table of the extremes.
    """
    return {
        str(many.comparison["case"].iloc[row]): ", ".join(words)
        for row, words in sorted(drawn_cases(many.comparison, many.topic).items())
    }


def shown_rows(folder: Path, name: str, shown: Mapping[str, str]) -> pd.DataFrame:
    """The rows of the cases shown, of a table by its name."""
    return read_cases(table_file(folder, name), shown)


def shown_tables(folder: Path, shown: Mapping[str, str]) -> dict[str, pd.DataFrame]:
    """The tables of the report with the rows of the cases shown, the first of them the first."""
    first = next(iter(shown))
    found = {name: shown_rows(folder, name, shown) for name in OF_SHOWN}
    found |= {name: read_cases(table_file(folder, name), [first]) for name in OF_FIRST}
    found |= {name: read_table(table_file(folder, name)) for name in WHOLE}
    checks = read_table(folder / "verification.csv")
    return found | {"verification": checks if checks.empty else checks[~of_cases(checks)]}


def _whole(path: Path, columns: Sequence[str], count: int) -> pd.DataFrame:
    """Some columns of a table that has so many rows.

    Raises
    ------
    FileError
        If it has another number, as one that was cut at the end of a line.
    """
    table = read_columns(path, columns)
    if len(table) != count:
        raise FileError(not_whole(path, f"{len(table)} of {count} rows"))
    return table


def study_overview(study: Study, folder: Path, many: ManyBores, shown: int) -> Overview:
    """What the page says of all cases."""
    labels = {case.name: case.label for case in study.cases()}
    count = len(study.cases()) * len(study.flow_rates())
    flow = _whole(table_file(folder, "flow"), SOLVED, count)
    return overview_of(many, flow, read_table(folder / "verification.csv"), labels, shown)
