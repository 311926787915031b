"""A mouthpiece-like bore against an independent finite-element library."""

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


def test_two_port_is_that_of_an_independent_library(peer, meshes, dry_air):
    mesh = peer.peer_mesh(meshes.corners)
    bore = solve_two_port([meshes.mouthpiece(4.0)], dry_air, 50, 5000)
    found = two_port_matrix(bore, FREQUENCIES)
    for frequency, matrix in zip(FREQUENCIES, found, strict=True):
        known = peer.peer_two_port(mesh, meshes.corners, dry_air, frequency)
        np.testing.assert_allclose(matrix, known, rtol=1e-3)
