"""What is said of a difference, a total and a wall where a rate is solved both ways."""

import re
from dataclasses import replace
from typing import Any

import pytest

from borestudy.flow.result import Separation
from borestudy.quantity import Quantity
from borestudy.report.sentences.answers import answers
from borestudy.report.sentences.entry import enough_radius
from borestudy.report.sentences.parts import parts_answers, separation_answers
from borestudy.report.sentences.validity import validity_sentences
from borestudy.report.sentences.words import resistance_at
from borestudy.results.case import CaseResults, solved_rate
from borestudy.results.changes import flow_change
from borestudy.results.span_changes import (
    ONE_MISSING,
    SOLUTIONS_DISAGREE,
    solutions_apart,
    span_change,
)
from borestudy.results.tables.flow import flow_table, separation_table

from .conftest import altered, flow_of, lost_row, make_case, turbulent_row

LOUD, LOUDEST = 0.3, 2  # L/s, and its index


def case(
    name: str, laminar: float, turbulent: float | None, radius: float = 0.0, **changes: Any
) -> CaseResults:
    """A case whose pressure drop at the loud rate is so and so from each solution [Pa]."""
    closed = lost_row(LOUD) if turbulent is None else turbulent_row(LOUD, turbulent, **changes)
    words = "square" if radius == 0 else f"rounded {radius:g} mm"
    return make_case(
        name,
        {"entry": words, "entry_radius_mm": radius},
        resistance=laminar / LOUD**1.6,
        turbulent=[closed],
    )


FIRST = case("first", 100.0, 50.0)


def test_each_solutions_change_is_its_own_and_the_common_word_is_the_verdict() -> None:
    found = span_change(case("other", 90.0, 40.0, 1.0), FIRST, LOUDEST)
    assert found.solutions["laminar"].value == pytest.approx(-10.0, abs=1e-6)
    assert found.solutions["turbulent"].value == pytest.approx(-20.0, abs=1e-6)
    assert (found.low.value, found.high.value) == pytest.approx((-20.0, -10.0), abs=1e-6)
    assert found.verdict == "lower"


@pytest.mark.parametrize("turbulent", [60.0, 50.0])
def test_solutions_without_a_common_word_leave_the_verdict_open(turbulent: float) -> None:
    other = case("other", 90.0, turbulent, 1.0)
    assert span_change(other, FIRST, LOUDEST).verdict == SOLUTIONS_DISAGREE
    said = resistance_at(other, FIRST, LOUDEST)
    second = "20 % higher" if turbulent == 60.0 else "no clear difference"
    assert said.startswith("not known at 0.3 L/s (turbulent")
    assert f"the laminar solution says 10 % lower, the turbulent solution says {second}" in said


def test_a_difference_is_not_claimed_by_the_one_solution_that_is_left() -> None:
    other = case("other", 90.0, None, 1.0)
    assert span_change(other, FIRST, LOUDEST).verdict == ONE_MISSING
    assert "the turbulent one is missing" in resistance_at(other, FIRST, LOUDEST)


def test_figures_of_different_solutions_are_not_compared() -> None:
    lost = make_case("lost", {}, lost=(LOUD,), turbulent=[turbulent_row(LOUD, 40.0)])
    assert lost.rates[LOUDEST].solution == "turbulent"
    assert flow_change(lost, FIRST, LOUDEST).value is None


def test_a_row_of_the_table_says_which_solution_each_figure_is_from() -> None:
    table = flow_table([FIRST, case("other", 90.0, 40.0, 1.0), case("lost", 90.0, None, 2.0)])
    loud = table[table["flow_rate_L_per_s"] == LOUD].set_index("case")
    row = loud.loc["other"]
    assert row["solution"] == "laminar"
    assert (row["pressure_drop_low_from"], row["pressure_drop_high_from"]) == (
        "turbulent",
        "laminar",
    )
    for half, ends in (("pressure_drop_to_throat_end", ("turbulent", "laminar")),
                       ("backbore_pressure_drop", ("laminar", "turbulent"))):  # fmt: skip
        assert (row[f"{half}_low_from"], row[f"{half}_high_from"]) == ends
    assert row["turbulent_pressure_drop_Pa"] == pytest.approx(40.0, rel=1e-3)
    assert row["turbulent_backbore_pressure_drop_Pa"] == pytest.approx(-4.0, rel=1e-3)
    assert row["pressure_drop_change_turbulent_percent"] == pytest.approx(-20.0, abs=1e-6)
    assert row["pressure_drop_change_verdict"] == "lower"
    assert (row["y_plus"], row["wall_resolution"]) == (1.2, "resolved")
    lost = loud.loc["lost"]
    assert lost["converged"]
    assert (lost["laminar_converged"], lost["turbulent_converged"]) == (True, False)
    assert (row["laminar_converged"], row["turbulent_converged"]) == (True, True)
    assert lost.filter(like="turbulent_pressure_drop").isna().all()
    assert "the turbulent solution did not converge" in lost["span_note"]
    soft = table[table["flow_rate_L_per_s"] == 0.05]
    assert soft["turbulent_pressure_drop_Pa"].isna().all()
    assert set(soft["pressure_drop_high_from"]) == {"laminar"}


def test_the_loud_answer_gives_both_solutions_and_their_common_direction() -> None:
    text = " ".join(answers([FIRST, case("other", 90.0, 40.0, 1.0)], 0))
    assert re.search(
        r"lower in both solutions at 0\.3 L/s \(turbulent\): 10\.0+ ± \S+ % \(laminar\), "
        r"20\.0+ ± \S+ % \(turbulent\)",
        text,
    )
    assert "What the backbore gives back is not known at this flow rate" in text


def rounded() -> list[CaseResults]:
    """Rounding pays to 0.25 mm in the laminar and to 1 mm in the turbulent solution."""
    drops = {0.0: (100.0, 50.0), 0.25: (90.0, 48.0), 1.0: (90.0, 45.0), 2.0: (90.0, 45.0)}
    return [case(f"r{radius}", *both, radius) for radius, both in drops.items()]


def test_each_solution_has_its_own_radius_beyond_which_rounding_is_no_use() -> None:
    assert enough_radius(rounded(), LOUDEST, "laminar") == (0.25, 0.0)
    assert enough_radius(rounded(), LOUDEST, "turbulent") == (1.0, 0.25)
    text = " ".join(answers(rounded(), 0))
    assert "in the laminar solution from a radius of 0.25 mm (0.068 throat diameters)" in text
    assert "in the turbulent solution from a radius of 1 mm (0.27 throat diameters)" in text


def test_a_total_is_split_where_the_solutions_part() -> None:
    agreeing = {"pressure_drop_to_throat_end_Pa": 110.5}
    cases = [FIRST, case("other", 100.0, 50.0, 1.0, **agreeing)]
    apart = solutions_apart(cases[1].rates[LOUDEST])
    assert apart.value == pytest.approx(100 * 0.5 / 110.25, rel=0.05)
    assert 0 < apart.uncertainty < apart.value
    (sentence,) = parts_answers(cases)
    _, square, smooth = sentence.split(". With ")
    assert "Pa (laminar) or" in square.split("up to the throat")[0]
    assert "well known since both solutions and their uncertainties are within 0.4" in smooth
    assert parts_answers([make_case("laminar alone", {})]) == []


@pytest.mark.parametrize(
    ("turbulent", "share", "words"),
    [
        (110.2, 0.05, "which agree within their uncertainty and are known no better than that"),
        (110.2, 0.01, "well known since both solutions and their uncertainties are within 1 %"),
        (112.5, 0.01, "well known since both solutions and their uncertainties are within 2.2"),
        (120.0, 0.01, ""),
        (120.0, 0.08, "which agree within their uncertainty and are known no better than that"),
    ],
)
def test_a_figure_is_well_known_only_where_difference_and_uncertainties_are_small(
    turbulent: float, share: float, words: str
) -> None:
    """Laminar 110 Pa up to the throat's end, both ± the share: apart by 0.2, 2.2 or 8.7 %."""
    name = "pressure_drop_to_throat_end_Pa"
    changes = {name: turbulent, f"{name}_uncertainty": share * turbulent}
    made = case("one", 100.0, 50.0, **changes)
    drop = made.rates[LOUDEST].quantity("pressure_drop_to_throat_end")
    sure = replace(drop, uncertainty=share * 110.0)
    made = altered(made, LOUDEST, pressure_drop_to_throat_end=sure)
    (sentence,) = parts_answers([made])
    assert ("well known" in sentence) == words.startswith("well known")
    front = sentence.split("up to the throat")
    assert words in front[1].split(";")[0]
    assert ("(turbulent)" in front[0]) != words.startswith("well known")


def test_where_the_air_leaves_the_wall_is_told_of_each_solution() -> None:
    turbulent = [
        {"separation_mm": 10.8, "reattachment_mm": 12.9},
        {"separation_mm": 20.0, "reattachment_mm": 30.0},
    ]
    found = case("first", 100.0, 50.0, separations=turbulent)
    parts = {"cup": (0.0, 10.8), "throat": (10.8, 15.8), "backbore": (15.8, 88.0)}
    found = replace(found, geometry=replace(found.geometry, parts=parts))
    found = altered(found, LOUDEST, separations=(Separation(separation=Quantity(10.8, None)),))
    table = separation_table([found])
    loud = table[table["flow_rate_L_per_s"] == LOUD]
    assert list(loud["solution"]) == ["laminar", "turbulent", "turbulent"]
    assert list(loud["part"]) == ["throat", "throat", "backbore"]
    assert list(loud["wall"]) == ["does not come back", "comes back", "comes back"]
    (sentence,) = separation_answers([found])
    assert "the laminar flow has left the wall before it and does not come back" in sentence
    assert "the turbulent one leaves the wall 4.2 mm after the throat and is back" in sentence


def test_a_flow_that_never_leaves_the_wall_has_a_row_that_says_so() -> None:
    table = separation_table([FIRST])
    assert list(table["wall"]) == ["stays on the wall"] * 4  # three laminar, one turbulent
    assert table["separation_mm"].isna().all()


def test_what_limits_the_answers_counts_each_solution_and_names_coarse_walls() -> None:
    coarse = {"wall_resolution": "y+ too large", "y_plus": 7.4}
    cases = [case("a", 90.0, 40.0, 1.0, **coarse), case("b", 90.0, None, 2.0)]
    text = " ".join(validity_sentences(cases))
    assert "Every laminar flow solution converged, 6 of 6" in text
    assert "1 of 2 turbulent flow solutions did not converge and have no number: b" in text
    assert "Y+ too large in 1 turbulent solutions (a at 0.3 L/s)" in text
    assert "7.4 wall units" in text


def test_in_the_turbulent_mode_slow_rates_are_refused_and_the_answer_is_about_the_others() -> None:
    rates: dict[float, None] = dict.fromkeys((0.05, LOUD))
    flow = flow_of(None, [turbulent_row(LOUD, 40.0)], rates, "turbulent")
    alone = CaseResults("alone", flow=flow)
    refusal = "would not become laminar again as the air does (alone at 0.05 L/s)"
    assert any(refusal in sentence for sentence in validity_sentences([alone]))
    assert (
        "at 0.3 L/s (turbulent, throat Reynolds number 6900)"
        in answers([alone], solved_rate([alone], 0))[0]
    )
    assert solved_rate([FIRST, alone], 0) == 0
    loud = flow_table([alone]).set_index("flow_rate_L_per_s").loc[LOUD]
    assert loud["solution"] == "turbulent"
    assert loud["pressure_drop_Pa"] == loud["turbulent_pressure_drop_Pa"]


def bore(name: str, diameter: float, taper: str, laminar: float, turbulent: float | None):
    """One of a grid of bores; without a turbulent drop the rate was too slow for that solution."""
    return make_case(
        name,
        {"throat_diameter_mm": diameter, "taper": taper},
        resistance=laminar / LOUD**1.6,
        turbulent=[turbulent_row(LOUD, turbulent)] if turbulent else None,
    )


def test_a_solution_that_some_bores_of_a_grid_lack_does_not_name_different_ones() -> None:
    """Both solutions that all bores have may name different ends; a missing one names none."""
    drops = {("wide", 3.6): 70.0, ("slim", 3.6): 64.0, ("wide", 3.2): 90.0, ("slim", 3.2): 81.0}

    def said(turbulent: dict[tuple[str, float], float | None]) -> str:
        cases = [
            bore(f"{taper}-{size}", size, taper, drop, turbulent.get((taper, size)))
            for (taper, size), drop in drops.items()
        ]
        (text,) = [text for text in answers(cases, LOUDEST) if "highest flow resistance" in text]
        return text

    some = said({("wide", 3.2): 48.0, ("slim", 3.2): 43.0})
    assert "not known: the turbulent solution is missing for 2 of 4 bores" in some
    other = said({key: 200 - drop for key, drop in drops.items()})
    assert "not known: the two solutions name different ones" in other
