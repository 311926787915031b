"""Derivatives of matrices when the wall moves: differences, two forms of them, Taylor's theorem.

The bore has a bowl, a rounded entry and a curved backbore.
"""

import numpy as np
import pytest
from scipy.sparse.linalg import eigsh

from borestudy.acoustics.assembly import assemble, pressure_basis
from borestudy.acoustics.operator import impedance_matrix
from borestudy.acoustics.resonances import resonance_figures
from borestudy.acoustics.response import near_peaks, response
from borestudy.acoustics.shape import operator_derivatives
from borestudy.acoustics.termination import build_termination
from borestudy.acoustics.two_port import input_impedance, solve_two_port
from borestudy.fem.facets import facet_basis
from borestudy.fem.motion import moved, node_velocities
from borestudy.study import load_study

from .conftest import CONFIGS

KEYS = [
    "length", "cup.diameter", "cup.depth", "cup.shape", "throat.diameter", "throat.length",
    "backbore.end_diameter", "throat.entry.radius", "backbore.taper",
]  # fmt: skip
OF_PORT = ("area", "edge_radius", "edge_curvature", "edge_weight", "surface", "edge")
SOME = ["cup.depth", "throat.diameter", "throat.entry.radius", "backbore.taper"]
RANGE = (50.0, 5000.0)


@pytest.fixture(scope="module")
def case():
    return load_study(CONFIGS / "overall-length.yaml").cases()[0]


@pytest.fixture(scope="module")
def mesh(case, meshed):
    return meshed(case.build_bore(), 0)


@pytest.fixture(scope="module")
def velocities(case, mesh):
    dimensions = case.dimensions()
    assert [one.key for one in dimensions] == KEYS
    return dict(zip(KEYS, node_velocities(mesh, case.build_bore(), dimensions), strict=True))


def derivative(mesh, velocity, walls="curved", basis=None):
    (found,) = operator_derivatives(mesh, walls, velocity[None], basis)
    return found


def differenced(mesh, velocity, farthest, walls="curved"):
    """By central differences, the farthest node moving by a distance [m] either way."""
    step = farthest / np.abs(velocity).max()
    more, less = (assemble(moved(mesh, side * step * velocity), walls) for side in (1, -1))
    return more, less, step


@pytest.mark.parametrize("key", KEYS)
def test_every_matrix_and_port_moves_as_differences_say(mesh, velocities, key):
    """The smallest triangles have sides of 50 µm: a step of 0.2 µm is good to (0.2/50)²/6.

    Coordinates are rounded to 1e-17 m, a share of 2e-13 of those sides, and with them everything.
    """
    found = derivative(mesh, velocities[key])
    more, less, step = differenced(mesh, velocities[key], 2e-7)

    def agree(slope, one, other):
        expected = (one - other) / (2 * step)
        allowed = 5e-6 * np.abs(expected).max() + 1e-12 * np.abs(one).max() / step
        assert np.abs(slope - expected).max() <= allowed

    for matrices in zip(found.matrices, more.matrices, less.matrices, strict=True):
        agree(*(one.toarray() for one in matrices))
    for ports in zip(found.ports, more.ports, less.ports, strict=True):
        for name in OF_PORT:
            agree(*(np.asarray(getattr(port, name)) for port in ports))
    expected = (more.largest_curvature - less.largest_curvature) / (2 * step)
    assert found.largest_curvature == pytest.approx(expected, rel=1e-5, abs=1e-6)


@pytest.mark.parametrize("walls", ["lossless", "plain", "curved"])
def test_differences_come_nearer_with_the_square_of_their_step(mesh, velocities, walls):
    velocity = velocities["throat.entry.radius"]
    found = derivative(mesh, velocity, walls)
    for place in range(len(found.matrices)):
        errors = []
        for farthest in (8e-6, 4e-6, 2e-6):
            more, less, step = differenced(mesh, velocity, farthest, walls)
            expected = (more.matrices[place] - less.matrices[place]) / (2 * step)
            errors.append(np.abs((expected - found.matrices[place]).toarray()).max())
        size = np.abs(found.matrices[place].toarray()).max()
        if errors[-1] > 1e-9 * size:  # else it is linear in the motion
            assert np.log2(np.array(errors[:-1]) / errors[1:]) == pytest.approx(2, abs=0.1)


def test_a_reduced_derivative_is_the_sparse_one_in_the_basis(mesh, velocities):
    basis = np.random.default_rng(3).normal(size=(mesh.doflocs.shape[1], 7))
    velocity = velocities["cup.shape"]
    whole, small = derivative(mesh, velocity), derivative(mesh, velocity, basis=basis)
    for one, other in zip(whole.matrices, small.matrices, strict=True):
        expected = basis.T @ (one @ basis)
        np.testing.assert_allclose(other, expected, atol=1e-11 * np.abs(expected).max(), rtol=0)
    for one, other in zip(whole.ports, small.ports, strict=True):
        np.testing.assert_allclose(other.surface, basis.T @ one.surface, rtol=1e-9, atol=1e-15)
        np.testing.assert_allclose(other.edge, basis.T @ one.edge, rtol=1e-9, atol=1e-12)


def modes(operator):
    """Squared wavenumbers and pressures of the closed, lossless bore's lowest three modes."""
    stiffness, mass = operator.matrices
    squared, pressure = eigsh(stiffness, k=4, M=mass, sigma=100.0)
    return squared[1:], pressure[:, 1:]


@pytest.mark.parametrize("key", KEYS)
def test_lossless_eigenvalues_move_as_hellmann_and_feynman_say(mesh, velocities, key):
    """dk² = pᵀ(dK − k² dM)p / pᵀMp; differences of eigenvalues are good to 1e-5 here."""
    operator = assemble(mesh, "lossless")
    squared, pressure = modes(operator)
    stiffness, mass = derivative(mesh, velocities[key], "lossless").matrices
    more, less, step = differenced(mesh, velocities[key], 1e-6, "lossless")
    expected = (modes(more)[0] - modes(less)[0]) / (2 * step)
    for value, field, slope in zip(squared, pressure.T, expected, strict=True):
        found = field @ (stiffness @ field - value * (mass @ field))
        found /= field @ (operator.matrices[1] @ field)
        assert found == pytest.approx(slope, rel=5e-5)


@pytest.mark.parametrize("key", KEYS)
def test_lossless_eigenvalues_move_as_hadamards_formula_says(mesh, velocities, key):
    """dk² = ∫(|∇p|² − k²p²) V·n dS / ∫p² dV over all walls and both ends.

    Hadamard's formula (Henrot & Pierre 2018, Shape Variation and Optimization, from memory) knows
    the motion of the surface alone, and nothing of matrices: what quadratic pressures miss of a
    gradient at the wall, most at the throat's end, was 6e-4 of it, and 5e-4 on a finer mesh.
    """
    squared, pressure = modes(assemble(mesh, "lossless"))
    velocity = velocities[key]
    stiffness, mass = derivative(mesh, velocity, "lossless").matrices
    names = ("wall", "rim_plane", "shank_end")
    sides = np.concatenate([np.atleast_1d(mesh.boundaries[name]) for name in names])
    basis = facet_basis(mesh, pressure_basis(mesh).elem, sides, intorder=8)
    along, outward = (np.asarray(basis.interpolate(part)) for part in velocity)
    normal = along * basis.normals[0] + outward * basis.normals[1]
    weight = 2 * np.pi * basis.global_coordinates()[1] * basis.dx
    for value, field in zip(squared, pressure.T, strict=True):
        there = basis.interpolate(field)
        density = (there.grad**2).sum(axis=0) - value * np.asarray(there) ** 2
        expected = float((density * normal * weight).sum())
        found = field @ (stiffness @ field - value * (mass @ field))
        assert found == pytest.approx(expected, rel=1e-3)


FREQUENCIES = np.array([230.0, 900.0, 2600.0])


@pytest.mark.parametrize("key", SOME)
def test_taylors_remainder_of_the_impedance_falls_with_the_square(case, mesh, velocities, key):
    """Full solves on moved meshes; with the derivative's sign turned it falls with the step."""
    air, velocity = case.build_air(), velocities[key]
    end = build_termination("closed", case.build_bore().shank_radius)
    omega = 2 * np.pi * FREQUENCIES
    nearby = near_peaks(end, case.build_bore().shank_radius, air, FREQUENCIES, np.full(3, np.nan))
    state = [part.reshape(2, -1) for part in nearby.state(FREQUENCIES[:, None] + 0j)]
    base = response(
        assemble(mesh), (derivative(mesh, velocity),), air, FREQUENCIES.astype(complex), state
    )
    remainders = {1: [], -1: []}
    for farthest in (2e-5, 1e-5, 5e-6):
        step = farthest / np.abs(velocity).max()
        matrix = impedance_matrix(assemble(moved(mesh, step * velocity)), omega, air)
        flow = end.inflow(matrix, omega, air)
        change = matrix[:, 0, 0] + matrix[:, 0, 1] * flow - base.impedance
        for sign, found in remainders.items():
            found.append(np.abs(change - sign * step * base.by_dimension[0]))
    for sign, order in ((1, 2), (-1, 1)):
        falls = np.log2(np.array(remainders[sign][:-1]) / remainders[sign][1:])
        assert falls == pytest.approx(order, abs=0.1)


@pytest.mark.parametrize("key", SOME)
def test_taylors_remainder_of_a_peak_falls_with_the_square(case, mesh, velocities, key):
    """Peak, Q and height of two-ports solved anew on moved meshes, behind an anechoic pipe.

    The first change is 0.3 % of the frequency or so; what is left at the last step is above what
    the reduced basis leaves out of a slope (1e-5 of the largest dimension's).
    """
    from borestudy.acoustics.sensitivity import slopes_by_dimension

    air, bore = case.build_air(), case.build_bore()
    end = build_termination("anechoic pipe", bore.shank_radius)
    (dimension,) = (one for one in case.dimensions() if one.key == key)
    base = solve_two_port([mesh], air, *RANGE, bore=bore, dimensions=[dimension])

    def peak(two_port):
        def curve(frequencies):
            return input_impedance(two_port, end, frequencies)

        return resonance_figures(curve, *RANGE)[0]

    known = peak(base)
    slope = slopes_by_dimension(base, end, known[None, None])[0][key]
    in_si = {"mm": 1e3, "": 1.0}[dimension.unit]
    per_si = in_si * np.array(
        [
            slope.frequency.value * known[0] * np.log(2) / 1200,
            slope.Q.value,
            slope.impedance_peak.value,
        ]
    )
    # of equal changes of the frequency, but no farther than the entry's triangles allow
    largest = min(3e-3 * known[0] / abs(per_si[0]), 1e-4 / np.abs(velocities[key]).max())
    remainders = {1: [], -1: []}
    for step in largest / np.array([1, 2, 4]):
        moved_on = moved(mesh, step * velocities[key])
        change = peak(solve_two_port([moved_on], air, *RANGE)) - known
        for sign, found in remainders.items():
            found.append(np.abs(change - sign * step * per_si) / known)
    for sign, order in ((1, 2), (-1, 1)):
        falls = np.log2(np.array(remainders[sign][:-1]) / remainders[sign][1:])
        assert falls == pytest.approx(order, abs=0.25)
