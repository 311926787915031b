"""The answer is said with its uncertainty, where it holds, and no further than it is known."""

import re
from dataclasses import replace

import pytest

from borestudy.air import humid_air
from borestudy.report.sentences.answers import answers
from borestudy.report.sentences.entry import enough_radius
from borestudy.report.sentences.validity import REASONS, validity_sentences
from borestudy.results.budget import budget_rows
from borestudy.results.case import CaseResults
from borestudy.results.tables.comparison import comparison_table
from borestudy.rounding import with_uncertainty

from .conftest import (
    altered,
    flow_of,
    make_case,
    rate_row,
    resonance,
)


def test_an_entry_study_names_gain_uncertainty_rate_and_regime(entries: list[CaseResults]) -> None:
    text = " ".join(answers(entries, 0))
    assert re.search(r"6\.\d+ ± 0\.\d+ % lower at 0\.05 L/s", text)
    assert "throat Reynolds number 1150" in text
    assert "cents higher" in text


def test_enough_rounding_is_the_smallest_radius_that_no_larger_one_differs_from(
    entries: list[CaseResults],
) -> None:
    assert enough_radius(entries, 0) == (0.5, 0.25)
    assert "between 0.25 and 0.5 mm" in " ".join(answers(entries, 0))


def test_rounding_that_goes_on_helping_has_no_limit_in_the_study(
    entries: list[CaseResults],
) -> None:
    longer = [*entries, make_case("r", {"entry": "rounded 3 mm", "entry_radius_mm": 3.0},
                                  resistance=80.0)]  # fmt: skip
    assert enough_radius(longer, 0) is None
    assert "up to the largest radius computed, 3 mm" in " ".join(answers(longer, 0))


def test_a_gain_that_is_gone_at_soft_playing_is_said_to_be(entries: list[CaseResults]) -> None:
    square, rounded = entries[0], entries[-1]
    flow = replace(rounded.flow, rates=(square.rates[0], *rounded.rates[1:]))
    flat = [square, replace(rounded, flow=flow)]
    gone = re.compile(
        r"not different beyond the numerical uncertainty \(\S+ ± \S+ %\) at 0\.05 L/s"
    )
    assert gone.search(" ".join(answers(flat, 1)))
    still = " ".join(answers([square, rounded], 1))
    assert not gone.search(still)
    assert re.search(r"% lower at 0\.05 L/s", still)


def sweep(resistances: dict[float, float]) -> list[CaseResults]:
    return [
        make_case(f"d{diameter}", {"throat_diameter_mm": diameter}, resistance=value)
        for diameter, value in resistances.items()
    ]


def test_a_sweep_gives_the_change_for_one_round_step() -> None:
    cases = sweep({3.0: 100.0, 3.5: 100 * 0.9**5, 4.0: 100 * 0.9**10})
    text = answers(cases, 0)[0]
    assert "With throat diameter 4 mm instead of 3 mm" in text
    found = re.search(r"each 1 mm more multiplies it by (\S+) ± \S+ on average\.", text)
    assert found is not None
    assert float(found.group(1)) == pytest.approx(0.9**10, abs=1e-3)
    finer = answers(cases[:2], 0)[0]
    found = re.search(r"each 0.1 mm more multiplies it by (\S+) ± (\S+) on average\.", finer)
    assert found is not None
    factor, error = (float(part) for part in found.groups())
    assert factor == pytest.approx(0.9, abs=error)
    assert factor**5 == pytest.approx(0.9**5, abs=5 * error)


def test_sentences_give_every_figure_the_uncertainty_and_digits_of_the_tables() -> None:
    """A resonance known to 0.009 Hz is not said to be known to 0.02 Hz."""
    sure = resonance(812.34567, frequency_Hz_uncertainty=0.0091)
    base = make_case("base", {}, resonances=[sure])
    deeper = make_case("deeper", {"cup_depth_mm": 11.0}, resonances=[resonance(790.0)])
    row = comparison_table([base], 0).iloc[0]
    cell = with_uncertainty(row["resonance_Hz"], row["resonance_Hz_uncertainty"])
    assert cell.endswith("± 0.009")
    base.varied["cup_depth_mm"] = 10.0
    for cases in ([base], [base, deeper]):
        assert f"{cell} Hz" in " ".join(answers(cases, 0))


def test_an_extreme_between_the_ends_of_a_sweep_is_named() -> None:
    text = " ".join(answers(sweep({3.0: 100.0, 3.5: 80.0, 4.0: 90.0}), 0))
    assert "It is lowest in between, with throat diameter 3.5 mm" in text
    assert "in between" not in " ".join(answers(sweep({3.0: 100.0, 3.5: 95.0, 4.0: 90.0}), 0))


def grid() -> list[CaseResults]:
    return [
        make_case(
            f"{depth}-{shape}",
            {"cup_depth_mm": depth, "cup_shape": shape},
            frequencies=[800.0 * 2 ** (-(depth - 10) * 10 / 1200)],
            resistance=100 - 2 * (depth - 10) - 5 * shape,
        )
        for depth in (10.0, 12.0)
        for shape in (0.0, 1.0)
    ]


def test_each_dimension_of_a_grid_gets_its_own_effect() -> None:
    text = answers(grid(), 0)
    resistance = next(words for words in text if words.startswith("The flow resistance"))
    assert "lowest with cup depth 12 mm, cup shape 1" in resistance
    assert "highest with cup depth 10 mm, cup shape 0" in resistance
    depth = next(sentence for sentence in text if sentence.startswith("Cup depth"))
    assert "−20.0" in depth
    shape = next(sentence for sentence in text if sentence.startswith("Cup shape"))
    assert "first resonance changes by 0.000 ± 0.003 cents" in shape
    assert re.search(r"changes by −5\.21 ± \S+ to −5\.00 ± \S+ %", shape)


def test_dimensions_varied_in_pairs_are_not_told_apart() -> None:
    cases = [case for case in grid() if case.name in ("10.0-0.0", "12.0-1.0")]
    assert "cannot be told" in " ".join(answers(cases, 0))


def test_a_single_bore_gets_its_figures_with_their_uncertainty() -> None:
    text = answers([make_case("base", {})], 0)
    assert text[0].startswith("The first resonance is at 800.0")
    assert all("±" in sentence for sentence in text[:2])
    assert "± numerical ± model error" in text[1]


def test_cases_without_results_still_get_an_answer_that_says_so() -> None:
    for varied in ({"entry": "square", "entry_radius_mm": 0.0}, {"join": "a"}, {"length_mm": 88.0}):
        cases = [CaseResults("first", varied), CaseResults("second", dict(varied))]
        text = " ".join(answers(cases, 0))
        assert "not known" in text
        assert not re.search(r"\bnan\b|None", text)
    assert answers([CaseResults("base")], 0) == ["Nothing was computed for this bore."]
    assert answers([], 0) == []


def test_what_limits_the_answers_is_said_once_for_all_cases_it_concerns() -> None:
    cases = [
        make_case("a", {}, validity="above 5 kHz other modes carry"),
        make_case("b", {}, validity="above 5 kHz other modes carry", lost=(0.3,)),
    ]
    text = validity_sentences(cases)
    assert sum("other modes carry" in sentence for sentence in text) == 1
    assert any("1 of 6 solutions of the flow did not converge" in sentence for sentence in text)
    assert any("From 0.1 L/s on the flow turns turbulent" in sentence for sentence in text)
    good = make_case("base", {}, rates=(0.05,))
    assert validity_sentences([good]) == [
        "Every solution of the flow converged, 1 of 1 (bores times flow rates)."
    ]


def test_the_airs_share_of_a_resonance_is_that_of_the_sound_speed() -> None:
    case = make_case("base", {})
    rows = {(row["quantity"], row["source"]): row for row in budget_rows(case, 0, 293.15)}
    row = rows["first resonance, Hz", "air temperature ± 1 K"]
    speeds = [humid_air(kelvin).sound_speed for kelvin in (292.65, 293.65)]
    assert row["size_percent"] == pytest.approx(100 * (speeds[1] / speeds[0] - 1), rel=0.01)


@pytest.mark.parametrize(("power", "length_scale"), [(1.0, 1.0), (2.0, 0.0)])
def test_the_airs_share_of_a_resistance_is_that_of_viscosity_or_of_density(
    power: float, length_scale: float
) -> None:
    drop = 3.0
    row = rate_row(0.05, drop, differential_resistance_kPa_s_per_L=power * 1e-3 * drop / 0.05)
    case = CaseResults("base", flow=flow_of([row]))
    found = next(row for row in budget_rows(case, 0, 293.15) if "air" in row["source"])
    cold, warm = humid_air(292.65), humid_air(293.65)
    # developed laminar flow goes as the viscosity, a pure head loss as the density
    ratio = warm.viscosity / cold.viscosity if length_scale else cold.density / warm.density
    assert found["size_percent"] == pytest.approx(100 * (ratio - 1), rel=0.03)


def test_the_budgets_numerical_rows_are_the_uncertainties_of_the_tables() -> None:
    """A figure's own uncertainty, however it was found, and not the mesh ladder's by itself."""
    shares = {"truncation_share": {"frequency_Hz": 2e-6}, "wall_share": {"frequency_Hz": 3e-6}}
    case = make_case(
        "base", {}, resonances=[resonance(800.0, frequency_Hz_uncertainty=0.0125)], **shares
    )
    drop = case.rates[0].quantity("pressure_drop")
    case = altered(case, 0, pressure_drop=replace(drop, uncertainty=5 * drop.uncertainty))
    table = comparison_table([case], 0).iloc[0]
    rows = {
        (row["quantity"].split(",")[0], row["source"].split(":")[0]): row["size"]
        for row in budget_rows(case, 0)
    }
    assert rows["flow resistance", "mesh"] == pytest.approx(
        table["flow_resistance_kPa_s_per_L_uncertainty"], rel=1e-12
    )
    numerical = ("mesh", "reduced basis", "truncation", "wall losses")
    assert sum(rows["first resonance", source] for source in numerical) == pytest.approx(
        table["resonance_Hz_uncertainty"], rel=1e-12
    )
    assert rows["first resonance", "wall losses"] == pytest.approx(800 * 3e-6, rel=1e-3)


def test_one_source_dominates_each_quantity_of_the_budget() -> None:
    rows = budget_rows(make_case("base", {}), 2, 293.15)
    for quantity in {row["quantity"] for row in rows}:
        mine = [row for row in rows if row["quantity"] == quantity]
        assert sum(row["dominant"] for row in mine) == 1
        assert max(mine, key=lambda row: row["size"])["dominant"]
    dominant = [row["source"] for row in rows if row["dominant"]]
    assert dominant == ["air temperature ± 1 K", "model error: recovery in the backbore"]


def test_doubtful_stations_are_said_with_the_bores_that_have_them():
    told = "bore.csv, line 4: found a diameter of 17.5 mm; taken as it is"
    geometry = replace(make_case("one", {}).geometry, doubtful_stations=(told,))
    doubted = CaseResults("one", geometry=geometry)
    sentences = validity_sentences([doubted, CaseResults("two")])
    assert f"Stations of one: {told}." in sentences


def test_mass_between_sections_is_named_where_it_matters_beside_the_uncertainty():
    """An error δ of the flux moves a pressure by 2 δ q; a tenth of the uncertainty is allowed."""
    good = make_case("one", {})
    row = good.rates[0].figures
    least = 0.1 * row.pressure_drop.uncertainty / (2 * row.dynamic_pressure_Pa)
    for factor, named in ((0.9, False), (1.1, True)):
        case = altered(good, 0, section_mass_flux=factor * least)
        text = " ".join(validity_sentences([case]))
        assert ("Between sections the mass of the flow is off" in text) is named


def test_mass_from_rim_to_outlet_is_named_beyond_rounding():
    case = make_case("one", {})
    for error, named in ((1e-12, False), (2e-9, True)):
        text = " ".join(validity_sentences([altered(case, 0, mass_balance=error)]))
        assert ("The balance of mass does not close" in text) is named


def test_bores_without_a_solution_are_told_by_their_reason_and_not_without_end() -> None:
    def lost(number: int, reason: str) -> CaseResults:
        flow = flow_of([], not_meshed=reason, rates=[0.1])
        return CaseResults(f"bore {number}", {}, flow=flow)

    alike = [lost(number, "the entry is too sharp") for number in range(5)]
    (told,) = [line for line in validity_sentences(alike) if "no solution" in line]
    assert told.startswith("Bore 0, bore 1, bore 2 and 2 more: there is no solution for flow")
    assert "the entry is too sharp" in told
    many = [lost(number, f"no triangle at {number} mm") for number in range(REASONS + 7)]
    said = validity_sentences([*many, *alike])
    assert len([line for line in said if "no solution" in line]) == REASONS
    assert "the entry is too sharp" in said[0]
    assert any(line.startswith("8 more solutions are missing for 8 other reasons") for line in said)
