"""Structured second-order meshes of bodies of revolution, so that these tests need no mesher."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from numpy.typing import NDArray
from skfem import MeshTri, MeshTri2

Radius = Callable[[NDArray[np.float64]], NDArray[np.float64]]
NEAR = 1e-9


def strip_mesh(
    radius: Radius,
    positions: NDArray[np.float64],
    shares: NDArray[np.float64],
    sections: dict[str, float] | None = None,
) -> MeshTri2:
    """Triangles between the axis and r = radius(x), `shares` of the radius from 0 to 1.

    `sections` are the ends of parts: lines of edges ``section_NAME_end`` and subdomains NAME.
    """
    flat = MeshTri.init_tensor(positions, shares)
    straight = MeshTri2.from_mesh(flat)
    points = straight.doflocs.copy()
    points[1] *= radius(points[0])
    middles = flat.p[:, flat.facets].mean(axis=1)
    outer = np.zeros(flat.nfacets, dtype=bool)
    outer[flat.boundary_facets()] = True
    length = positions[-1]
    sides = {
        "rim_plane": outer & (np.abs(middles[0]) < NEAR),
        "shank_end": outer & (np.abs(middles[0] - length) < NEAR * length),
        "axis": outer & (np.abs(middles[1]) < NEAR),
        "wall": outer & (np.abs(middles[1] - 1) < NEAR),
    }
    parts, start = {}, 0.0
    centres = flat.p[0, flat.t].mean(axis=0)
    for name, end in (sections or {}).items():
        sides[f"section_{name}_end"] = np.abs(middles[0] - end) < NEAR * length
        parts[name] = np.flatnonzero((centres > start) & (centres < end))
        start = end
    return replace(
        MeshTri2(points, straight.t),
        _boundaries={name: np.flatnonzero(found) for name, found in sides.items()},
        _subdomains=parts,
    )


def stepped_mesh(
    positions: NDArray[np.float64], radii: NDArray[np.float64], radius: Radius
) -> MeshTri2:
    """The cells of a rectangular grid below r = radius(x), for sudden steps of the wall."""
    grid = MeshTri.init_tensor(positions, radii)
    centres = grid.p[:, grid.t].mean(axis=1)
    kept = grid.restrict(np.flatnonzero(centres[1] < radius(centres[0])))
    middles = kept.p[:, kept.facets].mean(axis=1)
    outer = np.zeros(kept.nfacets, dtype=bool)
    outer[kept.boundary_facets()] = True
    first, last = positions[0], positions[-1]
    sides = {
        "rim_plane": outer & (np.abs(middles[0] - first) < NEAR),
        "shank_end": outer & (np.abs(middles[0] - last) < NEAR),
        "axis": outer & (np.abs(middles[1]) < NEAR),
    }
    sides["wall"] = outer & ~(sides["rim_plane"] | sides["shank_end"] | sides["axis"])
    return replace(
        MeshTri2.from_mesh(MeshTri(kept.p, kept.t)),
        _boundaries={name: np.flatnonzero(found) for name, found in sides.items()},
    )


def graded(start: float, stop: float, count: int, power: float = 1.5) -> NDArray[np.float64]:
    """Points from start to stop that crowd towards start."""
    return start + (stop - start) * np.linspace(0, 1, count + 1) ** power


def joined(*pieces: Sequence[float]) -> NDArray[np.float64]:
    """Runs of points in one ascending line."""
    return np.unique(np.round(np.concatenate([np.sort(piece) for piece in pieces]), 12))


@pytest.fixture(scope="session")
def strip() -> Callable[..., MeshTri2]:
    return strip_mesh


@pytest.fixture(scope="session")
def stepped() -> Callable[..., MeshTri2]:
    return stepped_mesh


@pytest.fixture(scope="session")
def grade() -> Callable[..., NDArray[np.float64]]:
    return graded


@pytest.fixture(scope="session")
def join() -> Callable[..., NDArray[np.float64]]:
    return joined


@pytest.fixture(scope="session")
def peer() -> ModuleType:
    """The independent library's solver; skips where that is not installed."""
    spec = spec_from_file_location("flow_peer", Path(__file__).with_name("peer.py"))
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
