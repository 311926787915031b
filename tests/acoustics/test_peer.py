"""The demo's bore, on the demo's mesh, against an independent finite-element library."""

from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import numpy as np
import pytest

from borestudy.acoustics.assembly import assemble
from borestudy.acoustics.operator import impedance_matrix
from borestudy.acoustics.resonances import resonance_figures
from borestudy.acoustics.sensitivity import changed, slopes_by_dimension
from borestudy.acoustics.termination import build_termination
from borestudy.acoustics.two_port import input_impedance, solve_two_port, two_port_matrix
from borestudy.fem.motion import moved, node_velocities

FREQUENCIES = np.array([60.0, 300.0, 800.0, 1700.0, 3100.0, 4700.0])


@pytest.fixture(scope="module")
def peer():
    spec = spec_from_file_location("acoustic_peer", Path(__file__).with_name("peer.py"))
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    module.libraries()
    return module


@pytest.fixture(scope="module")
def solved(peer, demo, meshed):
    """The demo's first case: mesh of its finest level, the same in the library, two-ports."""
    case = demo.cases()[0]
    air, mesh = case.build_air(), meshed(case.build_bore(), 1)
    found = two_port_matrix(solve_two_port([mesh], air, 50, 5000), FREQUENCIES)
    return air, mesh, peer.peer_mesh(mesh), found


@pytest.mark.parametrize(
    ("order", "tolerance"),
    # the same space but other quadrature and factors: the reduced basis is what differs, 1e-7;
    # polynomials of order 5 on the same triangles: the demo's own discretisation error
    [(2, 1e-6), (5, 1e-4)],
    ids=["same order", "order 5"],
)
def test_demo_bore_is_that_of_an_independent_library(peer, solved, order, tolerance):
    air, mesh, bent, found = solved
    for frequency, matrix in zip(FREQUENCIES, found, strict=True):
        known = peer.peer_two_port(bent, mesh, air, frequency, order=order)
        np.testing.assert_allclose(matrix, known, rtol=tolerance)


KEYS = ("throat.diameter", "cup.depth", "throat.entry.radius")
#: Of the central differences [m]: their own error is (1e-6 m / 0.5 mm)² / 6, below 1e-6.
STEP = 1e-6


@pytest.fixture(scope="module")
def rounded(demo, meshed):
    """The demo's case with a rounded entry: air, mesh, how its nodes move, and its two-port."""
    case = next(case for case in demo.cases() if "radius-0.50mm" in case.name)
    bore = case.build_bore()
    mesh, known = meshed(bore, 0), {one.key: one for one in case.dimensions()}
    air, dimensions = case.build_air(), [known[key] for key in KEYS]
    two_port = solve_two_port([mesh], air, 50, 5000, bore=bore, dimensions=dimensions)
    return air, mesh, node_velocities(mesh, bore, dimensions), two_port


def differences(matrix, mesh, velocity):
    """Derivative of a matrix of a mesh along a motion, by central differences."""
    larger, smaller = (matrix(moved(mesh, sign * STEP * velocity)) for sign in (1, -1))
    return (larger - smaller) / (2 * STEP)


# Two solves round Z by 1e-11, over a step in which the smallest slope, that of the entry's radius,
# changes it by 1e-6: 1e-5; the quadratures differ by less than 1e-6, as above.
@pytest.mark.parametrize("frequency", FREQUENCIES[1::2])
def test_impedance_changes_with_each_dimension_as_by_symbolic_shape_derivatives(
    peer, rounded, frequency
):
    air, mesh, velocities, _ = rounded

    def ours(mesh):
        return impedance_matrix(assemble(mesh), 2 * np.pi * frequency, air)[0]

    known = peer.peer_slopes(peer.peer_mesh(mesh), mesh, velocities, air, frequency)
    for velocity, slope in zip(velocities, known, strict=True):
        found = differences(ours, mesh, velocity)
        assert np.abs(found - slope).max() < 2e-5 * np.abs(slope).max()


def test_symbolic_shape_derivatives_are_differences_of_the_librarys_own(peer, rounded):
    air, mesh, velocities, _ = rounded
    known = peer.peer_slopes(peer.peer_mesh(mesh), mesh, velocities, air, FREQUENCIES[2])

    def theirs(mesh):
        return peer.peer_two_port(peer.peer_mesh(mesh), mesh, air, FREQUENCIES[2])

    for velocity, slope in zip(velocities, known, strict=True):
        found = differences(theirs, mesh, velocity)
        assert np.abs(found - slope).max() < 2e-5 * np.abs(slope).max()


@pytest.mark.parametrize("frequency", FREQUENCIES)
def test_a_two_ports_derivatives_are_symbolic_shape_derivatives(peer, rounded, frequency):
    air, mesh, velocities, two_port = rounded
    known = peer.peer_slopes(peer.peer_mesh(mesh), mesh, velocities, air, frequency)
    for key, slope in zip(KEYS, known, strict=True):
        larger, smaller = (
            two_port_matrix(changed(two_port, {key: sign * STEP}), frequency)[0] for sign in (1, -1)
        )
        # what the pressures of one bore lack of those that its changes need: `SLOPE_SHARE` at
        # resonances, 1.3e-3 of the entry's small share in a stiffness at 60 Hz
        assert np.abs((larger - smaller) / (2 * STEP) - slope).max() < 2e-3 * np.abs(slope).max()


def node_at_shank(matrix):
    """Input impedance of a two-port whose shank end has no pressure, and of its derivative."""
    (z11, z12), (_, z22) = matrix

    def slope(by_dimension):
        (d11, d12), (_, d22) = by_dimension
        return d11 - 2 * z12 * d12 / z22 + (z12 / z22) ** 2 * d22

    return z11 - z12**2 / z22, slope


def test_resonances_move_with_dimensions_as_an_independent_library_says(peer, rounded):
    """The greatest |Z| moves by -(∂²ln|Z|/∂f∂m) / (∂²ln|Z|/∂f²), both by its own differences."""
    air, mesh, velocities, two_port = rounded
    end = build_termination("pressure node", two_port.shank_radius)
    figures = resonance_figures(lambda f: input_impedance(two_port, end, f), 50, 5000)[:1]
    ours = slopes_by_dimension(two_port, end, figures[None])[0]
    frequency, quality, height = figures[0]
    # a twentieth of the half width: second differences of a round peak err by its square
    step = frequency / (2 * quality) / 20
    bent, logarithms, slopes = peer.peer_mesh(mesh), [], []
    for place in frequency + step * np.array([-1, 0, 1]):
        impedance, along = node_at_shank(peer.peer_two_port(bent, mesh, air, place))
        logarithms.append(np.log(np.abs(impedance)))
        by_dimension = peer.peer_slopes(bent, mesh, velocities, air, place)
        slopes.append([(along(one) / impedance).real for one in by_dimension])
    assert np.exp(logarithms[1]) == pytest.approx(height, rel=1e-5)
    bend = (logarithms[0] - 2 * logarithms[1] + logarithms[2]) / step**2
    turning = (np.array(slopes[2]) - slopes[0]) / (2 * step)
    cents = 1200 / np.log(2) / frequency * -turning / bend
    for key, one, rise in zip(KEYS, cents, np.array(slopes[1]), strict=True):
        # per millimetre; the reduced basis, 1e-3, and the differences, (1/20)² of their order
        assert ours[key].frequency.value == pytest.approx(1e-3 * one, rel=5e-3)
        assert ours[key].impedance_peak.value == pytest.approx(1e-3 * rise * height, rel=2e-3)
