"""Resonances found anew in bores that differ a little, against closed forms and the full search."""

from dataclasses import fields, replace

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from borestudy.acoustics.assembly import assemble
from borestudy.acoustics.operator import AffineOperator, Port
from borestudy.acoustics.reduced_basis import Reduction
from borestudy.acoustics.resonances import resonance_figures
from borestudy.acoustics.samples import sampled_peaks
from borestudy.acoustics.sensitivity import OF_PORT, changed
from borestudy.acoustics.termination import build_termination
from borestudy.acoustics.two_port import ReducedModel, TwoPort, input_impedance
from borestudy.closed_form.tube import characteristic_impedance, propagation_constant
from borestudy.intervals import cents

from .conftest import GAS, tube_mesh

RADIUS, LENGTH = 4e-3, 0.1
RANGE = (300.0, 5000.0)


def operator(radius: float, length: float) -> AffineOperator:
    """A pipe's operator of small dense matrices."""
    found = assemble(tube_mesh(radius, length, 10, 1), "curved")
    return replace(found, matrices=tuple(matrix.toarray() for matrix in found.matrices))


def derivative(more: AffineOperator, less: AffineOperator, step: float) -> AffineOperator:
    """By central differences, each way by a step."""

    def of_port(one: Port, other: Port) -> Port:
        return Port(
            **{name: (getattr(one, name) - getattr(other, name)) / (2 * step) for name in OF_PORT}
        )

    assert {field.name for field in fields(Port)} == set(OF_PORT)
    return replace(
        more,
        matrices=tuple(
            (one - other) / (2 * step)
            for one, other in zip(more.matrices, less.matrices, strict=True)
        ),
        ports=tuple(map(of_port, more.ports, less.ports)),
        largest_curvature=(more.largest_curvature - less.largest_curvature) / (2 * step),
    )


@pytest.fixture(scope="module")
def pipe() -> TwoPort:
    by_length = derivative(operator(RADIUS, LENGTH + 1e-6), operator(RADIUS, LENGTH - 1e-6), 1e-6)
    by_radius = derivative(operator(RADIUS + 1e-7, LENGTH), operator(RADIUS - 1e-7, LENGTH), 1e-7)
    whole = operator(RADIUS, LENGTH)
    nothing = Reduction(np.array([]), np.array([]), 0.0, 0.0, False)
    model = ReducedModel(whole, nothing, whole.unknowns, RADIUS, (by_length, by_radius))
    return TwoPort((model,), GAS, *RANGE, ("length", "radius"), ("mm", "mm"), (LENGTH, RADIUS))


def figures(two_port, termination):
    return resonance_figures(
        lambda found: input_impedance(two_port, termination, found), *two_port.range_Hz
    )


def peak_of_pipe(radius, length, near):
    """Maximum of Zc tanh(Γ L), a pipe with a pressure node at its end, near a frequency [Hz]."""

    def below(frequency):
        omega = 2 * np.pi * np.array([frequency])
        impedance = characteristic_impedance(radius, omega, GAS) * np.tanh(
            propagation_constant(radius, omega, GAS) * length
        )
        return -float(np.abs(impedance[0]))

    ends = (0.97 * near, 1.03 * near)
    return minimize_scalar(below, bounds=ends, method="bounded", options={"xatol": 1e-7}).x


@pytest.mark.parametrize(("key", "share"), [("length", 1e-3), ("radius", 1e-2)])
def test_a_pipes_resonances_under_a_tolerance_are_the_closed_forms(pipe, key, share):
    """In cents of the drawn pipe's, where the mesh's own error cancels.

    The matrices move to first order: of a length changed by a share e, e² of the stiffness is left
    out, half of that of the frequency.  A radius does nothing but by its losses.
    """
    end = build_termination("pressure node", RADIUS)
    drawn = figures(pipe, end)[:2]
    value = {"length": LENGTH, "radius": RADIUS}
    shares = np.linspace(-share, share, 5)
    amounts = np.zeros((5, 2))
    amounts[:, ["length", "radius"].index(key)] = shares * value[key]
    found = sampled_peaks(pipe, end, pipe.dimensions, amounts, drawn[:, :2])
    assert found.shape == (5, 2, 3)
    left_out = 1200 / np.log(2) * share**2
    for number, (near, *_) in enumerate(drawn):
        exact = [
            peak_of_pipe(**{"radius": RADIUS, "length": LENGTH, key: value[key] * (1 + e)},
                         near=near)
            for e in shares
        ]  # fmt: skip
        moved = cents(found[:, number, 0] / found[2, number, 0])
        expected = cents(np.array(exact) / exact[2])
        assert abs(expected[0] - expected[-1]) > (3 if key == "length" else 0.1)
        np.testing.assert_allclose(moved, expected, atol=max(left_out, 1e-3))


@pytest.mark.parametrize("kind", ["closed", "anechoic pipe", "open"])
def test_what_is_found_near_a_peak_is_what_the_full_search_finds(pipe, kind):
    """Of bores by up to a percent longer and wider; the rational function's Q to 1e-6."""
    end = build_termination(kind, RADIUS)
    drawn = figures(pipe, end)
    if kind == "anechoic pipe":
        assert len(drawn) == 0
        assert sampled_peaks(pipe, end, ["length"], [[1e-4]], drawn[:, :2]).shape == (1, 0, 3)
        return
    amounts = np.array([[0, 0], [1e-3, 4e-5], [-1e-3, 2e-5], [5e-4, -4e-5]])
    found = sampled_peaks(pipe, end, pipe.dimensions, amounts, drawn[:, :2])
    for row, peaks in zip(amounts, found, strict=True):
        other = changed(pipe, dict(zip(pipe.dimensions, row, strict=True)))
        whole = figures(other, end.at(other.shank_radius))
        np.testing.assert_allclose(peaks[:, 0], whole[:, 0], rtol=1e-8)
        np.testing.assert_allclose(peaks[:, 1], whole[:, 1], rtol=1e-5)
        np.testing.assert_allclose(peaks[:, 2], whole[:, 2], rtol=1e-8)


def test_a_peak_that_moves_beyond_its_own_width_is_followed(pipe):
    """8 % longer: 133 cents, where half the bandwidth is some 20."""
    end = build_termination("closed", RADIUS)
    drawn = figures(pipe, end)[:1]
    half = 1200 / np.log(2) / (2 * drawn[0, 1])
    found = sampled_peaks(pipe, end, ["length"], [[8e-3]], drawn[:, :2])
    other = changed(pipe, {"length": 8e-3})
    assert abs(cents(found[0, 0, 0] / drawn[0, 0])) > 3 * half
    whole = figures(other, end.at(other.shank_radius))
    np.testing.assert_allclose(found[0, 0], whole[0], rtol=1e-5)


def test_a_peak_that_is_not_there_has_no_figures(pipe):
    end = build_termination("closed", RADIUS)
    far = sampled_peaks(pipe, end, ["length"], [[0.0]], [[1000.0, 300.0]])
    lossless = sampled_peaks(pipe, end, ["length"], [[0.0]], [[1700.0, np.inf]])
    assert np.isnan(far).all()
    assert np.isnan(lossless).all()
