"""The figures and the report of a study of many cases, from its tables and the few it shows."""

import re
import resource
import shutil
from html import unescape
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from borestudy.drawing.looks import Look, using
from borestudy.files import FileError, read_json, write_json
from borestudy.results.tables.files import read_table, write_table
from borestudy.results.tables.selected import read_cases, read_columns
from borestudy.stages.benchmarks import COLUMNS, cost_table
from borestudy.stages.collation import collate
from borestudy.stages.large import is_large, many_bores, shown_labels
from borestudy.stages.presentation import draw_figures, make_report
from borestudy.study import Study

from ..results.large import large_tables
from .made_up import write_results
from .test_collation import collated, outputs, paths_of, study

MEGABYTE = 2**20


def report_of(asked: Study, folder: Path) -> str:
    """Draw the figures and write the report; the page."""
    with using(Look(formats=("svg",))):
        draw_figures(asked, folder, folder / "figures")
    air = paths_of(asked, folder)["air"]
    page = folder / "report.html"
    make_report(asked, folder, air, {"mesh": "made up"}, page, folder / "comparison.tex")
    return page.read_text("utf-8")


def with_times(folder: Path) -> None:
    """Tables of what the study took, all of it one case's mesh and the tables."""
    rows = [
        ("mesh", "a", 2.5, 2.4, 150.0, 10, 0, 20, 0),
        ("collate", "", 1.5, 1.4, 200.0, 0, 0, 0, 0),
    ]
    table = pd.DataFrame(rows, columns=COLUMNS)
    write_table(table, folder / "benchmarks.csv")
    write_table(cost_table(table), folder / "costs.csv")


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> tuple[Study, Path, str, set[str]]:
    """A study with lips of 64 cases, with the folders of those that are shown alone; its page."""
    folder = tmp_path_factory.mktemp("many")
    asked = study(8, 4, lips=True)
    collated(asked, folder, parquet=False)
    with_times(folder)
    names = set(shown_labels(many_bores(asked, folder)))
    for case in asked.cases():
        if case.name not in names:
            shutil.rmtree(folder / "cases" / case.name)
    return asked, folder, report_of(asked, folder), names


def test_the_results_of_no_other_case_than_those_shown_are_read(
    shown: tuple[Study, Path, str, set[str]],
) -> None:
    asked, folder, page, names = shown
    assert is_large(asked)
    assert 1 < len(names) <= 7
    assert asked.cases()[0].name in names
    assert 'id="overview"' in page
    drawn = {one["name"] for one in read_json(folder / "figures" / "captions.json")}
    assert {"distributions", "trends", "all-bores", "bore-sections", "impedance"} <= drawn
    assert not {"headline", "resistance-trend", "trade-off"} & drawn


def test_the_page_names_the_files_of_the_cases_shown_and_of_no_other(
    shown: tuple[Study, Path, str, set[str]],
) -> None:
    asked, _, page, names = shown
    plain = page.replace("<wbr>", "")
    assert {case.name for case in asked.cases() if f">{case.name}<" in plain} == names


def test_the_bores_shown_are_those_with_the_least_and_the_greatest_figures(
    shown: tuple[Study, Path, str, set[str]],
) -> None:
    _, folder, _, names = shown
    table = pd.read_csv(folder / "comparison.csv").set_index("case")
    ends = [
        case
        for figure in ("resonance_Hz", "resonance_Q", "flow_resistance_kPa_s_per_L")
        for case in (table[figure].idxmin(), table[figure].idxmax())
    ]
    assert names == {*ends, table.index[0]}


def test_cases_without_a_mesh_are_told_by_their_reason_and_not_one_by_one(
    shown: tuple[Study, Path, str, set[str]],
) -> None:
    _, folder, page, _ = shown
    lost = pd.read_csv(folder / "verification.csv")
    counts = lost[lost["check"].str.startswith("case ")]["quantity"].value_counts()
    assert len(counts) > 1
    for quantity, count in counts.items():
        assert f"{count} without {quantity.removeprefix('solution for ')}: " in page


def test_a_table_that_lost_its_end_is_refused_by_name(
    shown: tuple[Study, Path, str, set[str]], tmp_path: Path
) -> None:
    asked, folder, _, _ = shown
    lines = (folder / "comparison.csv").read_text("utf-8").splitlines(keepends=True)
    (tmp_path / "comparison.csv").write_text("".join(lines[:-3]))
    with pytest.raises(FileError, match=r"comparison\.csv.*61 of 64 rows"):
        many_bores(asked, tmp_path)


def test_columns_and_cases_are_the_same_from_either_file(
    shown: tuple[Study, Path, str, set[str]], tmp_path: Path
) -> None:
    _, folder, _, names = shown
    whole = read_table(folder / "flow.csv")
    whole.to_parquet(tmp_path / "flow.parquet")
    for path in (folder / "flow.csv", tmp_path / "flow.parquet"):
        columns = read_columns(path, ["case", "pressure_drop_*", "no_such_column"])
        assert list(columns) == [
            "case", *(name for name in whole if name.startswith("pressure_drop_"))
        ]  # fmt: skip
        rows = read_cases(path, names)
        expected = whole[whole["case"].isin(names)]
        assert rows["case"].tolist() == expected["case"].tolist()
        drops = rows["pressure_drop_Pa"].to_numpy(), expected["pressure_drop_Pa"].to_numpy()
        pd.testing.assert_series_equal(*map(pd.Series, drops))


class OfCases:
    """A study with some of its cases alone, to make up their results."""

    def __init__(self, whole: Study, names: set[str]) -> None:
        self._whole, self._names = whole, names

    def __getattr__(self, name: str) -> Any:
        return getattr(self._whole, name)

    def cases(self) -> list[Any]:
        return [case for case in self._whole.cases() if case.name in self._names]


@pytest.mark.long
def test_the_report_of_ten_thousand_cases_is_small(tmp_path: Path) -> None:
    """At most 6 MB of page and 1 GB of memory, from tables made up."""
    asked = study(50, 100, 991, 8)
    cases = asked.cases()
    columns = [case.varied_columns() for case in cases]
    varied = {name: [row[name] for row in columns] for name in columns[0]}
    rates = [1e3 * rate for rate in asked.flow_rates().tolist()]
    names = [case.name for case in cases]
    made = large_tables(names, varied, rates, range(7, 10_000, 31), range(5, 10_000, 17))
    first = OfCases(asked, {names[0]})
    write_results(first, tmp_path)
    collate(first, tmp_path, outputs=outputs(tmp_path, False), **paths_of(asked, tmp_path))
    for name, table in made.items():
        if len(table):
            write_table(table, tmp_path / f"{name}.csv")
    told = read_json(tmp_path / "answers.json")
    told["validity"] = [f"{case.label}: there is no solution for flow." for case in cases]
    write_json(tmp_path / "answers.json", told)
    with_times(tmp_path)
    write_results(OfCases(asked, set(shown_labels(many_bores(asked, tmp_path)))), tmp_path)
    page = report_of(asked, tmp_path)
    size = len(page.encode()) / MEGABYTE
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{size:.2f} MB of page, {memory:.0f} MB of memory")
    assert size < 6
    assert memory < 1000
    assert "of 10,000 bores are shown" in page


def test_of_many_bores_with_lips_the_sentences_are_of_all_and_the_rest_of_those_shown(
    shown: tuple[Study, Path, str, set[str]],
) -> None:
    _, folder, page, _ = shown
    (sentence, _) = read_json(folder / "answers.json")["onset"]
    section = page[page.index('id="playing"') :]
    plain = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", "", unescape(section)))
    assert sentence in plain
    assert "These sentences are of all bores." in plain
    for one in ("first bore", "highest resistance", "lowest resistance"):
        assert one in plain
    # 64 bores with three registers each would have 192 in one table.
    assert section[: section.index('id="playing-model"')].count("<tr") < 60
