"""Structured meshes of a pipe with rows along its wall, so that these tests need no mesher."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from skfem import MeshTri, MeshTri2

NEAR = 1e-9


def wall_rows(first: float, growth: float, greatest: float) -> NDArray[np.float64]:
    """Radii from 0 to 1/2 whose steps grow from the wall inwards."""
    radii, step = [0.5], first
    while radii[-1] > 0:
        inner = radii[-1] - step
        radii.append(inner if inner > 0.5 * step else 0.0)
        step = min(step * growth, greatest)
    return np.array(radii[::-1])


def pipe(positions: NDArray[np.float64], radii: NDArray[np.float64]) -> MeshTri2:
    """A pipe of diameter 1 with all four boundaries named."""
    flat = MeshTri.init_tensor(positions, radii)
    middles = flat.p[:, flat.facets].mean(axis=1)
    outer = np.zeros(flat.nfacets, dtype=bool)
    outer[flat.boundary_facets()] = True
    sides = {
        "rim_plane": outer & (middles[0] < positions[0] + NEAR),
        "shank_end": outer & (middles[0] > positions[-1] - NEAR),
        "axis": outer & (middles[1] < NEAR),
        "wall": outer & (middles[1] > radii[-1] - NEAR),
    }
    return replace(
        MeshTri2.from_mesh(flat),
        _boundaries={name: np.flatnonzero(found) for name, found in sides.items()},
    )


@pytest.fixture(scope="session")
def long_pipe() -> Callable[[float], MeshTri2]:
    """A pipe 80 diameters long with a first row of the height given."""

    def make(first: float) -> MeshTri2:
        positions = np.concatenate([np.geomspace(0.05, 1.0, 8) - 0.05, np.linspace(1.2, 80, 64)])
        return pipe(positions, wall_rows(first, 1.25, 0.06))

    return make


@pytest.fixture(scope="session")
def short_pipe() -> Callable[[int], MeshTri2]:
    """A pipe one diameter long with equal squares, each cut in two."""

    def make(count: int) -> MeshTri2:
        return pipe(np.linspace(0, 1, 2 * count + 1), np.linspace(0, 0.5, count + 1))

    return make
