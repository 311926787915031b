"""The tables keep the contract's columns, and say so where there is no number."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from borestudy.files import FileError
from borestudy.records import write_record
from borestudy.results.case import FLOW_FILES, CaseResults, read_results, varied_columns
from borestudy.results.check import Check
from borestudy.results.tables import comparison, files
from borestudy.results.tables.flow import flow_table

from .conftest import PASSAGE, RATES, flow_result, make_case, rate_row

COMPARISON = [
    "case", "entry", "entry_radius_mm", "cup_volume_cm3", "backbore_volume_cm3",
    "throat_diameter_mm", "resonance_Hz", "resonance_Q", "impedance_peak_Pa_s_per_m3",
    "flow_rate_L_per_s", "throat_reynolds", "pressure_drop_Pa", "flow_resistance_kPa_s_per_L",
    "regime", "resonance_change_cents", "flow_resistance_change_percent",
]  # fmt: skip
FLOW = [
    "case", "flow_rate_L_per_s", "throat_reynolds", "pressure_drop_Pa",
    "pressure_drop_Pa_uncertainty", "loss_coefficient", "regime", "pressure_drop_low_Pa",
    "pressure_drop_high_Pa", "converged",
]  # fmt: skip
VERIFICATION = [
    "check", "quantity", "unit", "computed", "reference", "deviation_percent",
    "tolerance_percent", "verdict", "source",
]  # fmt: skip
#: Given by the study, describing the solve, or ends of a span that are an uncertainty themselves.
WITHOUT = (
    "_volume_cm3", "_mm", "flow_rate_L_per_s", "throat_reynolds", "_low_", "_high_", "mach_number",
    "throat_velocity_m_per_s", "dynamic_pressure_Pa", "mass_balance", "section_mass_flux",
    "energy_balance", "residual", "converged", "y_plus", "estimated_error", "estimator_consistent",
)  # fmt: skip


def test_the_comparison_begins_with_the_agreed_columns_in_their_order(
    entries: list[CaseResults],
) -> None:
    table = comparison.comparison_table(entries, 0)
    places = [list(table.columns).index(name) for name in COMPARISON]
    assert places == sorted(places)
    assert list(table["case"]) == [case.name for case in entries]


def test_every_computed_number_has_its_uncertainty_beside_it(entries: list[CaseResults]) -> None:
    for table in (comparison.comparison_table(entries, 0), flow_table(entries)):
        numbers = table.select_dtypes("number").columns
        bare = [
            name
            for name in numbers
            if not name.endswith("_uncertainty")
            and f"{name}_uncertainty" not in numbers
            and not any(word in name for word in WITHOUT)
        ]
        assert bare == []


def test_resistance_is_pressure_drop_over_flow_rate(entries: list[CaseResults]) -> None:
    table = comparison.comparison_table(entries, 1)
    expected = 1e-3 * table["pressure_drop_Pa"] / 0.1
    np.testing.assert_allclose(table["flow_resistance_kPa_s_per_L"], expected, rtol=1e-12)
    relative = table["pressure_drop_Pa_uncertainty"] / table["pressure_drop_Pa"]
    np.testing.assert_allclose(
        table["flow_resistance_kPa_s_per_L_uncertainty"] / expected, relative, rtol=1e-12
    )


def test_a_case_without_results_is_a_row_with_words_and_no_number() -> None:
    cases = [make_case("first", {"join": "straight"}), CaseResults("second", {"join": "smooth"})]
    row = comparison.comparison_table(cases, 0).iloc[1]
    assert row["regime"] == "not computed"
    assert row["resonance_change_verdict"].startswith("not known")
    assert row["flow_resistance_change_verdict"].startswith("not known")
    computed = ["resonance_Hz", "pressure_drop_Pa", "flow_resistance_kPa_s_per_L"]
    assert row[computed].isna().all()
    rows = flow_table(cases).query("case == 'second'")
    assert list(rows["flow_rate_L_per_s"]) == list(RATES)
    assert not rows["converged"].any()


def test_an_unconverged_solve_leaves_no_number_in_any_table() -> None:
    cases = [make_case("first", {}), make_case("second", {}, lost=(0.3,))]
    row = comparison.comparison_table(cases, 2).iloc[1]
    assert row["regime"] == "did not converge"
    assert np.isnan(row["pressure_drop_Pa"])
    flow = flow_table(cases)
    lost = flow[(flow["case"] == "second") & (flow["flow_rate_L_per_s"] == 0.3)].iloc[0]
    assert not lost["converged"]
    assert lost["regime"] == "turbulent"
    assert not (flow.select_dtypes("number") == 123.456).any().any()
    assert lost.filter(like="pressure_drop").filter(regex="^(?!.*verdict)").isna().all()


def test_the_flow_table_begins_with_the_agreed_columns(entries: list[CaseResults]) -> None:
    table = flow_table(entries)
    assert list(table.columns)[: len(FLOW)] == FLOW
    assert len(table) == len(entries) * len(RATES)


def test_a_varied_throat_diameter_is_one_column_of_the_table() -> None:
    case = make_case("throat_diameter-drill27", {"throat_diameter_mm": 3.6576})
    table = comparison.comparison_table([case], 0)
    assert list(table.columns).count("throat_diameter_mm") == 1
    assert table["throat_diameter_mm"].iloc[0] == 3.6576


def test_a_table_read_back_is_the_table_that_was_written(
    entries: list[CaseResults], tmp_path: Path
) -> None:
    lost = make_case("nan", {"entry": "27", "entry_radius_mm": None}, lost=RATES)
    for table in (
        comparison.comparison_table([*entries, lost], 0),
        flow_table([*entries, lost]),
        comparison.cases_table([*entries, lost]),
        comparison.peaks_table(entries),
    ):
        files.write_table(table, tmp_path / "table.csv")
        back = files.read_table(tmp_path / "table.csv")
        pd.testing.assert_frame_equal(back, table, check_exact=True)


def test_a_table_without_a_row_is_read_back_without_one(tmp_path: Path) -> None:
    files.write_table(pd.DataFrame(), tmp_path / "table.csv")
    assert len(files.read_table(tmp_path / "table.csv")) == 0


def test_verification_keeps_its_columns_and_its_verdicts_through_a_file(tmp_path: Path) -> None:
    checks = [
        Check("pipe", "resonance 1", "Hz", 812.013125, 812.0, 0.02, "plane waves"),
        Check("pipe", "Q", "", 10.0, 11.0, 1.0, "Zwikker, Kosten 1949"),
        Check("cone", "resonance 1", "Hz", float("nan"), 900.0, 0.02, "spherical waves"),
    ]
    table = files.verification_table(checks)
    assert list(table.columns) == VERIFICATION
    assert list(table["verdict"]) == ["pass", "fail", "fail"]
    files.write_table(table, tmp_path / "first.csv")
    both = files.verification_table([tmp_path / "first.csv", checks[0]])
    pd.testing.assert_frame_equal(both.iloc[:3], table, check_exact=True)
    assert len(both) == 4
    assert list(files.verification_table([]).columns) == VERIFICATION


def test_a_check_against_zero_is_refused_with_a_way_out() -> None:
    with pytest.raises(ValueError, match=r"reference of 0.*1 \+ residual against 1"):
        Check("pipe", "power balance", "", 1e-12, 0.0, 1e-7, "conservation of energy")


def test_a_deviation_is_taken_of_the_references_size() -> None:
    check = Check("nozzle", "p(40) - p(90)", "q", -0.5, -0.557, 12.0, "Hariharan et al. 2011")
    assert check.deviation_percent == pytest.approx(100 * 0.057 / 0.557)
    assert check.verdict == "pass"


def test_impedance_curves_follow_one_another_in_the_order_given(tmp_path: Path) -> None:
    for name in ("b", "a"):
        pd.DataFrame({"case": name, "frequency_Hz": [50.0, 0.1 + 0.2]}).to_csv(
            tmp_path / f"{name}.csv", index=False
        )
    table = files.join_impedances([tmp_path / "b.csv", tmp_path / "a.csv"])
    assert list(table["case"]) == ["b", "b", "a", "a"]
    assert table["frequency_Hz"].iloc[1] == 0.1 + 0.2


def test_an_air_columns_peaks_have_cents_against_harmonic_and_first_case() -> None:
    series = [116.5 * number for number in range(1, 13)]
    cases = []
    for name, factor in (("first", 1.0), ("second", 2 ** (5 / 1200))):
        case = make_case(
            name, {}, frequencies=[factor * f for f in series], termination="air column, open"
        )
        above = 1200 * float(np.log2(factor))
        peaks = tuple(replace(each, cents_above_harmonic=above) for each in case.resonances)
        cases.append(replace(case, acoustics=replace(case.acoustics, resonances=peaks)))
    row = comparison.comparison_table(cases, 0).iloc[1]
    for number in range(2, 13):
        assert row[f"peak_{number}_change_cents"] == pytest.approx(5.0, abs=1e-6)
        assert row[f"peak_{number}_above_harmonic_cents"] == pytest.approx(5.0, abs=1e-6)
        relative = row[f"peak_{number}_Hz_uncertainty"] / row[f"peak_{number}_Hz"]
        assert row[f"peak_{number}_above_harmonic_cents_uncertainty"] == pytest.approx(
            1200 * np.log2(1 + relative), rel=1e-4
        )
    peaks = comparison.peaks_table(cases)
    assert list(peaks.query("case == 'second'")["peak"]) == list(range(1, 13))


def test_results_are_read_from_a_folder_and_missing_files_are_empty(tmp_path: Path) -> None:
    for word in FLOW_FILES:
        solved = flow_result([rate_row(0.1, 3.0)], word, [0.1, 0.3])
        write_record(tmp_path / FLOW_FILES[word], solved)
    case = read_results(tmp_path, "base", {"length_mm": 88.0}, PASSAGE, extremes=["laminar"])
    assert [rate.flow_rate_L_per_s for rate in case.rates] == [0.1, 0.3]
    assert [rate.converged for rate in case.rates] == [True, False]
    assert case.rates[0].of("laminar") is not None
    assert case.rates[0].turbulent is None  # left by a former run
    assert case.flow.passage == PASSAGE
    assert case.acoustics is None
    assert len(case.resonances) == 0
    (tmp_path / "bore.json").write_text("[]")
    with pytest.raises(FileError, match="found no schema_version"):
        read_results(tmp_path, "base", {}, PASSAGE)


def test_figures_use_the_radius_where_every_entry_has_one(entries: list[CaseResults]) -> None:
    assert varied_columns(entries) == ["entry_radius_mm"]
    chamfer = make_case("chamfer", {"entry": "chamfered 0.5 mm", "entry_radius_mm": None})
    assert varied_columns([*entries, chamfer]) == ["entry"]


def test_peaks_to_the_twelfth_are_compared_with_an_instrument_and_three_without() -> None:
    """The twelfth is the highest that players use (common practice)."""
    series = tuple(100.0 * number for number in range(1, 15))
    for termination, last in (("air column", 12), ("anechoic pipe", 3)):
        cases = [make_case(name, {}, frequencies=series, termination=termination) for name in "ab"]
        columns = comparison.comparison_table(cases, 0).columns
        found = {name.split("_")[1] for name in columns if name.startswith("peak_")} - {"centroid"}
        assert found == {str(number) for number in range(2, last + 1)}
