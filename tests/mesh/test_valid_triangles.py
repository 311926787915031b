"""No triangle is inverted anywhere, and mass then closes from rim plane to shank end."""

from pathlib import Path

import numpy as np
import pytest
from skfem import Basis, ElementTriP2, MeshTri2

from borestudy.bore import Bore, Entry, bore_from_dimensions
from borestudy.flow.models.laminar import Laminar
from borestudy.flow.observables.sections import bore_sections
from borestudy.flow.solver import Level, solve_levels
from borestudy.mesh import (
    ACOUSTICS,
    ESTIMATE,
    LAMINAR,
    TURBULENT_PLAIN,
    Preset,
    read_mesh,
    turbulent,
    write_mesh,
)

THROAT = 3.66e-3
SQUARE = Entry("square", ())
#: Least Jacobian determinant over its mean that is asked for.  A triangle that a curve of its own
#: size bends has about 1/2, one whose edge's middle is a quarter off has 0.
LEAST = 0.2


def bore(depth: float, entry: Entry = SQUARE) -> Bore:
    return bore_from_dimensions(
        length=88e-3,
        cup_diameter=16.2e-3,
        cup_depth=depth,
        cup_shape=0.6,
        throat_diameter=THROAT,
        throat_length=5e-3,
        entry=entry,
        backbore_end_diameter=9e-3,
        backbore_taper="opening early",
    )


def meshed(shape: Bore, preset: Preset, level: int, folder: Path) -> MeshTri2:
    path = folder / f"{level}.msh"
    write_mesh(shape, path, preset, level)
    return read_mesh(path)


def least_share(mesh: MeshTri2) -> float:
    """Least Jacobian determinant of a triangle at its quadrature points, over its mean there."""
    basis = Basis(mesh, ElementTriP2(), intorder=6)
    determinant = basis.mapping.detDF(basis.quadrature[0])
    return float((determinant / determinant.mean(axis=1)[:, None]).min())


@pytest.mark.parametrize(
    ("preset", "depth"),
    [(ACOUSTICS, 10.8e-3), (TURBULENT_PLAIN, 10.8e-3), (turbulent(7000.0, 1.0), 10.8e-3)]
    + [(LAMINAR, depth) for depth in (9.8e-3, 10.3e-3, 10.8e-3, 11.8e-3)],
)
def test_no_triangle_is_turned_inside_out(preset: Preset, depth: float, tmp_path: Path) -> None:
    assert least_share(meshed(bore(depth), preset, preset.finest - 1, tmp_path)) > LEAST


@pytest.mark.parametrize("sizes", [(0.25e-3,), (1e-3,), (2e-3,), (2e-3, 0.7e-3)])
def test_the_first_row_follows_an_entry_without_turning_inside_out(sizes, tmp_path):
    """The coarsest of all layered meshes, at a high flow rate."""
    entry = Entry("rounded" if len(sizes) == 1 else "elliptical", sizes)
    preset = turbulent(9000.0, preset=ESTIMATE).at("coarse")
    assert least_share(meshed(bore(10.8e-3, entry), preset, 0, tmp_path)) > LEAST


@pytest.fixture(scope="module")
def solved(tmp_path_factory: pytest.TempPathFactory) -> list[Level]:
    folder = tmp_path_factory.mktemp("meshes")
    meshes = [meshed(bore(9.8e-3), LAMINAR, level, folder) for level in (0, 1)]
    return solve_levels(Laminar(), meshes, THROAT, "uniform", [1000.0])


def fluxes(level: Level) -> dict[str, float]:
    """Each section's flux over the rim plane's, less 1."""
    (state,) = level.states
    assert state is not None
    sections = bore_sections(level.problem, state, level.sections)
    return {name: found.flux / sections["rim_plane"].flux - 1 for name, found in sections.items()}


def test_what_comes_in_goes_out_but_for_rounding(solved: list[Level]) -> None:
    """The pressure's test functions add up to 1, so the discrete continuity is this identity.

    It is one where quadrature is exact, and that it is on triangles that are not inverted.
    """
    for level in solved:
        assert abs(fluxes(level)["shank_end"]) < 1e-12


def test_flux_through_inner_sections_has_an_error_that_falls_with_the_mesh(
    solved: list[Level],
) -> None:
    """At least by the second power of 1.5: it is what the mesh leaves, not the solve."""
    coarse, fine = (
        max(abs(error) for name, error in fluxes(found).items() if name != "shank_end")
        for found in solved
    )
    assert fine < coarse / 1.5**2
    assert np.isfinite(coarse)
