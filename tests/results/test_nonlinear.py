"""Resonances sampled through a real two-port, a pipe's, against its closed form."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from borestudy.acoustics.solve import acoustic_result
from borestudy.acoustics.termination import build_termination
from borestudy.acoustics.two_port import solve_two_port
from borestudy.air import humid_air
from borestudy.bore import cylinder, tolerances_of, variation
from borestudy.closed_form.tube import characteristic_impedance, propagation_constant
from borestudy.intervals import cents
from borestudy.mesh import ACOUSTICS, mesh_ladder
from borestudy.quantity import Quantity
from borestudy.results.case import CaseResults
from borestudy.results.distribution import PERCENTILES
from borestudy.results.toleranced import FIRST, SAMPLED
from borestudy.results.tolerances import distributions

RADIUS, LENGTH, TOLERANCE = 4e-3, 0.1, 0.2e-3
AIR = humid_air(293.15, 0.5, 101325.0)


class Pipe:
    """A pipe with a pressure node at its end, solved with its derivatives."""

    def __init__(self) -> None:
        bore = cylinder(RADIUS, LENGTH)
        self.dimensions = [
            variation(lambda length: cylinder(RADIUS, length), LENGTH, key="length"),
            variation(lambda radius: cylinder(radius, LENGTH), RADIUS, key="radius"),
        ]
        meshes = mesh_ladder(bore, ACOUSTICS.at("draft"))[-2:]
        self.two_port = solve_two_port(meshes, AIR, 300.0, 4000.0, "curved", bore, self.dimensions)
        self.end = build_termination("pressure node", RADIUS)
        self.case = CaseResults("pipe", acoustics=acoustic_result(self.two_port, self.end))
        self.tolerances = tolerances_of(self.dimensions, TOLERANCE, {"radius": 0.0})


@pytest.fixture(scope="module")
def pipe() -> Pipe:
    return Pipe()


def quantity(result, name):
    return next(one for one in result.quantities if one.quantity == name)


def peak_of(length: float, near: float) -> tuple[float, float]:
    """Frequency [Hz] and height of the maximum of Zc tanh(Γ L)."""

    def below(frequency: float) -> float:
        omega = 2 * np.pi * np.array([frequency])
        wave = np.tanh(propagation_constant(RADIUS, omega, AIR) * length)
        return -float(np.abs(characteristic_impedance(RADIUS, omega, AIR) * wave)[0])

    found = minimize_scalar(
        below, bounds=(0.97 * near, 1.03 * near), method="bounded", options={"xatol": 1e-7}
    )
    return found.x, -found.fun


def test_a_pipes_resonance_under_a_length_tolerance_spreads_as_the_closed_form(pipe):
    """It falls as the length grows, so that its percentiles are those of the length mirrored.

    What the matrices' second derivative leaves out is below the square of the tolerance over the
    length, 4e-6 or 0.007 cents, and so is the mesh's share of the change.
    """
    result = distributions(pipe.case, pipe.tolerances, two_port=pipe.two_port, termination=pipe.end)
    found, high = quantity(result, "resonance"), quantity(result, "resonance impedance")
    assert (found.method, high.method) == (SAMPLED, SAMPLED)
    near = pipe.case.resonances[0].frequency.value
    drawn = peak_of(LENGTH, near)
    shares = 1 - 2 * np.array(PERCENTILES) / 100
    exact = [peak_of(LENGTH + share * TOLERANCE, near) for share in shares]
    pitches = [float(cents(frequency / drawn[0])) for frequency, _ in exact]
    step = (pitches[-1] - pitches[0]) / 1024  # of the points' even grid
    np.testing.assert_allclose(found.percentiles, pitches, atol=0.014 + step)
    heights = np.array([100 * (height / drawn[1] - 1) for _, height in exact])
    np.testing.assert_allclose(high.percentiles, heights, atol=0.01 * np.ptp(heights))
    assert found.hold_tighter_first == high.hold_tighter_first == "length"
    assert found.dimensions[0].share_percent == 100.0


def test_the_sampled_spread_and_the_first_orders_agree_where_errors_are_small(pipe):
    errors = tolerances_of(pipe.dimensions, 1e-5)
    sampled = distributions(pipe.case, errors, two_port=pipe.two_port, termination=pipe.end)
    for name in ("resonance", "resonance Q", "resonance impedance"):
        found = quantity(sampled, name)
        assert found.method == SAMPLED
        # 1024 points, and derivatives by differences of the same two-port
        assert found.deviation == pytest.approx(found.first_order_deviation, rel=2e-3)


def test_without_its_derivatives_the_sound_is_told_to_first_order(pipe):
    bare = replace(pipe.two_port, dimensions=(), units=(), values=())
    other = replace(pipe.case.resonances[0], frequency=Quantity(900.0, 0.1), by_dimension={})
    elsewhere = replace(
        pipe.case,
        acoustics=replace(pipe.case.acoustics, resonances=(other, *pipe.case.resonances[1:])),
    )
    found = distributions(pipe.case, pipe.tolerances, two_port=bare, termination=pipe.end)
    assert quantity(found, "resonance").method == FIRST
    # a peak that is not the reported one is not taken for it
    wrong = distributions(elsewhere, pipe.tolerances, two_port=pipe.two_port, termination=pipe.end)
    assert quantity(wrong, "resonance").method == ""
