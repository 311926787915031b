"""When the stage of the tolerances solves the flow again, and of which bores."""

import logging

import pytest

from borestudy.air import humid_air
from borestudy.bore import tolerances_of
from borestudy.mesh import UnmeshedError
from borestudy.quantity import Quantity
from borestudy.results.reported import Reported
from borestudy.stages import tolerances as stage
from borestudy.study import study_from_mapping
from borestudy.study.tolerances import bore_in_error

MM = 1e-3
BORE = {
    "length": "88 mm",
    "cup": {"diameter": "16.2 mm", "depth": "10.8 mm", "shape": 0.6},
    "throat": {"diameter": "3.66 mm", "length": "5 mm", "entry": "rounded 0.5 mm"},
    "backbore": {"end_diameter": "9 mm"},
}
DROP, THROAT = "pressure drop at 0.2 L/s", "throat.diameter"
FLOW = stage.FlowAsked(air=humid_air(293.15, 0.5, 101325.0), rates=[0.2e-3])


@pytest.fixture(scope="module")
def case():
    return study_from_mapping({"bore": BORE}, name="one").cases()[0]


def drop(diameter: float) -> dict[str, Reported]:
    """As the fourth power of a throat's diameter [m]."""
    slope = Quantity(-400 / (1e3 * diameter), 0.1)
    one = Reported(
        name=DROP, unit="Pa", value=Quantity(100 * (3.66 * MM / diameter) ** 4, 0.5),
        relative_in="percent", slopes={THROAT: slope}, flow_rate_L_per_s=0.2,
    )  # fmt: skip
    return {DROP: one}


def bent(case, monkeypatch, tolerance, solve):
    monkeypatch.setattr(stage, "reported", lambda results: drop(3.66 * MM))
    monkeypatch.setattr(stage, "_flow_of", solve)
    tolerances = tolerances_of(case.dimensions(), 25.4e-6, {THROAT: tolerance})
    keys = [one.key for one in tolerances]

    def in_error(error, amount):
        return bore_in_error(case, error, amount)

    return keys, stage.bent_flow(None, tolerances, FLOW, in_error)


def test_the_bores_in_error_are_two_tolerances_smaller_and_larger(case, monkeypatch):
    asked = []

    def solve(bore, dimensions, flow):
        asked.append(2 * bore.throat_radius)
        assert {one.key: one.value for one in dimensions}[THROAT] == pytest.approx(asked[-1])
        return drop(asked[-1])

    keys, found = bent(case, monkeypatch, 0.05 * MM, solve)
    assert asked == pytest.approx([3.56 * MM, 3.76 * MM])
    (column,) = found[DROP].values()
    assert column[keys.index(THROAT)] == pytest.approx(100 * 20 * (0.05 / 3.66) ** 2, rel=1e-3)


def test_nothing_is_solved_for_a_thousandth_of_an_inch(case, monkeypatch):
    def refuse(*_):
        raise AssertionError

    assert bent(case, monkeypatch, 25.4e-6, refuse)[1] == {}


@pytest.mark.parametrize("problem", [UnmeshedError("no mesh"), ValueError("no such bore")])
def test_a_bore_in_error_that_cannot_be_solved_leaves_first_order(
    case, monkeypatch, caplog, problem
):
    def fail(*_):
        raise problem

    with caplog.at_level(logging.WARNING):
        assert bent(case, monkeypatch, 0.05 * MM, fail)[1] == {}
    assert f"throat diameter: no second order: {problem}" in caplog.text
