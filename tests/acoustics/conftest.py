"""Meshes of known shapes: structured ones that need no mesher, and those of real bores."""

from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from numpy.typing import NDArray
from skfem import MeshTri, MeshTri2

from borestudy.acoustics.two_port import TwoPort, solve_two_port
from borestudy.air import Air
from borestudy.bore import Bore
from borestudy.mesh import ACOUSTICS, read_mesh, write_mesh
from borestudy.study import Study, load_study

CONFIGS = Path(__file__).parents[2] / "configs"
NEAR = 1e-9
Mapping = Callable[[NDArray, NDArray], tuple[NDArray, NDArray]]


#: dry air at 20 °C and 101 325 Pa
GAS = Air(
    density=1.2046,
    sound_speed=343.34,
    viscosity=1.8206e-5,
    thermal_conductivity=0.025874,
    specific_heat=1006.14,
    heat_capacity_ratio=1.4020,
)


@pytest.fixture(scope="session")
def dry_air() -> Air:
    """The gas in which the values computed elsewhere hold."""
    return GAS


def mapped_mesh(
    axial: NDArray, radial: NDArray, mapping: Mapping, keep: Callable | None = None
) -> MeshTri2:
    """Triangles over ``axial`` × ``radial`` grid lines, moved by ``mapping``; wall on top."""
    flat = MeshTri.init_tensor(axial, radial)
    if keep is not None:
        centre = flat.p[:, flat.t].mean(axis=1)
        flat = flat.remove_elements(np.flatnonzero(~keep(*centre)))
    curved = MeshTri2.from_mesh(flat)
    middle = flat.p[:, flat.facets].mean(axis=1)
    outer = np.zeros(flat.nfacets, dtype=bool)
    outer[flat.boundary_facets()] = True
    rim, shank = outer & (middle[0] < axial[0] + NEAR), outer & (middle[0] > axial[-1] - NEAR)
    axis = outer & (middle[1] < NEAR)
    sides = {
        "rim_plane": rim,
        "shank_end": shank,
        "axis": axis,
        "wall": outer & ~rim & ~shank & ~axis,
    }
    points = np.array(mapping(*curved.doflocs))
    return MeshTri2(
        points, curved.t, _boundaries={name: np.flatnonzero(side) for name, side in sides.items()}
    )


def tube_mesh(radius: float, length: float, axial: int, radial: int) -> MeshTri2:
    grid = np.linspace(0, 1, axial + 1), np.linspace(0, 1, radial + 1)
    return mapped_mesh(*grid, lambda x, r: (length * x, radius * r))


def cone_mesh(first: float, last: float, length: float, axial: int, radial: int) -> MeshTri2:
    """Widening cone between spherical caps about its apex; sections measured at the wall."""
    angle = np.arctan2(last - first, length)
    start, end = first / np.sin(angle), last / np.sin(angle)

    def mapping(x: NDArray, r: NDArray) -> tuple[NDArray, NDArray]:
        distance, polar = start + (end - start) * x, angle * r
        return distance * np.cos(polar) - start * np.cos(angle), distance * np.sin(polar)

    return mapped_mesh(np.linspace(0, 1, axial + 1), np.linspace(0, 1, radial + 1), mapping)


def step_mesh(narrow: float, wide: float, lengths: tuple[float, float]) -> MeshTri2:
    """Narrow tube into a wide one, graded geometrically into the re-entrant edge."""
    graded = np.concatenate([[0], np.geomspace(1e-6, 1, 28)])
    axial = np.concatenate([-lengths[0] * graded[::-1], lengths[1] * graded[1:]])
    inner = narrow * (1 - np.concatenate([[0], np.geomspace(1e-5, 1, 20)]))[::-1]
    outer = narrow + (wide - narrow) * np.concatenate([[0], np.geomspace(1e-5, 1, 20)])
    radial = np.concatenate([inner, outer[1:]])
    return mapped_mesh(
        axial, radial, lambda x, r: (x + lengths[0], r), lambda x, r: (x > 0) | (r < narrow)
    )


MOUTHPIECE_CORNERS = np.array([[0, 8.1], [10.8, 1.83], [15.8, 1.83], [88, 4.5]]) * 1e-3


def mouthpiece_mesh(refinement: float) -> MeshTri2:
    """A cup, a throat and a backbore of straight walls, invented dimensions."""
    corners = MOUTHPIECE_CORNERS
    counts = np.maximum(2, np.rint(refinement * np.array([12, 6, 24]))).astype(int)
    pieces = [
        np.linspace(corners[i, 0], corners[i + 1, 0], counts[i] + 1)[(1 if i else 0) :]
        for i in range(3)
    ]
    radial = np.linspace(0, 1, max(2, round(3 * refinement)) + 1)

    def mapping(x: NDArray, r: NDArray) -> tuple[NDArray, NDArray]:
        return x, r * np.interp(x, corners[:, 0], corners[:, 1])

    return mapped_mesh(np.concatenate(pieces), radial, mapping)


@pytest.fixture(scope="session")
def meshes() -> SimpleNamespace:
    """Builders of meshes: tube, cone, step, mouthpiece; and ``mapped`` for any other."""
    return SimpleNamespace(
        mapped=mapped_mesh,
        tube=tube_mesh,
        cone=cone_mesh,
        step=step_mesh,
        mouthpiece=mouthpiece_mesh,
        corners=MOUTHPIECE_CORNERS,
    )


@pytest.fixture(scope="session")
def mouthpiece(dry_air: Air) -> TwoPort:
    """Three levels of one mouthpiece-like bore."""
    levels = [mouthpiece_mesh(refinement) for refinement in (1.0, 1.5, 2.25)]
    return solve_two_port(levels, dry_air, 50.0, 5000.0)


Meshed = Callable[[Bore, int], MeshTri2]


@pytest.fixture(scope="session")
def meshed(tmp_path_factory: pytest.TempPathFactory) -> Meshed:
    """The mesh that a study uses for a bore on a level: 0 coarse, 1 medium, 2 fine."""
    folder = tmp_path_factory.mktemp("meshes")

    def mesh(bore: Bore, level: int) -> MeshTri2:
        path = folder / "bore.msh"
        write_mesh(bore, path, ACOUSTICS, level + 1)
        return read_mesh(path)

    return mesh


@pytest.fixture(scope="session")
def demo() -> Study:
    """The study that is computed first by whoever gets this program."""
    return load_study(CONFIGS / "entry-rounding.yaml")
