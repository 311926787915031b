"""The demo's bore, on the demo's mesh, against an independent finite-element library."""

from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import numpy as np
import pytest

from borestudy.acoustics.two_port import solve_two_port, two_port_matrix

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
