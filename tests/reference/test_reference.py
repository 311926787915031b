"""Reference figures: a machine that computes the same agrees, and a fault in one is seen."""

import math
from dataclasses import replace

import numpy as np
import pytest

from borestudy.acoustics import two_port
from borestudy.air import humid_air
from borestudy.flow.models.laminar import Laminar
from borestudy.reference import fixed
from borestudy.reference.fixed import (
    LENGTH,
    THROAT_RADIUS,
    air_figures,
    bore_figures,
    drops,
    flow_figures,
    hourglass,
    sound_figures,
)
from borestudy.reference.table import Figure, compare, read_figures, shipped_figures, write_figures
from borestudy.results.case import CaseResults
from borestudy.stages.reference import STUDY, Reference, case_figures
from borestudy.study import study_from_mapping


@pytest.fixture(scope="module")
def expected():
    return {one.name: one for one in shipped_figures()}


@pytest.fixture(scope="module")
def air():
    return humid_air(298.15, 0.5)


def disagreeing(figures, expected):
    return {
        one.expected.name
        for one in compare([expected[figure.name] for figure in figures], figures)
        if one.verdict != "agrees"
    }


def test_figures_that_need_no_mesher_are_the_expected_ones(expected, air, tmp_path):
    bore = study_from_mapping(STUDY, tmp_path, "reference").cases()[0].build_bore()
    figures = [*air_figures(air), *bore_figures(bore), *sound_figures(air), *flow_figures()]
    assert disagreeing(figures, expected) == set()
    assert {figure.name: figure.tolerance_from for figure in figures} == {
        name: one.tolerance_from for name, one in expected.items() if "entry" not in name
    }


@pytest.mark.parametrize("share", [1e-5, -1e-5])
def test_air_that_is_off_by_a_hundred_thousandth_is_seen(expected, air, share):
    for constant in ("density", "viscosity", "sound_speed"):
        wrong = replace(air, **{constant: (1 + share) * getattr(air, constant)})
        assert len(disagreeing(air_figures(wrong), expected)) == 1


def test_walls_without_their_curvature_are_seen_at_every_frequency(expected, air, monkeypatch):
    plain = two_port.solve_two_port
    monkeypatch.setattr(fixed, "solve_two_port", lambda *given: plain(*given, walls="plain"))
    assert len(disagreeing(sound_figures(air), expected)) == 3


def test_a_wall_that_is_off_by_a_millionth_is_seen_by_the_flow(expected):
    mesh = hourglass(np.linspace(0, 1, 49), np.linspace(0, 1, 13))
    places = mesh.doflocs * [[1.0], [1 + 1e-6]]
    (drop,) = drops(Laminar(), replace(mesh, doflocs=places), [100.0])
    name = "pressure drop of laminar flow at Re 100"
    assert abs(drop - expected[name].value) > expected[name].tolerance


def test_at_low_frequencies_the_closed_bore_is_the_spring_of_its_air(expected, air):
    # V = π R² L ∫ (1 + 8 t²)² dt over t from -1/2 to 1/2 = π R² L (1 + 4/3 + 4/5).
    volume = math.pi * THROAT_RADIUS**2 * LENGTH * (1 + 4 / 3 + 4 / 5)
    spring = air.density * air.sound_speed**2 / (2 * math.pi * 200 * volume)
    # Half of the bore's length is a twelfth of the wavelength: 1 - (kL)²/3 for a pipe, kL = 0.29,
    # and walls that keep their temperature take a per cent or two.
    found = expected["impedance of a closed bore at 200 Hz"].value
    assert 0.9 * spring < found < 1.02 * spring


FIGURES = [Figure("one", "Pa", 1 / 3, 1e-3, "rounding"), Figure("two", "", 2.0, 0.0, "nothing")]


def test_a_table_keeps_every_digit_of_its_figures(tmp_path):
    write_figures(FIGURES, tmp_path / "table.csv")
    assert read_figures(tmp_path / "table.csv") == FIGURES


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_no_table_is_made_of_what_is_no_number(tmp_path, value):
    with pytest.raises(ValueError, match="one: found"):
        write_figures([replace(FIGURES[0], value=value)], tmp_path / "table.csv")
    assert not (tmp_path / "table.csv").exists()


@pytest.mark.parametrize(
    ("obtained", "verdict"),
    [(1 / 3, "agrees"), (1 / 3 + 0.9e-3, "agrees"), (1 / 3 - 1.1e-3, "differs"),
     (math.nan, "differs"), (None, "differs")],
)  # fmt: skip
def test_a_line_differs_beyond_its_tolerance_and_where_there_is_no_number(obtained, verdict):
    found = [FIGURES[1]] if obtained is None else [replace(FIGURES[0], value=obtained), FIGURES[1]]
    lines = compare(FIGURES, found)
    assert [one.verdict for one in lines] == [verdict, "agrees"]
    told = str(Reference(lines)).splitlines()
    assert told[1].endswith(verdict)
    if verdict == "agrees":
        assert told[-1].startswith("all 2 figures agree, ")
    else:
        assert told[-1].startswith("1 of 2 figures differ by more than their tolerance")
    assert Reference(lines).agrees == (verdict == "agrees")


def test_a_figure_that_nothing_is_expected_of_is_refused():
    with pytest.raises(ValueError, match="the figure 'two', which"):
        compare(FIGURES[:1], FIGURES)


def test_a_case_without_results_has_lines_without_numbers():
    figures = case_figures(CaseResults("entry-square"))
    assert [one.name for one in figures] == [
        "entry-square, resonance",
        "entry-square, Q of the resonance",
    ]
    assert all(math.isnan(one.value) for one in figures)
