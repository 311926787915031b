"""Tables made from one case after another are those that all cases at once make, bit by bit."""

import subprocess
import sys
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from borestudy.files import FileError, read_json, write_json
from borestudy.report.sentences.answers import answers
from borestudy.report.sentences.first import first_sentences
from borestudy.report.sentences.first.onset import onset_sentences
from borestudy.report.sentences.validity import validity_sentences
from borestudy.results.case import solved_rate
from borestudy.results.hand_formulas import hand_formula_table
from borestudy.results.onset_changes import onset_changes_table
from borestudy.results.sensitivities import sensitivities_table
from borestudy.results.tables import comparison, files, flow
from borestudy.results.tables.of_study import Bounds
from borestudy.results.tables.playing import harmonics_table, onset_table, tone_table
from borestudy.results.tables.selected import read_all, read_cases, read_columns, table_file
from borestudy.results.tables.sizes import (
    LARGE,
    SPREADSHEET_ROWS,
    TABLES_OF_CASES,
    TABLES_OF_LIPS,
    is_large,
)
from borestudy.results.tone_changes import tone_changes_table
from borestudy.stages.air import read_air
from borestudy.stages.collation import collate, results_of_cases
from borestudy.stages.layout import Layout
from borestudy.stages.plan import air_name
from borestudy.study import Study, study_from_mapping

from .made_up import write_results

REPOSITORY = Path(__file__).parents[2]
OTHERS = ("verification", "tolerances", "budget")
STATIONS = "position_mm,diameter_mm\n0,16.2\n4,13\n10.8,3.66\n15.8,3.66\n88,9\n"


def study(
    diameters: int, depths: int, points: int = 21, rates: int = 2, lips: bool = False
) -> Study:
    return study_from_mapping(
        {
            "question": "Does a wider throat lower the flow resistance?",
            "bore": {
                "length": "88 mm",
                "cup": {"diameter": "16.2 mm", "depth": "10.8 mm", "shape": 0.6},
                "throat": {"diameter": "3.66 mm", "length": "5 mm", "entry": "square"},
                "backbore": {"end_diameter": "9 mm"},
            },
            "vary": {
                "throat.diameter": [f"{3.5 + 0.004 * one:.3f} mm" for one in range(diameters)],
                "cup.depth": [f"{9 + 0.02 * one:.2f} mm" for one in range(depths)],
                "throat.entry": ["square", "rounded 0.5 mm"],
            },
            "resonance": {"points": points},
            "flow": {"rates": [f"{0.05 * (one + 1):.2f} L/s" for one in range(rates)]},
            **({"lips": {"set": 10}} if lips else {}),
        },
        name="many",
    )


def outputs(folder: Path, parquet: bool, lips: bool = False) -> dict[str, Path]:
    tables = (*TABLES_OF_CASES, *(TABLES_OF_LIPS if lips else ()))
    found = {name: folder / f"{name}.csv" for name in (*tables, *OTHERS)}
    found["answers"] = folder / "answers.json"
    if parquet:
        found |= {f"{name}_parquet": folder / f"{name}.parquet" for name in tables}
    return found


def paths_of(asked: Study, folder: Path) -> dict[str, Any]:
    """What `write_results` left beside the cases."""
    return {
        "checks": [folder / "verification" / "acoustics.csv"],
        "tolerances": folder / "tolerances.json",
        "air": folder / "air" / f"{air_name(asked.cases()[0])}.json",
    }


def collated(asked: Study, folder: Path, parquet: bool, **how: Any) -> None:
    write_results(asked, folder)
    written = outputs(folder, parquet, asked.lips is not None)
    collate(asked, folder, outputs=written, **paths_of(asked, folder), **how)


def at_once(asked: Study, folder: Path) -> tuple[dict[str, pd.DataFrame], dict[str, object]]:
    """The tables and the sentences from the results of all cases together."""
    cases, rates = results_of_cases(asked, folder), asked.flow_rates().tolist()
    rate = solved_rate(cases, rates.index(asked.reference_rate()))
    playing = solved_rate(cases, rates.index(asked.playing_rate()))
    airs = [read_air(folder / "air" / f"{air_name(case)}.json") for case in asked.cases()]
    curves = [folder / "cases" / case.name / "impedance.csv" for case in cases]
    tables = {
        "cases": comparison.cases_table(cases),
        "comparison": comparison.comparison_table(cases, rate),
        "peaks": comparison.peaks_table(cases),
        "flow": flow.flow_table(cases),
        "impedance": files.join_impedances(curves, asked.resonance.points),
        "stream": comparison.stream_table(cases),
        "energy": flow.energy_table(cases),
        "separations": flow.separation_table(cases),
        "sensitivities": sensitivities_table(cases),
        "hand_formulas": hand_formula_table(cases, airs),
    }
    if asked.lips is not None:
        tables |= {
            "onset": onset_table(cases),
            "onset_changes": onset_changes_table(cases),
            "tone": tone_table(cases),
            "tone_changes": tone_changes_table(cases),
            "tone_harmonics": harmonics_table(cases),
        }
    said = {
        "onset": onset_sentences(cases),
        "first": [one.text for one in first_sentences(cases, playing, asked.question)],
        "answers": answers(cases, rate, asked.question),
        "validity": validity_sentences(cases),
    }
    return tables, said


def assert_same(asked: Study, folder: Path) -> None:
    tables, said = at_once(asked, folder)
    for name, table in tables.items():
        files.write_table(table, folder / "whole.csv")
        written = (folder / f"{name}.csv").read_bytes()
        assert written == (folder / "whole.csv").read_bytes(), name
    told = read_json(folder / "answers.json")
    assert {name: told[name] for name in said} == said
    assert {name: told["rows"][name] for name in tables} == {
        name: len(table) for name, table in tables.items()
    }


@pytest.fixture(scope="module")
def many(tmp_path_factory: pytest.TempPathFactory) -> tuple[Study, Path]:
    """60 cases in batches of 7, of which no row stays in memory."""
    folder, asked = tmp_path_factory.mktemp("many"), study(6, 5)
    collated(asked, folder, parquet=True, bounds=Bounds(7, 500, 0))
    return asked, folder


def test_one_case_after_another_makes_the_tables_of_all_cases_at_once(
    many: tuple[Study, Path],
) -> None:
    assert len(many[0].cases()) == 60
    assert_same(*many)


def test_parquet_holds_what_csv_holds(many: tuple[Study, Path]) -> None:
    _, folder = many
    rows = read_json(folder / "answers.json")["parquet_rows"]
    for name in TABLES_OF_CASES:
        csv = folder / f"{name}.csv"
        written = files.read_table(csv)
        stored = read_columns(table_file(folder, name), list(written.columns))
        assert table_file(folder, name).suffix == ".parquet"
        assert rows[name] == len(written) == len(stored)
        pd.testing.assert_frame_equal(stored, written, check_dtype=False, check_exact=True)
        last = written["case"].iloc[-1]
        pd.testing.assert_frame_equal(
            read_cases(table_file(folder, name), [last]).reset_index(drop=True),
            read_cases(csv, [last]).reset_index(drop=True),
            check_dtype=False,
            check_exact=True,
        )


def test_a_table_longer_than_a_spreadsheet_takes_has_the_extremes_alone_in_csv(
    many: tuple[Study, Path], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    asked, folder = many
    monkeypatch.setattr("borestudy.results.tables.of_study.SPREADSHEET_ROWS", 500)
    collate(asked, folder, outputs=outputs(tmp_path, parquet=True), **paths_of(asked, folder))
    told = read_json(tmp_path / "answers.json")
    shown = set(told["extremes"])
    whole = pd.read_parquet(tmp_path / "comparison.parquet")
    known = whole.dropna(subset=["resonance_Hz"])
    drops = whole.dropna(subset=["pressure_drop_Pa"])
    assert shown == {
        whole["case"].iloc[0],
        known.loc[known["resonance_Hz"].idxmin(), "case"],
        known.loc[known["resonance_Hz"].idxmax(), "case"],
        drops.loc[drops["pressure_drop_Pa"].idxmin(), "case"],
        drops.loc[drops["pressure_drop_Pa"].idxmax(), "case"],
    }
    curves = files.read_table(tmp_path / "impedance.csv")
    assert set(curves["case"]) == shown
    assert len(curves) == told["rows"]["impedance"] == len(shown) * asked.resonance.points
    assert told["parquet_rows"]["impedance"] == 60 * asked.resonance.points
    assert told["rows"]["comparison"] == 60


def test_tables_of_lips_come_out_the_same_and_go_with_the_lips(tmp_path: Path) -> None:
    asked = study(4, 3, lips=True)
    collated(asked, tmp_path, parquet=True, bounds=Bounds(5, 200, 0))
    assert_same(asked, tmp_path)
    changes = read_all(tmp_path / "onset_changes.parquet", 23 * 3 + 12 + 1)
    assert set(changes["threshold_lips_compared"].dropna()) != {10}
    assert len(read_json(tmp_path / "answers.json")["onset"]) == 2
    collated(study(4, 3), tmp_path, parquet=False)
    assert [path.name for path in tmp_path.glob("*_changes.*")] == []
    assert read_json(tmp_path / "answers.json")["onset"] == []


@pytest.fixture
def measured(tmp_path: Path) -> Study:
    """Cuts of one measured bore."""
    (tmp_path / "stations.csv").write_text(STATIONS)
    entries = ["as measured", "rounded 0.2 mm", "rounded 0.4 mm"]
    return study_from_mapping(
        {
            "bore": {"stations": "stations.csv", "join": "straight", "uncertainty": "0.02 mm",
                     "piece": "new"},
            "vary": {"throat.entry": entries},
            "resonance": {"points": 11},
            "flow": {"rates": "[0.05, 0.1, 0.2] L/s"},
        },
        tmp_path,
        "measured",
    )  # fmt: skip


def test_tables_of_measured_bores_come_out_the_same(measured: Study, tmp_path: Path) -> None:
    collated(measured, tmp_path / "results", parquet=False, bounds=Bounds(1, 0, 0))
    columns = files.read_table(tmp_path / "results" / "comparison.csv").columns
    assert "resonance_Hz_measurement_uncertainty" in columns
    assert_same(measured, tmp_path / "results")


def test_the_comparison_is_at_another_rate_where_no_case_is_solved_at_the_reference(
    measured: Study, tmp_path: Path
) -> None:
    folder = tmp_path / "results"
    write_results(measured, folder)
    for path in folder.glob("cases/*/flow-estimate.json"):
        solved = read_json(path)
        for rate in solved["rates"][:-1]:
            rate["converged"] = False
        write_json(path, solved)
    paths = paths_of(measured, folder)
    collate(measured, folder, outputs=outputs(folder, False), **paths, bounds=Bounds(1, 0, 0))
    rates = set(files.read_table(folder / "comparison.csv")["flow_rate_L_per_s"])
    assert rates == {1e3 * measured.flow_rates()[-1]}
    assert measured.reference_rate() != measured.flow_rates()[-1]
    assert_same(measured, folder)


def test_parquet_of_a_larger_study_in_the_same_folder_is_deleted(
    measured: Study, tmp_path: Path
) -> None:
    folder = tmp_path / "results"
    collated(measured, folder, parquet=True)
    assert table_file(folder, "flow").suffix == ".parquet"
    collated(measured, folder, parquet=False)
    assert list(folder.glob("*.parquet")) == []


TEN_THOUSAND = """
import resource, sys, time
from pathlib import Path
from borestudy.stages.collation import collate
from tests.stages.test_collation import outputs, paths_of, study
folder = Path(sys.argv[1])
begun = time.perf_counter()
asked = study(50, 100, 991, 8)
collate(asked, folder, outputs=outputs(folder, True), **paths_of(asked, folder))
print(time.perf_counter() - begun, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""


@pytest.mark.long
def test_ten_thousand_cases_are_collated_in_bounded_memory_and_time(tmp_path: Path) -> None:
    """8 rates and 991 frequencies each, in at most 1 GB and 10 minutes, in a process of its own."""
    asked = study(50, 100, 991, 8)
    write_results(asked, tmp_path, along=120, alike=True)
    ran = subprocess.run(
        [sys.executable, "-c", TEN_THOUSAND, str(tmp_path)],
        cwd=REPOSITORY, check=True, capture_output=True, text=True,
    )  # fmt: skip
    seconds, megabytes = map(float, ran.stdout.split())
    print(f"{seconds:.0f} s, {megabytes:.0f} MB")
    assert seconds < 600
    assert megabytes < 1000
    rows = read_json(tmp_path / "answers.json")["parquet_rows"]
    assert rows["comparison"] == 10_000
    assert rows["flow"] == 80_000
    assert rows["impedance"] == 9_910_000
    drops = read_columns(tmp_path / "flow.parquet", ["pressure_drop_Pa"])
    assert drops["pressure_drop_Pa"].count() > 70_000


def test_the_rule_for_parquet_is_that_of_the_page() -> None:
    assert is_large(LARGE, 3)
    assert not is_large(LARGE - 1, 3)
    assert is_large(2, SPREADSHEET_ROWS)
    assert not is_large(1, SPREADSHEET_ROWS)
    page = (REPOSITORY / "results" / "README.md").read_text(encoding="utf-8")
    assert f"of {LARGE} cases or more" in page
    assert f"{SPREADSHEET_ROWS:,}".replace(",", " ") in page


def test_a_large_study_asks_for_its_tables_in_parquet() -> None:
    names = [f"results/many/{name}.parquet" for name in TABLES_OF_CASES]
    large, small = (Layout(study(depths, 10), "results/many") for depths in (50, 49))
    assert list(large.parquet_tables().values()) == names
    assert set(names) <= set(large.documented())
    assert small.parquet_tables() == {}
    assert small.tables_of_lips() == {}
    sounding = Layout(study(50, 10, lips=True), "results/many")
    assert [*sounding.tables_of_lips()] == [*TABLES_OF_LIPS]
    assert set(sounding.tables_of_lips().values()) <= set(sounding.documented())
    assert [*sounding.parquet_tables()] == [
        f"{name}_parquet" for name in (*TABLES_OF_CASES, *TABLES_OF_LIPS)
    ]


def test_the_report_reads_every_row_of_a_few_bores_with_many_frequencies(
    measured: Study, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("borestudy.results.tables.of_study.SPREADSHEET_ROWS", 5)
    write_results(measured, tmp_path)
    collate(measured, tmp_path, outputs=outputs(tmp_path, True), **paths_of(measured, tmp_path))
    count = read_json(tmp_path / "answers.json")["parquet_rows"]["impedance"]
    whole = read_all(tmp_path / "impedance.parquet", count)
    assert set(whole["case"]) == {case.name for case in measured.cases()}
    with pytest.raises(FileError, match=r"impedance\.parquet.*33 of 34 rows"):
        read_all(tmp_path / "impedance.parquet", count + 1)
    text = (tmp_path / "impedance.parquet").read_bytes()
    (tmp_path / "impedance.parquet").write_bytes(text[:-9])
    with pytest.raises(FileError, match=r"impedance\.parquet.*not whole"):
        read_all(tmp_path / "impedance.parquet", count)
