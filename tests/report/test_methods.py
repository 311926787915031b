"""The methods section states the rules that the program computes its uncertainties with."""

import inspect
import re

import numpy as np
import pytest
from jinja2 import Environment, PackageLoader, StrictUndefined

from borestudy.fem.uncertainty import grid_uncertainty
from borestudy.flow.at_rate import FIGURES
from borestudy.flow.models.spalart_allmaras import onset
from borestudy.flow.regime import Scale, regime
from borestudy.flow.uncertainty import judge_pressure_drop, ladder_uncertainty
from borestudy.mesh import ACOUSTICS, LAMINAR, REFINEMENT_RATIO, TURBULENT
from borestudy.playing.lips import lips_set
from borestudy.quantity import Quantity
from borestudy.report.methods import PROPERTIES, lips_numbers, method_numbers
from borestudy.results.changes import Change, change_of_levels
from borestudy.results.onset import HIGHEST_PRESSURE, NO_TONE
from borestudy.results.onset_changes import DEPENDS, TOO_FEW_LIPS, LipsChange

RATIO = REFINEMENT_RATIO


@pytest.fixture(scope="module")
def text() -> str:
    environment = Environment(
        loader=PackageLoader("borestudy.report"), undefined=StrictUndefined, autoescape=True
    )
    page = environment.get_template("methods.html.j2").render(
        numbers=method_numbers(), lips=lips_numbers()
    )
    return re.sub(r"<[^>]+>", "", page)


def stated(text: str, pattern: str) -> list[float]:
    """The numbers that a sentence of the section gives, fractions as numbers."""
    found = re.search(pattern, text)
    assert found is not None, pattern
    return [
        float(part.split("/")[0]) / float(part.split("/")[1]) if "/" in part else float(part)
        for part in found.groups()
    ]


NUMBER = r"(\d+(?:[./]\d+)?)"


def test_two_meshes_of_sound_and_flow_have_the_stated_factor_and_order(text: str) -> None:
    factor, sound, flow = stated(text, rf"F = {NUMBER} and p is {NUMBER} for sound and {NUMBER}")
    ladder = np.array([103.0, 100.0])
    assert float(grid_uncertainty(ladder)) == pytest.approx(factor * 3 / (RATIO**sound - 1))
    assert ladder_uncertainty(ladder, RATIO) == pytest.approx(factor * 3 / (RATIO**flow - 1))
    (steps,) = stated(text, rf"its uncertainty is {NUMBER} times the step")
    assert ladder_uncertainty(ladder, RATIO) == pytest.approx(steps * 3, rel=0.02)


@pytest.mark.parametrize("order", [1.2, 2.5])
def test_three_meshes_show_their_own_order_up_to_the_stated_one(text: str, order: float) -> None:
    lowest, highest, factor = stated(
        text, rf"trusted between {NUMBER} and {NUMBER}, .* limits such figures, with F = {NUMBER}"
    )
    ladder = 100 + np.array([RATIO ** (-order * level) for level in range(3)])
    step = abs(ladder[-1] - ladder[-2])
    expected = factor * step / (RATIO ** min(max(order, lowest), highest) - 1)
    assert float(grid_uncertainty(ladder)) == pytest.approx(expected)
    assert ladder_uncertainty(ladder, RATIO) == pytest.approx(expected)


@pytest.mark.parametrize("agrees", [True, False])
def test_a_step_that_the_estimate_agrees_with_has_the_stated_factor(
    text: str, agrees: bool
) -> None:
    (cautious,) = stated(text, rf"its uncertainty is {NUMBER} times the step")
    trusted, share = stated(
        text, rf"which is {NUMBER} times the step, and the uncertainty is at least {NUMBER} times"
    )
    ladder = [103.0, 100.0]
    error = ladder_uncertainty(np.array(ladder), RATIO)
    figures = {
        "pressure_drop": Quantity(100.0, error, "Pa", tuple(ladder)),
        "pressure_drop_to_throat_end": Quantity(0.0, 0.0, "Pa"),
        "backbore_pressure_drop": Quantity(0.0, 0.0, "Pa"),
        "loss_coefficient": Quantity(1.0, 0.0),
        "differential_resistance": Quantity(1.0, 0.0, "kPa_s_per_L"),
    }
    scale = Scale(5e-4, velocity=1.0, reynolds=1e3, mach=0.01, pressure=200.0, length=1e-3)
    pascals = {name: 100.0 / scale.factor(unit) for name, unit in FIGURES.items()}
    estimates = [-4.0, -1.0] if agrees else [2.0, -1.0]
    consistent = judge_pressure_drop(figures, estimates, 0.0, pascals)
    steps = trusted if agrees else cautious
    assert consistent is agrees
    drop = figures["pressure_drop"].uncertainty
    assert drop == pytest.approx(steps * 3, rel=0.02)
    (slopes,) = stated(text, rf"the slope is no surer than {NUMBER} times")
    assert figures["differential_resistance"].uncertainty == pytest.approx(
        1e-3 * slopes * (drop or 0) / 0.5
    )
    judge_pressure_drop(figures, [-5.9, -2.9], 0.0, pascals)
    assert (figures["pressure_drop"].uncertainty or 0) >= share * 2.9 - 1e-9


def test_no_flow_figure_is_surer_than_the_stated_share(text: str) -> None:
    (percent,) = stated(text, rf"No figure of the flow is surer than {NUMBER} %")
    assert ladder_uncertainty(np.array([100.0, 100.0]), RATIO) == pytest.approx(percent)


@pytest.mark.parametrize(("levels", "place"), [(2, 1), (3, 0)])
def test_a_changes_share_of_independent_errors_is_the_stated_one(
    text: str, levels: int, place: int
) -> None:
    """Errors common to both leave only the share of what independent ones would give."""
    share = stated(text, rf"less than {NUMBER} \(two meshes: {NUMBER}\)")[place]
    ladder = [100 + RATIO ** (-level) for level in range(levels)]
    own = float(grid_uncertainty(np.array(ladder))) / ladder[-1]
    found = change_of_levels(ladder, [2 * value for value in ladder])
    assert found.uncertainty == pytest.approx(50 * np.sqrt(2) * own * share, rel=1e-6)


def test_a_change_from_two_meshes_has_the_stated_order_and_factor(text: str) -> None:
    order, factor = stated(text, rf"with p = {NUMBER} and F = {NUMBER} where there are two")
    found = change_of_levels([103.0, 100.0], [100.0, 100.0])
    assert found.uncertainty == pytest.approx(factor * 3 / (RATIO**order - 1))


def test_meshes_are_as_many_and_as_much_finer_as_stated(text: str) -> None:
    (ratio,) = stated(text, rf"each {NUMBER} times finer than the last")
    assert ratio == RATIO == inspect.signature(grid_uncertainty).parameters["ratio"].default
    assert "three for sound, two for flow" in text
    assert (ACOUSTICS.levels, LAMINAR.levels, TURBULENT.levels) == (3, 2, 2)


def test_the_stated_rule_gives_the_place_of_transition(text: str) -> None:
    plain, steep, least, throat = stated(
        text,
        rf"as {NUMBER}/Re \+ {NUMBER}/\(Re − {NUMBER}\) throat diameters, for a throat of {NUMBER}",
    )
    rule = onset.Onset(throat_start=3.0, throat_end=3.0 + throat, sharpness=0.0)
    for reynolds in (1.2 * least, 2000.0, 6700.0):
        behind = float(np.real(rule.place(reynolds))) - 3.0 - throat
        assert behind == pytest.approx(plain / reynolds + steep / (reynolds - least), rel=1e-12)
    assert float(np.real(rule.place(least))) > 1e3
    low, high, behind = stated(
        text,
        rf"moves between Re {NUMBER} and {NUMBER} to {NUMBER} throat diameters behind the edge",
    )
    square = onset.Onset(throat_start=3.0, throat_end=3.0 + throat, sharpness=1.0)
    assert float(np.real(square.place(high))) == pytest.approx(3.0 + behind)
    assert float(np.real(square.place(low))) == pytest.approx(float(np.real(rule.place(low))))


def test_the_regime_words_change_where_stated(text: str) -> None:
    laminar, turbulent = stated(
        text, rf"at most to {NUMBER}; “transitional” is up to {NUMBER}, or where"
    )
    words = [regime(bound + step) for bound in (laminar, turbulent) for step in (-1, 1)]
    assert words == ["laminar", "transitional", "transitional", "turbulent"]


def test_the_stated_share_of_lips_decides_the_word(text: str) -> None:
    percent, fewest = stated(
        text, rf"only where at least {NUMBER} % of those lips .* and at least {NUMBER} do"
    )
    own = Change(5.0, 1.0)

    def word(against: int, count: int) -> str:
        return LipsChange(own, (4.0,) * (count - against) + (-4.0,) * against).verdict

    allowed = round(50 * (1 - percent / 100))
    assert [word(against, 50) for against in (allowed, allowed + 1)] == ["higher", DEPENDS]
    few = int(fewest)
    assert [word(0, few), word(0, few - 1)] == ["higher", TOO_FEW_LIPS]


def test_the_set_of_lips_fills_the_stated_ranges_and_stays_in_them(text: str) -> None:
    lips = lips_set(50)
    for name, (words, unit, factor) in PROPERTIES.items():
        low, high = stated(text, rf"{words}: {NUMBER} to {NUMBER} ?{unit} —")
        found = [factor * getattr(one, name) for one in lips]
        assert low <= min(found) < low * (high / low) ** 0.05
        assert high * (low / high) ** 0.05 < max(found) <= high


def test_the_most_pressure_of_a_threshold_is_the_stated_one(text: str) -> None:
    (kilopascals,) = stated(text, rf"Above {NUMBER} kPa the row says")
    assert f"no oscillation within {kilopascals:g} kPa" == NO_TONE
    assert 1e3 * kilopascals == HIGHEST_PRESSURE
